"""A user's table: CSV with commas, semicolons or tabs, any encoding, as rows of text.

Only the standard library's reader looks at the bytes; no cell is run, followed or turned into a
number here.
"""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass

from fab.errors import InputError, refused

MOST_ROWS = 20_000
MOST_COLUMNS = 200
MOST_CELL = 4_000  # characters
_MARKS = ((",", "commas"), (";", "semicolons"), ("\t", "tabs"))


@dataclass(frozen=True)
class ReadTable:
    """A header and the rows below it, each with the line that it ends on, counted from 1."""

    header: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    # the cells are parted by semicolons or tabs, so that a comma may be a decimal point
    comma_decimals: bool

    def column(self, name: str) -> int | None:
        """The place of a column; capitals and blanks round it do not count."""
        wanted = name.strip().casefold()
        return next((k for k, head in enumerate(self.header) if head.casefold() == wanted), None)


def read_table(data: bytes, shown: str) -> ReadTable:
    """The table in a file.

    Empty rows and rows that begin with # are left out. Raises InputError.
    """
    text = _decoded(data, shown)
    head = next((row for row in text.splitlines() if row.strip() and not row.startswith("#")), "")
    mark = max(_MARKS, key=lambda item: head.count(item[0]))[0]
    rows: list[tuple[int, tuple[str, ...]]] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=mark)
    try:
        for row in reader:
            cells = tuple(cell.strip() for cell in row)
            if not any(cells) or cells[0].startswith("#"):
                continue
            if len(rows) > MOST_ROWS:
                raise _refused(shown, f"has more than {MOST_ROWS:,} rows.")
            if len(cells) > MOST_COLUMNS or any(len(cell) > MOST_CELL for cell in cells):
                raise _refused(f"{shown}:{reader.line_num}", "the row is too long.")
            rows.append((reader.line_num, cells))
    except csv.Error as fault:
        raise _refused(f"{shown}:{reader.line_num}", f"the row cannot be read: {fault}.") from None
    if not rows:
        raise _refused(shown, "the table is empty.")
    header = rows[0][1]
    return ReadTable(header, tuple(rows[1:]), mark != ",")


def _decoded(data: bytes, shown: str) -> str:
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        try:
            return data.decode("utf-16")
        except UnicodeDecodeError:
            raise _refused(shown, "is neither UTF-8 nor UTF-16 text.") from None
    if b"\x00" in data:
        raise _refused(shown, "contains zero bytes: it is not a text file.")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")  # what older spreadsheets write


def _refused(where: str, says: str) -> InputError:
    works = "Save it as a CSV table: a row of column names, then one row for each part."
    return refused(says, works, where=where)
