"""Copies left over when the time is up: full sheets of one kind in rows, the rest by boxes on
shelves.

Takes a moment for any list. Shelves are first-fit by decreasing height: E. G. Coffman, M. R. Garey,
D. S. Johnson and R. E. Tarjan, "Performance bounds for level-oriented two-dimensional packing
algorithms", SIAM J. Computing 9 (1980).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from fab.sheets.identical import room
from fab.sheets.model import Sheet
from fab.sheets.nofit import Shape
from fab.sheets.paths import Path
from fab.sheets.sheet_fill import Laid
from fab.sheets.stock_parts import Answer, Filling, StockParts


def completed(parts: StockParts, answer: Answer) -> Answer:
    """The answer with its missing copies on further whole sheets, as far as the rack goes."""
    left = dict(answer.missing)
    stock = [sheet.count for sheet in parts.sheets]
    for filling in answer.fillings:
        stock[parts.sheets.index(filling.sheet)] -= 1
    fillings = list(answer.fillings)
    order = sorted(
        (k for k, sheet in enumerate(parts.sheets) if sheet.is_rectangle and not sheet.offcut),
        key=lambda k: (parts.sheets[k].price / parts.sheets[k].area, k),
    )
    for k in order:
        for path in parts.ways:
            rows = _rows(parts, path, parts.sheets[k])
            times = min(left.get(path.piece.name, 0) // len(rows), stock[k]) if rows else 0
            fillings += [Filling(parts.sheets[k], rows)] * times
            stock[k] -= times
            if times:
                left[path.piece.name] -= times * len(rows)
        shelved = _shelved(parts, parts.sheets[k], left, stock[k])
        stock[k] -= len(shelved)
        fillings += shelved
    missing = tuple(sorted((name, count) for name, count in left.items() if count))
    return Answer(tuple(fillings), missing, answer.engine)


def _rows(parts: StockParts, path: Path, sheet: Sheet) -> tuple[Laid, ...]:
    """The sheet full of one kind, when that is known or found by rows."""
    known = parts.full.get((path.piece.name, sheet))
    if known is not None or path.convex is None:
        return known or ()
    poses = parts.pattern(path, grain=sheet.grain).whole(sheet)
    return tuple(Laid(parts.shape(path, turn), x, y) for x, y, turn in poses)


@dataclass
class _Shelf:
    """A row of boxes: where it begins, how high it is, how far it is filled."""

    y: float
    height: float
    x: float = 0.0


@dataclass
class _Open:
    """A sheet with its shelves."""

    top: float = 0.0
    shelves: list[_Shelf] = field(default_factory=list)
    laid: list[Laid] = field(default_factory=list)


def _shelved(parts: StockParts, sheet: Sheet, left: dict[str, int], most: int) -> list[Filling]:
    """Up to `most` sheets with the boxes of all that is left; `left` is lowered by what
    they hold.
    """
    wide, high = room(sheet)
    flat = [
        (path, shape) for path in parts.ways if (shape := _flattest(parts, path, sheet)) is not None
    ]
    sheets: list[_Open] = []
    for path, shape in sorted(flat, key=lambda one: (-one[1].height, one[0].piece.name)):
        while left.get(path.piece.name, 0) > 0:
            if not _put(sheets, shape, (wide, high), parts.gap_mm, sheet.margin):
                if len(sheets) == most:
                    break
                sheets.append(_Open())
                continue
            left[path.piece.name] -= 1
    return [Filling(sheet, tuple(one.laid)) for one in sheets if one.laid]


def _flattest(parts: StockParts, path: Path, sheet: Sheet) -> Shape | None:
    """The piece at the turn with the lowest box that fits the sheet; None when no turn does."""
    wide, high = room(sheet)
    fits = [
        s
        for s in parts.shapes(path, grain=sheet.grain)
        if s.width <= wide + 1e-6 and s.height <= high + 1e-6
    ]
    return min(fits, key=lambda s: (s.height, s.turn_deg), default=None)


def _put(
    sheets: Sequence[_Open], shape: Shape, size: tuple[float, float], gap_mm: float, margin: float
) -> bool:
    """Put the shape on the first shelf with room, or on a new one; False when there is none."""
    for one in sheets:
        shelf = next(
            (
                s
                for s in one.shelves
                if s.x + shape.width <= size[0] + 1e-6 and shape.height <= s.height + 1e-6
            ),
            None,
        )
        if shelf is None and one.top + shape.height <= size[1] + 1e-6:
            shelf = _Shelf(one.top, shape.height)
            one.shelves.append(shelf)
            one.top += shape.height + gap_mm
        if shelf is not None:
            x, y = shelf.x - shape.box[0] + margin, shelf.y - shape.box[1] + margin
            one.laid.append(Laid(shape, x, y))
            shelf.x += shape.width + gap_mm
            return True
    return False
