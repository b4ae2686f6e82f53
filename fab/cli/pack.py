"""`panejig pack` and `panejig unpack`: a build as one archive, and back."""

from __future__ import annotations

from pathlib import Path

import click

from fab.cli.console import Console
from fab.cli.words import talking
from fab.errors import Fault, InputError


@click.command()
@click.argument("folder", metavar="BUILD")
@click.option("--to", metavar="FILE", help="Name of the archive; left out: the job's name with .zip.")
@talking
@click.pass_obj
def pack(console: Console, /, *, folder: str, to: str | None) -> None:
    """Pack the BUILD folder into one archive to publish or send.

    It holds all files, the values they were made of as one job file, and the licence that the job names.
    """
    from fab.cli.writing import write_over
    from fab.pack import pack as packed

    place = Path(folder)
    data = packed(place)
    target = Path(to) if to else place.parent / f"{place.name}.zip"
    write_over(target, data)
    if console.json:
        console.tell_json({"archive": str(target), "bytes": len(data)})
    else:
        console.tell(f"{target} ({len(data) / 1e6:.1f} MB)")


@click.command()
@click.argument("archive", metavar="ARCHIVE")
@click.option("--into", default=".", metavar="DIR", show_default=True, help="Folder that gets the build's folder.")
@talking
@click.pass_obj
def unpack(console: Console, /, *, archive: str, into: str) -> None:
    """Open a packed build. It is data of somebody else: nothing in it is run."""
    from fab.pack import unpack as opened

    try:
        data = Path(archive).read_bytes()
    except OSError as error:
        raise InputError([Fault(archive, "", f"can't be read: {error.strerror or error}")]) from None
    folder = opened(data, Path(into))
    if console.json:
        console.tell_json({"folder": str(folder), "job": str(folder / "lists" / "job.toml")})
    else:
        console.tell(f"{folder}\nBuild it again with: panejig build {folder / 'lists' / 'job.toml'}")
