"""The files of a build as they were written: a folder or bytes, read one at a time, with bounds on
what is read.
"""

from __future__ import annotations

import json
import os
import re
import stat
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from fab.errors import InputError, refused

MOST_FILES = 20_000
MOST_BYTES = 64_000_000  # of one file
DEEPEST = 40  # nested values of a JSON file
PRINTED = re.compile(r"print/(.+)_x(\d+)\.stl")  # a part's name and its count


class Unreadable(Exception):
    """A file is not what its name says.

    `path`: the file; the text says why and, where known, at which line.
    """

    def __init__(self, path: str, why: str) -> None:
        super().__init__(f"{path}: {why}")
        self.path, self.why = path, why


@dataclass(frozen=True)
class Tree:
    """Names of files, always with /, and how each is read.

    Nothing outside the folder is ever opened.
    """

    files: Mapping[str, bytes | Path]
    read_last: list[str] = field(default_factory=list, compare=False)

    def __contains__(self, path: str) -> bool:
        return path in self.files

    def under(self, *prefixes: str) -> Tree:
        """The files whose names start with one of these."""
        return Tree({path: data for path, data in self.files.items() if path.startswith(prefixes)})

    def names(self, start: str, end: str = "") -> list[str]:
        """Sorted names that begin and end like this."""
        return sorted(path for path in self.files if path.startswith(start) and path.endswith(end))

    def read(self, path: str) -> bytes:
        """The bytes of a file. Raises Unreadable when it is missing or too large."""
        self.read_last[:] = [path]
        data = self.files.get(path)
        if data is None:
            raise Unreadable(path, "is missing")
        if isinstance(data, bytes):
            return data
        try:
            if data.stat().st_size > MOST_BYTES:
                raise _refused(path, f"is larger than {MOST_BYTES // 1_000_000} MB")
            return data.read_bytes()
        except OSError as error:
            raise Unreadable(path, f"cannot be read: {error.strerror or error}") from error

    def text(self, path: str) -> str:
        """A file in UTF-8. Raises Unreadable."""
        try:
            return self.read(path).decode("utf-8")
        except UnicodeDecodeError as error:
            raise Unreadable(path, f"is not UTF-8 text (byte {error.start})") from error

    def json(self, path: str) -> Any:
        """A JSON file. Raises Unreadable."""
        text = self.text(path)
        if _depth(text) > DEEPEST:
            raise Unreadable(path, f"is nested more than {DEEPEST} deep")
        try:
            return json.loads(text)
        except ValueError as error:
            raise Unreadable(path, f"is not JSON: {error}") from error


def tree_at(folder: Path) -> Tree:
    """The tree of a folder.

    Raises InputError for no folder, links, things that are no files, and too many of them.
    """
    if not folder.is_dir():
        raise refused("is not a folder.", "Give the folder of a build.", where=str(folder))
    found: dict[str, bytes | Path] = {}
    for here, folders, files in os.walk(folder):
        folders.sort()
        for name in [*folders, *files]:
            place = Path(here) / name
            mode = place.lstat().st_mode
            path = place.relative_to(folder).as_posix()
            if stat.S_ISDIR(mode):
                continue
            if not stat.S_ISREG(mode):
                raise _refused(path, "is a link or no plain file")
            found[path] = place
        if len(found) > MOST_FILES:
            raise _refused(str(folder), f"has more than {MOST_FILES} files")
    return Tree(found)


def _refused(path: str, why: str) -> InputError:
    return refused(f"{why}; it is not read.", "Remove it, or build again.", where=path)


def _depth(text: str) -> int:
    """Depth to which brackets nest; those inside strings are counted too, which errs to the safe
    side.
    """
    if text.count("[") + text.count("{") <= DEEPEST:
        return 0
    deepest = depth = 0
    quoted = skip = False
    for char in text:
        if skip:
            skip = False
        elif quoted:
            skip = char == "\\"
            quoted = char != '"'
        elif char == '"':
            quoted = True
        elif char in "[{":
            depth += 1
            deepest = max(deepest, depth)
        elif char in "]}":
            depth -= 1
    return deepest


def sheet_and_times(stem: str) -> tuple[str, int]:
    """The sheet that a file is of and how often it is cut: "sheet-01_x12" is sheet-01, twelve
    times.
    """
    name, _, times = stem.partition("_x")
    return (name, int(times)) if name.startswith("sheet-") and times.isdecimal() else (stem, 1)
