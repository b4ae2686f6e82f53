"""`panejig schema`: JSON Schemas for editors."""

from __future__ import annotations

from pathlib import Path

import click

from fab.cli.console import Console
from fab.cli.words import force_word, talking
from fab.params import schema as schemas


@click.command()
@click.argument("kind", type=click.Choice(list(schemas.MODELS)), required=False)
@click.option(
    "--into", metavar="DIR", help="Write all three schemas to this folder, over older ones."
)
@force_word
@talking
@click.pass_obj
def schema(console: Console, kind: str | None, into: str | None, *, force: bool) -> None:
    """Print the JSON Schema of one KIND of file, or write all of them.

    A first line `#:schema ./schema/job.schema.json` makes an editor complete and check a job file.
    """
    if into is None:
        console.tell_json(schemas.schema(kind or "job"))
        return
    from fab.cli.writing import write_over

    files = {Path(into) / name: data for name, data in schemas.files().items()}
    write_over(files, force=force)
    for path in files:
        console.tell(str(path))
