"""`panejig params`: every key there is."""

from __future__ import annotations

import click

from fab.cli.console import Console
from fab.cli.words import talking
from fab.params import reference


def _keys(ctx: click.Context, param: click.Parameter, word: str) -> list[str]:
    return [row["key"] for row in reference.entries() if row["key"].startswith(word)]


@click.command()
@click.argument("key", required=False, metavar="[KEY]", shell_complete=_keys)
@click.option("--markdown", is_flag=True, help="Print the whole reference as Markdown.")
@talking
@click.pass_obj
def params(console: Console, key: str | None, *, markdown: bool) -> None:
    """List every parameter, or tell about one KEY.

    KEY is dotted (panel.depth), a table (panel.led) or a last part (kerf).
    """
    if console.json:
        console.tell_json(
            [reference.entry(item) for item in reference.find(key)] if key else reference.entries()
        )
    elif key:
        console.tell(reference.describe(key))
    elif markdown:
        console.tell(reference.markdown_page().rstrip("\n"))
    else:
        console.tell(reference.text_page().rstrip("\n"))
