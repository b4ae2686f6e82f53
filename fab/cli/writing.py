"""Small files that a command writes for the maker: never over a file that is there."""

from __future__ import annotations

from pathlib import Path

from fab.errors import OutputError
from fab.params.replacing import replace_file
from fab.params.showing import clean


def write_new(folder: Path, files: dict[str, bytes]) -> tuple[list[Path], list[Path]]:
    """Write files below a folder; returns those written and those kept because they were there.

    Raises OutputError when the disk says no; what this call wrote is taken away again then.
    """
    written: list[Path] = []
    kept: list[Path] = []
    try:
        for name, data in files.items():
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            try:
                with open(path, "xb") as stream:
                    written.append(path)
                    stream.write(data)
            except FileExistsError:
                kept.append(path)
    except (OSError, ValueError) as fault:
        for path in written:
            path.unlink(missing_ok=True)
        says = fault.strerror if isinstance(fault, OSError) and fault.strerror else str(fault)
        raise OutputError(f"{clean(str(folder))}: can't be written: {says}. Choose another folder.") from None
    return written, kept


def write_over(path: Path, data: bytes) -> None:
    """A result under a name that the maker gave: written aside and moved in, so that a stop leaves the old one."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise OutputError(f"{clean(str(path.parent))}: can't be made: {fault.strerror or fault}.") from None
    replace_file(path, data)
