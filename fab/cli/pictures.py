"""`panejig pictures`: the small pictures that a page about a wall shows."""

from __future__ import annotations

from pathlib import Path

import click

from fab.cli.console import Console
from fab.cli.words import job_path, job_word, sets_word, talking
from fab.params.read import load


@click.command()
@job_word
@click.option("--into", default=".pictures", metavar="DIR", show_default=True, help="Folder for wall.svg and panel.svg.")
@sets_word
@talking
@click.pass_obj
def pictures(console: Console, /, *, job: str, into: str, sets: tuple[str, ...]) -> None:
    """Write the wall from the front and one panel pulled apart as SVG."""
    from fab.cli.writing import write_over
    from fab.showcase import showcase

    for name, data in showcase(load(job_path(job), sets)).items():
        path = Path(into) / name
        write_over(path, data)
        console.tell(str(path))
