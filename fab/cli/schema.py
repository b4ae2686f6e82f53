"""`panejig schema`: JSON Schemas for editors."""

from __future__ import annotations

from pathlib import Path

import click

from fab.cli.console import Console
from fab.cli.words import talking
from fab.errors import OutputError
from fab.params import schema as schemas
from fab.params.showing import clean


@click.command()
@click.argument("kind", type=click.Choice(list(schemas.MODELS)), required=False)
@click.option("--into", metavar="DIR", help="Write all three here, in place of those that are there.")
@talking
@click.pass_obj
def schema(console: Console, kind: str | None, into: str | None) -> None:
    """Print the JSON Schema of one KIND of file, or write all of them.

    A first line `#:schema ./schema/job.schema.json` makes an editor complete and check a job file.
    """
    if into is None:
        console.tell_json(schemas.schema(kind or "job"))
        return
    folder = Path(into)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, data in schemas.files().items():
            (folder / name).write_bytes(data)
            console.tell(str(folder / name))
    except OSError as fault:
        raise OutputError(f"{clean(into)}: can't be written: {fault.strerror}. Choose another folder.") from None
