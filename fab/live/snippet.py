"""Values of a trial as lines of the job file, to paste by hand: where each goes, what it takes the
place of. Nothing is written.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from pathlib import Path

from fab.errors import InputError
from fab.params.jobedit import edited
from fab.params.showing import clean

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
    text = edit.new.decode("utf-8-sig").splitlines()
    ends = {key.rpartition(".")[2]: key for key, _ in values}
    found: list[str] = []
    place, old = 0, list[str]()
    for row in edit.diff:
        mark = _PLACE.fullmatch(row)
        if mark:
            place, old = int(mark[1]), []
            found += [""] if found else []
            continue
        if row.startswith("- "):
            old.append(row[2:])
            continue
        line = row[2:]
        if line.strip():
            if old:
                found.append(f"# {name}, line {place}, in place of: {old.pop(0).strip()}")
            elif not _TABLE.match(line) and not _TABLE.match(found[-1] if found else ""):
                found.append(f"# {name}, new line {place}{_under(text, place)}")
            found.append(line + _remark(line, ends, before))
        place += 1
    return "\n".join(found) + "\n"


def _under(text: Sequence[str], place: int) -> str:
    """Which table a line belongs to."""
    for line in reversed(text[: max(place - 1, 0)]):
        table = _TABLE.match(line)
        if table:
            return f", under {table[0].strip()}"
    return ""


def _remark(line: str, ends: Mapping[str, str], before: Mapping[str, str]) -> str:
    """What a value was, where the line does not hold a remark already."""
    if not _VALUE.match(line) or "#" in line:
        return ""
    name = line.partition("=")[0].strip().rpartition(".")[2].strip('"')
    was = before.get(ends.get(name, ""), "")
    return f"  # trial; was {was}" if was else ""
