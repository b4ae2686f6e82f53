"""Files that a command writes for the maker; only `--force` replaces a foreign file."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Collection, Iterable, Mapping
from pathlib import Path

from fab.errors import OutputError
from fab.params.quoting import clean
from fab.params.replacing import replace_file
from fab.seal import is_ours


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
    except BaseException as fault:
        for path in written:
            path.unlink(missing_ok=True)
        if not isinstance(fault, OSError | ValueError):
            raise
        says = fault.strerror if isinstance(fault, OSError) and fault.strerror else str(fault)
        raise OutputError(
            f"{clean(str(folder))}: cannot be written: {says}. Choose another folder."
        ) from None
    return written, kept


def refuse_foreign(paths: Iterable[Path], *, force: bool, noted: Collection[str] = ()) -> None:
    """Raise OutputError when a file is there that is not as panejig wrote it.

    Ours is a file with a seal that holds, or one whose hash was noted when it was written. With
    `force` any file may be written over. Asked before the work and again before the first byte is
    written.
    """
    faults = [says for path in paths if (says := _in_the_way(path, force=force, noted=noted))]
    if faults:
        works = "" if force else " Give another name, or --force to write over."
        raise OutputError("\n".join(faults) + f"\nNothing was written.{works}")


def _in_the_way(path: Path, *, force: bool, noted: Collection[str]) -> str:
    """The reason why a file can't be written here; empty when it can."""
    shown = clean(str(path))
    try:
        if not os.path.lexists(path):
            return ""
        if path.exists() and not path.is_file():
            return f"{shown} exists and is not a file."
        if force or (path.exists() and (is_ours(path) or _hash(path) in noted)):
            return ""
        return f"{shown} already exists, and panejig did not write it or it was changed since."
    except (OSError, ValueError) as fault:
        says = fault.strerror if isinstance(fault, OSError) and fault.strerror else str(fault)
        return f"{shown} cannot be read: {says}."


def _hash(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def write_over(files: Mapping[Path, bytes], *, force: bool, noted: Collection[str] = ()) -> None:
    """Results under the maker's names, written aside and moved in: a stop leaves the old one."""
    refuse_foreign(files, force=force, noted=noted)
    for path, data in files.items():
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as fault:
            raise OutputError(
                f"{clean(str(path.parent))}: cannot be created: {fault.strerror or fault}."
            ) from None
        replace_file(path, data)
