"""Fillings to choose among: full sheets of one kind, and sheets shared by two convex kinds, each in
its own rows.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from fab.sheets.identical import room
from fab.sheets.mixed import Trial, full_of_one
from fab.sheets.model import Sheet
from fab.sheets.paths import Path
from fab.sheets.sheet_fill import Laid
from fab.sheets.stock_parts import Filling, StockParts, Stop

_SPLITS = 8  # where a sheet is divided between two kinds, each way
_MOST_PAIRS = 15

Key = tuple[Sheet, tuple[tuple[str, int], ...]]
Pool = dict[Key, Filling]


def counts_of(laid: Sequence[Laid]) -> Counter[str]:
    """Piece name to copies."""
    return Counter(item.shape.path.piece.name for item in laid)


def add(pool: Pool, filling: Filling) -> None:
    """Keep a filling that holds something, the first one of its sheet and counts."""
    if filling.laid:
        pool.setdefault((filling.sheet, tuple(sorted(counts_of(filling.laid).items()))), filling)


def undominated(pool: Pool) -> list[Filling]:
    """The fillings of which no other holds as many of every kind on an equal sheet."""
    counts = {key: counts_of(filling.laid) for key, filling in pool.items()}

    def beaten(key: Key) -> bool:
        own = counts[key]
        return any(
            other is not key
            and other[0] == key[0]
            and all(counts[other][name] >= n for name, n in own.items())
            for other in counts
        )

    return [filling for key, filling in pool.items() if not beaten(key)]


def full_of_single_kinds(parts: StockParts, stop: Stop) -> Iterator[Filling]:
    """Full sheets of one kind."""
    for sheet in _whole(parts):
        for path in parts.ways:
            trial = Trial(parts.ways, "right", "", hurry=stop)
            yield Filling(sheet, tuple(full_of_one(parts, path, sheet, trial)))


def shared_by_two(parts: StockParts) -> Iterator[Filling]:
    """Sheets divided between two convex kinds by one straight line, each kind in rows."""
    convex = [path for path in parts.ways if path.convex is not None and not path.outline.holes]
    convex.sort(key=lambda path: (-path.area * path.piece.count, path.piece.name))
    pairs = [(a, b) for k, a in enumerate(convex) for b in convex[k + 1 :]][:_MOST_PAIRS]
    for sheet in _whole(parts):
        wide, high = room(sheet)
        for first, second in pairs:
            for step in range(1, _SPLITS):
                for upright in (True, False):
                    size = (
                        (wide * step / _SPLITS, high) if upright else (wide, high * step / _SPLITS)
                    )
                    laid = _two(parts, sheet, first, second, size, upright=upright)
                    if laid:
                        yield Filling(sheet, laid)


def _two(
    parts: StockParts,
    sheet: Sheet,
    first: Path,
    second: Path,
    size: tuple[float, float],
    *,
    upright: bool,
) -> tuple[Laid, ...]:
    """`first` in a strip of `size` at the left or the bottom, `second` in the rest; empty when one
    does not fit.
    """
    wide, high = room(sheet)
    one = _rows(parts, sheet, first, size, (0.0, 0.0))
    if not one:
        return ()
    far = max(item.right if upright else item.top for item in one) - sheet.margin + parts.gap_mm
    rest = (wide - far, high) if upright else (wide, high - far)
    if min(rest) <= 0:
        return ()
    other = _rows(parts, sheet, second, rest, (far, 0.0) if upright else (0.0, far))
    return (*one, *other) if other else ()


def _rows(
    parts: StockParts,
    sheet: Sheet,
    path: Path,
    size: tuple[float, float],
    corner: tuple[float, float],
) -> tuple[Laid, ...]:
    """The best rows of a kind in a rectangle of the sheet's free room."""
    pattern = parts.pattern(path, grain=sheet.grain)
    dx, dy = corner[0] + sheet.margin, corner[1] + sheet.margin
    found = []
    for spot in pattern.lattice.block(*size):
        box = pattern.shape.turned(spot.turn_deg).box
        shape = parts.shape(path, spot.turn_deg)
        found.append(Laid(shape, spot.x - box[0] + dx, spot.y - box[1] + dy))
    return tuple(found)


def _whole(parts: StockParts) -> list[Sheet]:
    return [
        sheet
        for sheet in parts.sheets
        if sheet.is_rectangle and not sheet.offcut and sheet.count > 0
    ]
