"""Paths that a file may name: beside or below it, never out of its folder, by `..` or a link."""

from __future__ import annotations

import posixpath
import re
from dataclasses import replace
from pathlib import Path

from fab.errors import Fault, InputError
from fab.params.files import near_files, read_bytes
from fab.params.quoting import clean, has_unseen, short, show
from fab.params.tree import Leaf
from fab.params.values import Bad

MOST_NAME = 300


def path_inside(
    text: str, folder: Path, shown: str, suffixes: tuple[str, ...] = (".toml",)
) -> Path:
    """The file that `text` names, links followed.

    Raises Bad, which says why not and what would work.

    `shown` is the path as typed by the maker; `suffixes` are the kinds of file named beside a
    missing one.
    """
    if not text.strip() or len(text) > MOST_NAME or has_unseen(text):
        raise Bad(
            f"{show(text)} is not a file name.",
            "Give a file in the same folder, or in a folder below it.",
        )
    if "\\" in text:
        raise Bad(
            f"{show(text)} has backslashes.", f'Write "{clean(short(text.replace(chr(92), "/")))}".'
        )
    if text.startswith(("/", "~")) or re.match(r"[A-Za-z][A-Za-z0-9+.-]*:", text):
        raise Bad(
            f"{show(text)} is not in the folder of this file or below it.",
            "Give a file in the same folder, or in a folder below it.",
        )
    if posixpath.normpath(text).split("/")[0] == "..":
        works = "Put the file in the same folder, or in a folder below it."
        raise Bad(f"{show(text)} leads out of this file's folder.", works)
    try:
        path = (folder / text).resolve()
        inside = path.is_relative_to(folder.resolve())
    except (OSError, RuntimeError, ValueError):  # a ring of links, a name too long for the disk
        raise Bad(f"{show(text)} cannot be found on this disk.", "Give a plain file.") from None
    if not inside:
        works = "Replace the link by the file itself."
        raise Bad(f"{show(text)} is a link that leads out of this file's folder.", works)
    if not path.exists():
        raise Bad(f"{show(text)} was not found.", near_files(folder / text, shown, suffixes))
    return path


def beside(text: str, named_in: str) -> str:
    """The path of a named file as typed from where the naming file's path was typed."""
    return posixpath.join(posixpath.dirname(named_in.replace("\\", "/")), posixpath.normpath(text))


def named_bytes(
    leaf: Leaf, folder: Path, told: str, most: int, suffixes: tuple[str, ...]
) -> tuple[bytes, str, Path]:
    """Bytes of the file that a value names, its path as typed, and the path itself.

    Raises InputError.

    `told` is the dotted key of the value. A name on the command line stands for itself, not for a
    file beside it.
    """
    source = leaf.where.source
    shown = beside(leaf.value, source.shown if not source.shown.startswith("--set") else "")
    try:
        path = path_inside(leaf.value, folder, shown, suffixes)
    except Bad as bad:
        raise InputError(Fault(str(leaf.where), told, bad.says, bad.works)) from None
    return (
        read_bytes(path, shown, key=told, where=str(leaf.where), most=most, suffixes=suffixes),
        shown,
        path,
    )


def of_file(error: InputError, shown: str, key: str, works: str = "") -> InputError:
    """Faults of a file that the value at `key` names, with file, key, and what would work."""
    return InputError(
        [
            replace(
                fault, where=fault.where or shown, key=fault.key or key, works=fault.works or works
            )
            for fault in error.faults
        ]
    )
