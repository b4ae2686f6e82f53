"""CSV and JSON, the same bytes for the same values."""

from __future__ import annotations

import csv
import io
import json
import math
import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from fab.files.words import writable
from fab.units import fixed

PLACES = 6  # decimals of a number; below a thousandth of any tolerance here

_NUMBER = re.compile(r"[+-]?\d+(\.\d+)?")
_FORMULA = ("=", "+", "-", "@", "\t", "\r")  # a spreadsheet runs a cell that starts so

Cell = str | int | float | bool | None


def csv_bytes(header: Sequence[str], rows: Iterable[Sequence[Cell]]) -> bytes:
    """A table by RFC 4180: comma, CR LF, quotes where needed; UTF-8 without a mark.

    A number is written plain with a point, true and false as yes and no, nothing as an empty cell.
    A text that a spreadsheet would run as a formula gets a leading apostrophe. Raises ValueError
    for a row of another length than the header and for a number that is not finite.
    """
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow([_cell(name) for name in header])
    for row in rows:
        if len(row) != len(header):
            raise ValueError(
                f"a row of {len(row)} cells does not fit {len(header)} columns: {row!r}"
            )
        writer.writerow([_cell(value) for value in row])
    return stream.getvalue().encode("utf-8")


def _cell(value: Cell) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return fixed(value, PLACES)
    value = writable(value)
    return f"'{value}" if value.startswith(_FORMULA) and not _NUMBER.fullmatch(value) else value


def json_bytes(value: Any) -> bytes:
    """A value as JSON: keys in the order given, two blanks of indent, UTF-8, a newline at the end.

    Floats are rounded to 6 decimals and whole ones written without a point. Raises ValueError for
    NaN and infinities, TypeError for what JSON has no form for (sets, objects, keys that are not
    text).
    """
    return (json.dumps(_plain(value), ensure_ascii=False, indent=2, allow_nan=False) + "\n").encode(
        "utf-8"
    )


def _plain(value: Any) -> Any:
    if isinstance(value, Mapping):
        for key in value:
            if not isinstance(key, str):
                raise TypeError(f"a JSON key must be text, not {key!r}")
        return {key: _plain(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(inner) for inner in value]
    if isinstance(value, float):
        if not math.isfinite(value):
            raise ValueError(f"{value} is not a number that a file can hold")
        rounded = round(value, PLACES)
        return int(rounded) if rounded.is_integer() else rounded
    return writable(value) if isinstance(value, str) else value
