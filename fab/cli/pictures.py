"""`panejig pictures`: the small pictures that a page about a wall shows."""

from __future__ import annotations

from pathlib import Path

import click

from fab.cli.console import Console
from fab.cli.words import force_word, job_path, job_word, sets_word, talking
from fab.params.read import load


@click.command()
@job_word
@click.option(
    "--into",
    default=".pictures",
    metavar="DIR",
    show_default=True,
    help="Folder for wall.svg and panel.svg.",
)
@sets_word
@force_word
@talking
@click.pass_obj
def pictures(
    console: Console, /, *, job: str, into: str, sets: tuple[str, ...], force: bool
) -> None:
    """Write the wall from the front and one panel pulled apart as SVG."""
    from fab.cli.writing import refuse_foreign, write_over
    from fab.seal import sealed_page
    from fab.showcase import NAMES, showcase

    loaded = load(job_path(job), sets)
    refuse_foreign([Path(into) / name for name in NAMES], force=force)
    files = {Path(into) / name: sealed_page(data) for name, data in showcase(loaded).items()}
    write_over(files, force=force)
    for path in files:
        console.tell(str(path))
