"""`panejig watch`: build again whenever a file of the job is saved."""

from __future__ import annotations

from pathlib import Path

import click

from fab.cli import verdicts as lines
from fab.cli.console import Console
from fab.cli.words import KINDS, allow_word, job_path, job_word, sets_word, talking
from fab.errors import refused
from fab.units import some


@click.command()
@job_word
@click.option(
    "--out", default="out", metavar="DIR", show_default=True, help="Parent of the job folder."
)
@click.option(
    "--only",
    multiple=True,
    type=click.Choice(KINDS),
    help="Make only this kind of files. Repeatable.",
)
@click.option(
    "--page",
    is_flag=True,
    help=(
        "Show the job in the browser, on a page that follows the files: pictures, figures,"
        " checks, trials. The address is printed."
    ),
)
@click.option("--open", "browse", is_flag=True, help="With --page: open it in the browser.")
@sets_word
@allow_word
@talking
@click.pass_obj
def watch(
    console: Console,
    /,
    *,
    job: str,
    out: str,
    only: tuple[str, ...],
    page: bool,
    browse: bool,
    sets: tuple[str, ...],
    allow: tuple[str, ...],
) -> None:
    """Build JOB now and each time that one of its files is saved. Stop with Ctrl-C."""
    if browse and not page:
        raise refused("needs the page of --page.", "Add --page, or leave --open out.", key="--open")
    from fab.watch import FirstLook, Round
    from fab.watch import watch as watched

    def look(one: FirstLook) -> None:
        counts = one.counts
        passed = sum(verdict.verdict == "pass" for verdict in one.verdicts)
        console.say(
            f"[{one.number}] {one.seconds:.2f} s: {some(counts['panels'], 'panel')},"
            f" {some(counts['joints'], 'joint')}, {some(counts['inlets'], 'inlet')},"
            f" {some(counts['hangers'], 'hanger')}; {passed} of {len(one.verdicts)} checks of the"
            " plan passed. Building ..."
        )
        for verdict in lines.worst_first(one.verdicts):
            if verdict.verdict == "fail":
                console.say(lines.told(verdict, allowed=verdict.id in allow))

    def tell(one: Round) -> None:
        if one.error is not None:
            console.tell(f"[{one.number}] not built ({one.seconds:.2f} s)\n{one.error}")
            return
        assert one.built is not None
        again = sorted(set(one.built.made))
        console.tell(
            f"[{one.number}] {one.seconds:.2f} s, made again:"
            f" {', '.join(again) or 'no earlier file'}"
        )
        for verdict in lines.worst_first(one.built.verdicts):
            if verdict.verdict != "pass":
                console.tell(lines.told(verdict, allowed=verdict.verdict == "fail"))

    console.say("Watching the files of the job. Stop with Ctrl-C; the last good build is kept.")
    allowed, kinds = frozenset(allow), frozenset(only)
    path, into = job_path(job), Path(out)
    if not page:
        watched(path, sets, into, tell, allow=allowed, only=kinds, look=look)
        return
    from fab.live.follow import follow

    def opened(address: str) -> None:
        console.tell(f"Page: {address}")
        if browse:
            import webbrowser

            webbrowser.open(address)

    follow(path, sets, into, opened, tell, allow=allowed, only=kinds, look=look)
