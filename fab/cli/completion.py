"""`panejig completion`: the lines that teach a shell our words."""

from __future__ import annotations

import click
from click.shell_completion import get_completion_class

from fab.cli.console import Console

SHELLS = ("bash", "zsh", "fish")


@click.command()
@click.argument("shell", type=click.Choice(SHELLS))
@click.pass_context
def completion(ctx: click.Context, shell: str) -> None:
    """Print the completion script of a SHELL.

    For bash: panejig completion bash > ~/.panejig-complete.sh, and source that file from ~/.bashrc.
    """
    console: Console = ctx.obj
    made = get_completion_class(shell)
    assert made is not None
    console.tell(
        made(ctx.find_root().command, {}, "panejig", "_PANEJIG_COMPLETE").source().rstrip("\n")
    )
