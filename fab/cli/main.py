"""The entry: argv to one command, errors to one message and an exit code.

0  done            1  a check failed, or a fault of ours
2  wrong input     130  stopped with Ctrl-C
"""

from __future__ import annotations

import contextlib
import gc
import os
import re
import sys
import traceback
from importlib import import_module
from typing import Any, NoReturn

import click

from fab import __version__, leaving
from fab.cli.console import Console, soften_streams
from fab.errors import InputError, PanejigError

# bounds as the library that reads words writes them
_RANGE = re.compile(r"is not in the range (?:([\d.]+)<=x<=([\d.]+)|x>=([\d.]+))")
COMMANDS = {  # name: what it does, for the page that `--help` prints without loading any of them
    "build": "Make all files of a job.",
    "check": "Check a job and write nothing.",
    "verify": "Prove a finished build from its files alone.",
    "nest": "Nest parts of a job and your own drawings on sheets.",
    "new": "Start a job of your own.",
    "params": "List every parameter, or explain one.",
    "presets": "List the shops, panels and jobs included with panejig.",
    "schema": "Print or write the JSON Schemas for editors.",
    "coupon": "Make small test pieces to cut, print and measure.",
    "measure": "Write coupon readings to the shop file.",
    "watch": "Build again each time a file of the job is saved.",
    "compare": "Show what differs between two builds or jobs.",
    "sweep": "Try a grid of values on one job, and write one table.",
    "pack": "Pack a build into one archive to publish or send.",
    "unpack": "Open a packed build.",
    "pictures": "Draw small pictures of a wall for a web page.",
    "completion": "Print the completion script for a shell.",
}


class Lazy(click.Group):
    """Commands that are imported when they are called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names of all commands, in the order of the help."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Return a command by its name, its module imported now; None for an unknown name."""
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = getattr(import_module(f"fab.cli.{cmd_name}"), cmd_name)
        return command

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command that was asked for. Raises Abort for Ctrl-C."""
        try:
            return super().invoke(ctx)
        except KeyboardInterrupt as stop:
            # before the library has an empty line of its own to say about it
            raise click.Abort from stop

    def resolve_command(self, ctx: click.Context, args: list[str]) -> Any:
        """Return name, command and rest of a line. Raises UsageError with the nearest name."""
        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            from difflib import get_close_matches

            close = get_close_matches(args[0], COMMANDS, n=1)
            works = f"Did you mean {close[0]}?" if close else f"Commands: {', '.join(COMMANDS)}."
            raise click.UsageError(f"Unknown command {args[0]!r}. {works}", ctx)
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the list of commands into the help, without importing one."""
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@click.group(
    cls=Lazy, invoke_without_command=True, context_settings={"help_option_names": ["-h", "--help"]}
)
@click.version_option(__version__, prog_name="panejig", message="%(prog)s %(version)s")
@click.pass_context
def cli(ctx: click.Context) -> None:
    """From one job file to a wall of light panels: prints, cuts, template, lists and book.

    Start with `panejig new my-wall`, or look at a shipped job: `panejig check reading-nook`.
    """
    if ctx.invoked_subcommand is None:
        click.echo(ctx.get_help(), err=True)
        ctx.exit(2)


def _bounds(found: re.Match[str]) -> str:
    allowed = f"minimum {found[3]}" if found[3] else f"allowed {found[1]} to {found[2]}"
    return f"is out of range; {allowed}"


def main(argv: list[str] | None = None) -> int:
    """Run one command; returns the exit code. No traceback leaves here unless it is asked for."""
    soften_streams()
    console = Console()
    try:
        done = cli.main(args=argv, prog_name="panejig", standalone_mode=False, obj=console)
        return done if isinstance(done, int) else 0
    except (click.Abort, KeyboardInterrupt) as stop:
        return _stopped(console, str(stop.__cause__ or stop))
    except PanejigError as fault:
        return _refused(console, fault, str(fault), fault.exit_code)
    except click.ClickException as fault:
        ctx = getattr(fault, "ctx", None)
        usage = f"{ctx.get_usage()}\n" if ctx is not None else ""
        says = _RANGE.sub(_bounds, fault.format_message())
        return _refused(console, fault, f"{usage}{says}", fault.exit_code)
    except BrokenPipeError:
        # the reader left: nothing more to say
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except (SystemExit, GeneratorExit):
        raise
    except BaseException as fault:  # also panics of compiled libraries, which are no Exception
        name = f"{type(fault).__name__}: {fault}".strip(": ").splitlines()[0][:200]
        ask = "please report it with your job file; PANEJIG_TRACE=1 shows where."
        says = f"an internal error in panejig ({name}): {ask}"
        return _refused(console, fault, says, 1)


# how often rings of dead objects are looked for: meshes and pages are millions of live ones
SELDOM = (50_000, 20, 50)


def script() -> NoReturn:
    """The command of a process of its own: `main`, then out.

    A loaded CAD kernel is left as it is: taking it apart piece by piece takes half a second, and
    the system takes all of it back anyway.
    """
    for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
        # our processes share the cores already, and a sum must not hang on their number
        os.environ.setdefault(name, "1")
    gc.set_threshold(*SELDOM)
    try:
        code = main()
    except KeyboardInterrupt:  # between two of its lines
        leaving.leave()
    leaving.disarm()
    if "fab.graph.workers" in sys.modules:
        sys.modules["fab.graph.workers"].let_go()
    if "OCP" in sys.modules:
        for stream in (sys.stdout, sys.stderr):
            with contextlib.suppress(OSError, ValueError):  # closed, or its reader has left
                stream.flush()
        os._exit(code)
    raise SystemExit(code)


def _stopped(console: Console, kept: str = "") -> int:
    """Ctrl-C, in one line. `kept`: what was found until then."""
    leaving.said = True
    console.clear()
    click.echo(f"{leaving.wipe()}{leaving.SAYS} {kept}".strip(" "), err=True)
    return leaving.CODE


def _refused(console: Console, fault: BaseException, says: str, code: int) -> int:
    """The message on stderr, the same as data on stdout when JSON was asked for."""
    if leaving.asked:  # some library made another error of the Ctrl-C
        return _stopped(console)
    console.clear()
    if console.verbose > 1 or os.environ.get("PANEJIG_TRACE") == "1":
        traceback.print_exception(fault, file=sys.stderr)
    click.echo(says, err=True)
    if console.json:
        faults = fault.faults if isinstance(fault, InputError) else ()
        rows = [
            {"where": one.where, "key": one.key, "says": one.says, "works": one.works}
            for one in faults
        ]
        console.tell_json({"exit": code, "error": says, "faults": rows})
    return code
