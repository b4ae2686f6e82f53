"""Paths that a file may name: beside or below it, never out of its folder, by `..` or a link."""

from __future__ import annotations

import posixpath
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from fab.errors import Fault, InputError, refused
from fab.params.files import near_files, read_bytes
from fab.params.one_value import Bad
from fab.params.quoting import clean, has_unseen, short, show, show_key
from fab.params.tree import Leaf, Source, TableNode

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


@dataclass
class NamedFiles:
    """Files that values of a job name; collects faults and the paths that were read."""

    folder_of: Callable[[Source], Path]
    faults: list[Fault]
    read: list[Path]

    def bytes_of(
        self,
        table: TableNode,
        key: str,
        at: Sequence[str | int],
        most: int,
        suffixes: tuple[str, ...],
    ) -> tuple[bytes, str]:
        """Bytes of the file that the value `key` of the table at `at` names; its path as typed.

        Raises InputError. A name on the command line stands for itself, not for a file beside it.
        """
        leaf, told = table.items[key], show_key((*at, key))
        assert isinstance(leaf, Leaf)
        source, where = leaf.where.source, str(leaf.where)
        shown = beside(leaf.value, source.shown if not source.shown.startswith("--set") else "")
        try:
            path = path_inside(leaf.value, self.folder_of(source), shown, suffixes)
        except Bad as bad:
            raise refused(bad.says, bad.works, where=where, key=told) from None
        data = read_bytes(path, shown, key=told, where=where, most=most, suffixes=suffixes)
        self.read.append(path)
        return data, shown


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
