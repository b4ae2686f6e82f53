"""`panejig pack` and `panejig unpack`: a build as one archive, and back."""

from __future__ import annotations

from pathlib import Path

import click

from fab.cli.console import Console
from fab.cli.words import force_word, talking
from fab.errors import refused
from fab.units import some


@click.command()
@click.argument("folder", metavar="BUILD")
@click.option(
    "--to", metavar="FILE", help="Name of the archive. Default: the job's name with .zip."
)
@force_word
@talking
@click.pass_obj
def pack(console: Console, /, *, folder: str, to: str | None, force: bool) -> None:
    """Pack the BUILD folder into one archive to publish or send.

    It holds all files, the values they were made of as one job file, and the licence that the job
    names.
    """
    from fab.cli.writing import refuse_foreign, write_over
    from fab.pack import pack as packed

    place = Path(folder)
    target = Path(to) if to else place.parent / f"{place.name}.zip"
    refuse_foreign((target,), force=force)
    data = packed(place)
    write_over({target: data}, force=force)
    if console.json:
        console.tell_json({"archive": str(target), "bytes": len(data)})
    else:
        console.tell(f"{target} ({len(data) / 1e6:.1f} MB)")


@click.command()
@click.argument("archive", metavar="ARCHIVE")
@click.option(
    "--into",
    default=".",
    metavar="DIR",
    show_default=True,
    help="Parent of the folder of the build.",
)
@click.option(
    "--check", is_flag=True, help="Only report whether the pack is complete; write nothing."
)
@talking
@click.pass_obj
def unpack(console: Console, /, *, archive: str, into: str, check: bool) -> None:
    """Open a packed build. It is foreign data: nothing in it is run."""
    from fab.pack import look
    from fab.pack import unpack as opened

    path = _archive(Path(archive))
    if check:
        found = look(path)
        if console.json:
            console.tell_json({"job": found.job, "files": len(found.members), "bytes": found.size})
        else:
            console.tell(
                f"The pack of {found.job} is complete: {some(len(found.members), 'file')},"
                f" {found.size / 1e6:.1f} MB."
            )
        return
    folder = opened(path, Path(into))
    if console.json:
        console.tell_json({"folder": str(folder), "job": str(folder / "lists" / "job.toml")})
    else:
        console.tell(
            f"{folder}\nBuild it again with: panejig build {folder / 'lists' / 'job.toml'}"
        )


def _archive(path: Path) -> Path:
    """The archive's path, when it is a plain file that can be read."""
    try:
        if not path.is_file():
            path.stat()  # says what is wrong with a name that leads nowhere
            raise refused(
                "is not a file.", "Give the archive that `panejig pack` made.", where=str(path)
            )
        path.open("rb").close()
        return path
    except (OSError, ValueError) as error:
        says = (error.strerror if isinstance(error, OSError) else None) or error
        raise refused(f"cannot be read: {says}", where=str(path)) from None
