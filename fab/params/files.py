"""Bytes of a job, shop or panel file: every way in which a file can fail to be there, told."""

from __future__ import annotations

import os
import stat
from difflib import get_close_matches
from itertools import islice
from pathlib import Path

from fab.errors import InputError, refused
from fab.params.quoting import clean, short

MOST_BYTES = 1_048_576  # 1 MiB: a wall of 10,000 named panels takes half of it


def read_bytes(
    path: Path,
    shown: str,
    *,
    key: str = "",
    where: str = "",
    most: int = MOST_BYTES,
    suffixes: tuple[str, ...] = (".toml",),
) -> bytes:
    """All bytes of a regular file of at most `most` bytes.

    Raises InputError; `where` and `key` tell who asked for it.
    """
    kind = _kind(suffixes)

    def bad(says: str, works: str) -> InputError:
        told = f"{shown} {says}" if where else says
        return refused(told, works, where=where or shown, key=key)

    try:
        found = os.stat(path)
        if stat.S_ISDIR(found.st_mode):
            raise bad("is a folder.", _some_in(path, suffixes) or f"Name a {kind} file.")
        if not stat.S_ISREG(found.st_mode):
            raise bad("is not a regular file.", f"Name a {kind} file.")
        if found.st_size > most:
            raise bad(
                f"has {found.st_size:,} bytes; at most {most:,} are read.", "Is it the right file?"
            )
        with open(path, "rb") as stream:
            data = stream.read(most + 1)
    except (FileNotFoundError, NotADirectoryError):
        raise bad("was not found.", near_files(path, shown, suffixes)) from None
    except (OSError, ValueError) as fault:  # ValueError: a zero byte in the name
        says = fault.strerror if isinstance(fault, OSError) and fault.strerror else str(fault)
        raise bad(
            f"cannot be read: {says[:1].lower()}{says[1:]}.", "Check its name and its permissions."
        ) from None
    if len(data) > most:
        raise bad(f"grew over {most:,} bytes while it was read.", "Is it the right file?")
    return data


def near_files(path: Path, shown: str = "", suffixes: tuple[str, ...] = (".toml",)) -> str:
    """A hint at files beside a missing one; `shown` is its path as typed, when it differs."""
    folder = path.parent
    if not folder.is_dir():
        return f"There is no folder {clean(short(os.path.dirname(shown) or str(folder)))}."
    stems = {Path(name).stem.lower(): name for name in _names(folder, suffixes)}
    wanted = path.stem.lower() if path.suffix.lower() in suffixes else path.name.lower()
    close = get_close_matches(wanted, list(stems), n=3, cutoff=0.6)
    if close:
        return "Did you mean " + " or ".join(clean(stems[stem]) for stem in close) + "?"
    return _some_in(folder, suffixes)


def _some_in(folder: Path, suffixes: tuple[str, ...]) -> str:
    names, kind = _names(folder, suffixes), _kind(suffixes)
    if not names:
        return f"There is no {kind} file in that folder."
    more = f" and {len(names) - 5} more" if len(names) > 5 else ""
    return (
        f"{kind} files in that folder: "
        + ", ".join(clean(short(name)) for name in names[:5])
        + f"{more}."
    )


def _kind(suffixes: tuple[str, ...]) -> str:
    return " or ".join(suffix.lstrip(".").upper() for suffix in suffixes)


def _names(folder: Path, suffixes: tuple[str, ...]) -> list[str]:
    try:
        with os.scandir(folder) as entries:
            return sorted(
                entry.name
                for entry in islice(entries, 2_000)
                if entry.name.lower().endswith(suffixes)
            )
    except OSError:
        return []
