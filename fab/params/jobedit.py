"""Values into the maker's job file: comments and order stay, and the new text is proven first.

The text reads as the old one with these values, and the door takes it. A value goes where the key
stands already, else under its table, else into a new table at the end.
"""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fab.errors import refused
from fab.params.files import read_bytes
from fab.params.merge import EITHER
from fab.params.quoting import clean


@dataclass(frozen=True)
class JobEdit:
    """A new text of a job file, ready to be written."""

    path: Path
    old: bytes
    new: bytes

    @property
    def diff(self) -> tuple[str, ...]:
        """The lines that change, with the place of each: "@@ 12", "- old" and "+ new"."""
        old, new = (data.decode("utf-8-sig").splitlines() for data in (self.old, self.new))
        rows: list[str] = []
        for tag, a0, a1, b0, b1 in difflib.SequenceMatcher(None, old, new, False).get_opcodes():
            if tag != "equal":
                rows.append(f"@@ line {b0 + 1}")
                rows += [f"- {clean(row)}" for row in old[a0:a1]]
                rows += [f"+ {clean(row)}" for row in new[b0:b1]]
        return tuple(rows)


def edited(path: Path, values: Sequence[tuple[str, str]]) -> JobEdit:
    """The job file with each dotted key set to a value as it stands in a file. Nothing is written.

    Raises InputError when the file can't be read, or is written in a way that can't be kept.
    """
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    shown = clean(str(path))
    old = read_bytes(path, shown)
    bom, text = old.startswith(b"\xef\xbb\xbf"), old.decode("utf-8-sig")
    wanted = {key: tomllib.loads(f"x = {value}")["x"] for key, value in values}
    try:
        document = tomlkit.parse(text)
        for key, value in wanted.items():
            _set(document, key.split("."), value)
        new = tomlkit.dumps(document)
        same = _plain(new) == _with(_plain(text), wanted)
    except (TOMLKitError, ValueError, LookupError, TypeError, AttributeError):
        same, new = False, text
    if not same:
        rows = "; ".join(f"{key} = {value}" for key, value in values)
        says = "this file cannot be changed without losing comments or layout."
        raise refused(says, f"Write by hand: {rows}.", where=shown)
    return JobEdit(path, old, b"\xef\xbb\xbf" * bom + new.encode("utf-8"))


def _set(table: Any, path: list[str], value: Any) -> None:
    import tomlkit

    name, *rest = path
    if not rest:
        for other in _others(name):
            table.pop(other, None)
        table[name] = value
        return
    if name not in table:
        table[name] = tomlkit.table(is_super_table=len(rest) > 1)
    elif isinstance(table[name], str):  # panel = "hexagon-120"
        holder = tomlkit.inline_table()
        holder["extends"] = str(table[name])
        table[name] = holder
    _set(table[name], rest, value)


def _others(name: str) -> tuple[str, ...]:
    """The other way to say the same size."""
    return tuple(EITHER[1 - EITHER.index(name)] for _ in (0,) if name in EITHER)


def _plain(text: str) -> dict[str, Any]:
    return tomllib.loads(text.replace("\r\n", "\n"))


def _with(values: dict[str, Any], wanted: dict[str, Any]) -> dict[str, Any]:
    for key, value in wanted.items():
        *above, name = key.split(".")
        table = values
        for part in above:
            below = table.get(part, {})
            table[part] = {"extends": below} if isinstance(below, str) else below
            table = table[part]
        for other in _others(name):
            table.pop(other, None)
        table[name] = value
    return values
