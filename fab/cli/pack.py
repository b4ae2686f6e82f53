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

    folder = opened(_archive(Path(archive)), Path(into))
    if console.json:
        console.tell_json({"folder": str(folder), "job": str(folder / "lists" / "job.toml")})
    else:
        console.tell(f"{folder}\nBuild it again with: panejig build {folder / 'lists' / 'job.toml'}")


def _archive(path: Path) -> bytes:
    """The archive's bytes; only of a plain file that is no larger than a build can be."""
    from fab.pack import MOST_BYTES

    try:
        if not path.is_file() or path.stat().st_size > MOST_BYTES:
            path.stat()  # says what is wrong with a name that leads nowhere
            raise InputError([Fault(str(path), "", "is no file that a pack could be.", "Name the archive that `panejig pack` made.")])
        return path.read_bytes()
    except (OSError, ValueError) as error:
        says = (error.strerror if isinstance(error, OSError) else None) or error
        raise InputError([Fault(str(path), "", f"can't be read: {says}")]) from None
