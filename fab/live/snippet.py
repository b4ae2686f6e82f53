"""Values of a trial as lines of the job file, to paste by hand: where each goes, what it takes the
place of. Nothing is written.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from pathlib import Path

from fab.errors import InputError
from fab.params.jobedit import edited
from fab.params.quoting import clean

_PLACE = re.compile(r"@@ line (\d+)")
_TABLE = re.compile(r"^\s*\[[^\]]+\]")
_VALUE = re.compile(r"^\s*[\w.\"-]+\s*=")


def lines(path: Path, values: Sequence[tuple[str, str]], before: Mapping[str, str]) -> str:
    """TOML with comments: the lines that change in the job file; `before`: key to its old value.

    They are taken from the file as it would read, which is proven to hold these values.
    """
    if not values:
        return ""
    name = clean(path.name)
    try:
        edit = edited(path, values)
    except InputError as error:
        told = [f"# {line}" for line in str(error).splitlines()]
        return "\n".join([*told, *(f"# {key} = {value}" for key, value in values)]) + "\n"
    old = edit.old.decode("utf-8-sig").splitlines()
    ends = {key.rpartition(".")[2]: key for key, _ in values}
    found: list[str] = []
    place = shift = 0  # of the file as it stands; how many lines more the new one has so far
    gone: list[str] = []
    fresh = True  # this place has no line yet
    for row in edit.diff:
        mark = _PLACE.fullmatch(row)
        if mark:
            place, gone = int(mark[1]) - shift, []
            found += [""] if found else []
            fresh = True
        elif row.startswith("- "):
            gone.append(row[2:].strip())
            shift -= 1
        else:
            shift += 1
            line = row[2:]
            if gone and line.strip():
                found.append(f"# {name}, line {place}, in place of: {gone.pop(0)}")
                place += 1
            elif fresh:
                found.append(f"# {name}, after line {place - 1}{_under(old, place, line)}")
            fresh = False
            if line.strip():
                found.append(line + _remark(line, ends, before))
    return "\n".join(found) + "\n"


def _under(old: Sequence[str], place: int, new: str) -> str:
    """The table that a new value belongs to; nothing for a line that begins a table or is empty."""
    if not _VALUE.match(new):
        return ""
    table = next((row.strip() for row in reversed(old[: place - 1]) if _TABLE.match(row)), "")
    return f", under {table}" if table else ""


def _remark(line: str, ends: Mapping[str, str], before: Mapping[str, str]) -> str:
    """The value before, where the line does not hold a remark already."""
    if not _VALUE.match(line) or "#" in line:
        return ""
    name = line.partition("=")[0].strip().rpartition(".")[2].strip('"')
    was = before.get(ends.get(name, ""), "")
    return f"  # trial; was {was}" if was else ""
