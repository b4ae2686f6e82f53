"""The faults of the files, for the page: file, line, its text, key, reason, what would work."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from fab.errors import Fault, InputError, PanejigError
from fab.params.files import read_bytes
from fab.params.quoting import clean, short
from fab.units import some

MOST_SHOWN = 20
_PLACE = re.compile(r"(?P<file>.+?):(?P<line>\d+)(:\d+)?")  # file, line, and perhaps a column


def rows(error: PanejigError, sources: Sequence[Path]) -> list[dict[str, Any]]:
    """The faults of an error, as many as a page can show; the others are counted."""
    faults = error.faults if isinstance(error, InputError) else (Fault("", str(error)),)
    found = [_row(fault, sources) for fault in faults[:MOST_SHOWN]]
    if len(faults) > MOST_SHOWN:
        left = Fault("", f"{some(len(faults) - MOST_SHOWN, 'more error')}.")
        found.append(_row(left, sources))
    return found


def _row(fault: Fault, sources: Sequence[Path]) -> dict[str, Any]:
    place = _PLACE.fullmatch(fault.where)
    file = place["file"] if place else fault.where
    line = int(place["line"]) if place else 0
    return {
        "file": file,
        "line": line,
        "text": _line_of(file, line, sources) if line else "",
        "key": fault.key,
        "says": fault.says,
        "works": fault.works,
    }


def _line_of(file: str, line: int, sources: Sequence[Path]) -> str:
    """A line of one of the job's own files as it stands there now; "" when it can't be read."""
    for path in sources:
        if file in (clean(str(path)), clean(path.name)):
            try:
                lines = read_bytes(path, file).decode("utf-8-sig", "replace").splitlines()
            except InputError:
                return ""
            return clean(short(lines[line - 1], 160)) if line <= len(lines) else ""
    return ""
