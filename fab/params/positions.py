"""The parts on a board, read from a user's CSV: columns and words as the panel's file maps them.

Our own `board/positions.csv` reads back with the columns left at their defaults.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from difflib import get_close_matches

from fab.errors import Fault, InputError
from fab.files.readtable import ReadTable, read_table
from fab.params.boardparams import BoardColumns, BoardParams, BoardPart, BoardWords
from fab.params.lengths import NotALength, parse_length
from fab.params.quoting import clean, has_unseen, short, show
from fab.params.spec import Spec, specs
from fab.units import MM_PER_INCH

MOST_FAULTS = 20
# decimals of a place: a thousandth of a thousandth of a tolerance, and what our own files hold
PLACES = 6
UNIT_MM = {"mm": 1.0, "in": MM_PER_INCH, "mil": MM_PER_INCH / 1000}
_COLUMNS: type = BoardColumns
_WORDS: type = BoardWords
_PART: type = BoardPart
_SIDES = {
    "front": "front",
    "top": "front",
    "f": "front",
    "t": "front",
    "": "front",
    "back": "back",
    "bottom": "back",
    "b": "back",
    "both": "both",
}
_NUMBERED = re.compile(r"(?P<word>.*?)[\s_-]*[0-9]*")
_DECIMAL_COMMA = re.compile(r"(?<=[0-9]),(?=[0-9]+[^0-9]*$)")


@dataclass(frozen=True)
class _Sheet:
    """A table with the maps that its cells are read by."""

    table: ReadTable
    board: BoardParams
    shown: str
    at: dict[str, int]  # our column to its place


def positions(data: bytes, board: BoardParams, shown: str) -> tuple[BoardPart, ...]:
    """The parts in the order of the rows, in the frame that the file counts from.

    Raises InputError with all faults.
    """
    table = read_table(data, shown)
    sheet = _Sheet(table, board, shown, _columns(table, board, shown))
    found: list[BoardPart] = []
    faults: list[Fault] = []
    for line, cells in table.rows:
        try:
            found.append(_part(sheet, line, cells))
        except InputError as error:
            faults += error.faults
            if len(faults) >= MOST_FAULTS:
                break
    if faults:
        raise InputError(faults)
    return tuple(found)


def _columns(table: ReadTable, board: BoardParams, shown: str) -> dict[str, int]:
    """Our names of columns to their places; kind, x and y must be there."""
    at: dict[str, int] = {}
    faults: list[Fault] = []
    for name in specs(_COLUMNS):
        wanted = getattr(board.columns, name)
        place = table.column(wanted) if wanted else None
        if place is not None:
            at[name] = place
        elif name in ("kind", "x", "y"):
            heads = [clean(short(head, 30)) for head in table.header if head]
            lower = {head.lower(): head for head in heads}
            close = get_close_matches(wanted.lower(), lower, n=1, cutoff=0.4)
            near = f" Did you mean {lower[close[0]]}?" if close else ""
            says = f"has no column {show(wanted)}. Its columns: {', '.join(heads[:12])}.{near}"
            faults.append(
                Fault(
                    f"board.columns.{name}",
                    says,
                    f'Write columns = {{{name} = "..."}}.',
                    where=shown,
                )
            )
    if faults:
        raise InputError(faults)
    return at


def _part(sheet: _Sheet, line: int, cells: tuple[str, ...]) -> BoardPart:
    where, columns = f"{sheet.shown}:{line}", sheet.board.columns
    faults: list[Fault] = []

    def cell(name: str) -> str:
        place = sheet.at.get(name, -1)
        return cells[place] if 0 <= place < len(cells) else ""

    def told(name: str, says: str, works: str = "") -> float:
        faults.append(Fault(getattr(columns, name), says, works, where=where))
        return 0.0

    def number(name: str, read: Callable[[str], float], *, needed: bool = False) -> float:
        text = cell(name)
        if not text:
            return told(name, "is empty.", "Every row needs a place.") if needed else 0.0
        try:
            value = round(read(text), PLACES) + 0.0
        except (NotALength, ValueError):
            return told(name, f"{show(text)} is not a number.", "For example 12.7.")
        spec = specs(_PART)[f"{name}_deg" if name == "turn" else name]
        return value if _inside(spec, value) else told(name, f"{show(text)} is out of range.")

    def as_length(text: str) -> float:
        return _length(text, UNIT_MM[sheet.board.positions_units], comma=sheet.table.comma_decimals)

    def as_degrees(text: str) -> float:
        value = _plain(text.rstrip("°").removesuffix("deg"), comma=sheet.table.comma_decimals)
        return math.remainder(value, 360.0) if abs(value) > 360.0 else value

    kind = _kind(cell("kind"), sheet.board)
    side = _SIDES.get(cell("side").casefold())
    if side is None:
        told("side", f"{show(cell('side'))} is not a face of a board.", "Write front or back.")
    part = BoardPart(
        kind=kind,
        x=number("x", as_length, needed=True),
        y=number("y", as_length, needed=True),
        turn_deg=number("turn", as_degrees),
        width=number("width", as_length),
        depth=number("depth", as_length),
        height=number("height", as_length),
        side=side or "front",
        name="" if cell("kind").casefold() in _own(sheet.board) else _name(cell("kind")),
    )
    if faults:
        raise InputError(faults)
    return part


def _own(board: BoardParams) -> tuple[str, ...]:
    """Words that are no part's own name."""
    return tuple(getattr(board.words, name).casefold() for name in specs(_WORDS))


def _name(text: str) -> str:
    return "" if has_unseen(text) else text[:60]


def _kind(text: str, board: BoardParams) -> str:
    """The kind that a word names, alone or with a number; other words are parts' own names."""
    whole = text.casefold()
    found = _NUMBERED.fullmatch(whole)
    # a word may end in a number of its own: LED_5050
    for word in (whole, found["word"] if found else ""):
        for name in specs(_WORDS):
            if word and word == getattr(board.words, name).casefold():
                return name
    return "part"


def _length(text: str, unit_mm: float, *, comma: bool) -> float:
    if comma:
        text = _DECIMAL_COMMA.sub(".", text)
    mils = text.casefold().removesuffix("mil").removesuffix("mils")
    if mils != text.casefold():
        return float(mils) * UNIT_MM["mil"]
    try:
        return _plain(text, comma=comma) * unit_mm
    except ValueError:
        return parse_length(text)


def _plain(text: str, *, comma: bool) -> float:
    if comma:
        text = _DECIMAL_COMMA.sub(".", text)
    value = float(text)
    if not math.isfinite(value) or "_" in text:
        raise ValueError(text)
    return value


def _inside(spec: Spec, value: float) -> bool:
    return (spec.least is None or value >= spec.least) and (spec.most is None or value <= spec.most)
