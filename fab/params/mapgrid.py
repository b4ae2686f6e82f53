"""From places of marks on the screen to lattice places: column or half step, and line.

Squares and triangles stand one above the other. Rows of hexagons are shifted against each other by
half a step.
The step is the greatest one that all marks of all rows agree with. Marks of different length may
line up at their
first or at their last character; where they do neither, and every row has single blanks, they are
counted.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise, product

from fab.params.mapmarks import MapFault, Mark

Rows = list[list[Mark]]
MOST_STEP = 200  # columns from one panel to the next


@dataclass(frozen=True, slots=True)
class GridSpot:
    """The place of a mark: steps from the left (half steps for hexagons), lines from the top."""

    across: int
    line: int


@dataclass(frozen=True)
class _Try:
    """One way to read the columns: the first column of each mark, and what does not fit."""

    across: tuple[tuple[int, ...], ...]
    faults: tuple[MapFault, ...]


def spots(marks: Sequence[Mark], sides: int) -> tuple[list[GridSpot], list[MapFault]]:
    """A spot for each mark, in their order, or what does not line up."""
    rows = [list(row) for _, row in groupby(marks, key=lambda mark: mark.row)]
    lines = _lines(rows)
    regular = _halves if sides == 6 else _columns
    tries = [
        regular(rows, lines, at)
        for at in ([[m.start for m in row] for row in rows], [[m.end for m in row] for row in rows])
    ]
    best = min(tries, key=lambda found: len(found.faults))
    if best.faults and (counted := _counted(rows, lines, sides)) is not None:
        best = counted
    found = [
        GridSpot(step, line) for line, row in zip(lines, best.across, strict=True) for step in row
    ]
    return found, list(best.faults)


def _lines(rows: Rows) -> list[int]:
    """Line of each row from the top; rows with the same blank lines between them follow on."""
    at = [row[0].row for row in rows]
    gaps = {b - a for a, b in pairwise(at)}
    every = gaps.pop() if len(gaps) == 1 else 1
    return [(row - at[0]) // every for row in at]


def _columns(rows: Rows, lines: list[int], at: list[list[int]]) -> _Try:
    """Marks one above the other."""
    step = _step(at) or math.gcd(*(row[0] - at[0][0] for row in at)) or 1
    left = _usual(at, step)[0]
    faults = _uneven(rows, at, step)
    for row, columns in zip(rows, at, strict=True):
        off = (columns[0] - left) % step
        if off:
            works = _in_columns(row[0], [-off, step - off])
            says = (
                f'"{row[0].text}" is between two columns: square panels stand one above the other.'
            )
            faults.append(MapFault(row[0].row, row[0].column, says, works))
    least = min((column - left) // step for row in at for column in row)
    return _Try(
        tuple(tuple((column - left) // step - least for column in row) for row in at), tuple(faults)
    )


def _halves(rows: Rows, lines: list[int], at: list[list[int]]) -> _Try:
    """Marks in rows that are shifted by half a step from line to line."""
    inside = _step(at)
    if uneven := _uneven(rows, at, inside):
        return _Try(tuple(tuple(row) for row in at), tuple(uneven))
    if len(rows) == 1:
        return _shifted(rows, lines, at, inside or 1, 0, at[0][0])
    if inside:
        steps = [step for step in _divisors(inside) if step > 1]
    else:
        steps = [2 * step for step in _divisors(math.gcd(*(b[0] - a[0] for a, b in pairwise(at))))]
    best: _Try | None = None
    for step in steps or [2]:
        for left, odd in product(_usual(at, step), (0, 1)):
            found = _shifted(rows, lines, at, step, odd, left)
            if not found.faults:
                return found
            best = found if best is None or len(found.faults) < len(best.faults) else best
    assert best is not None
    return best


def _shifted(
    rows: Rows, lines: list[int], at: list[list[int]], step: int, odd: int, left: int
) -> _Try:
    """Half steps from `left`, where lines of the parity `odd` are the shifted ones."""
    across, faults = [], []
    for row, line, columns in zip(rows, lines, at, strict=True):
        half = (line + odd) % 2
        rooms = {step // 2, (step + 1) // 2} if half else {0}
        off = (columns[0] - left) % step
        if off not in rooms:
            works = _in_columns(
                row[0],
                sorted({room - off + turn for room in rooms for turn in (-step, 0, step)}, key=abs)[
                    :2
                ],
            )
            says = "rows of hexagons are shifted by half a step against the rows above and below."
            faults.append(MapFault(row[0].row, row[0].column, says, works))
        across.append(tuple(2 * ((column - left) // step) + half for column in columns))
    least = min(min(row) for row in across)
    return _Try(tuple(tuple(step - least for step in row) for row in across), tuple(faults))


def _counted(rows: Rows, lines: list[int], sides: int) -> _Try | None:
    """Marks counted from the left of each row, where that can mean one thing only."""
    if any(b.start - a.end != 1 for row in rows for a, b in pairwise(row)):
        return None
    starts = sorted({row[0].start for row in rows})
    if sides != 6:
        return _Try(tuple(tuple(range(len(row))) for row in rows), ()) if len(starts) == 1 else None
    if len(starts) != 2 or starts[1] - starts[0] > max(
        len(mark.text) for row in rows for mark in row
    ):
        return None
    high = [starts.index(row[0].start) for row in rows]
    if len({(line + half) % 2 for line, half in zip(lines, high, strict=True)}) > 1:
        return None
    return _Try(
        tuple(
            tuple(2 * k + half for k in range(len(row)))
            for row, half in zip(rows, high, strict=True)
        ),
        (),
    )


def _uneven(rows: Rows, at: list[list[int]], step: int) -> list[MapFault]:
    """Marks with blanks between them, but in no even steps."""
    gaps = [b - a for row in at for a, b in pairwise(row)]
    if step != 1 or min(gaps, default=1) == 1:
        return []
    usual = Counter(gaps).most_common(1)[0][0]
    off = [
        mark
        for row, columns in zip(rows, at, strict=True)
        for mark, (a, b) in zip(row[1:], pairwise(columns), strict=True)
        if (b - a) % usual
    ]
    says = f'"{off[0].text}" is not an even number of steps behind the panel before it.'
    works = (
        "Space all panels evenly: add blanks behind short names until they are as wide as the"
        " long ones."
    )
    return [MapFault(off[0].row, off[0].column, says, works)]


def _step(at: list[list[int]]) -> int:
    """The greatest step that divides all distances in rows; 0 where no row has two marks."""
    return math.gcd(*(b - a for row in at for a, b in pairwise(row)))


def _usual(at: list[list[int]], step: int) -> list[int]:
    """Offsets within a step at which most rows begin; at most three."""
    return [place for place, _ in Counter(row[0] % step for row in at).most_common(3)]


def _divisors(value: int) -> Iterator[int]:
    """From the value down to 1, none over `MOST_STEP`; none of 0."""
    yield from (part for part in range(min(value, MOST_STEP), 0, -1) if value % part == 0)


def _in_columns(mark: Mark, moves: Sequence[int]) -> str:
    """The columns that would do for the first mark of a row."""
    if mark.start != mark.column:
        return "Write blanks in place of tabs: editors show tabs in different widths."
    columns = sorted({mark.column + move + 1 for move in moves if mark.column + move >= 0})
    return f"Begin this row in column {' or '.join(str(column) for column in columns)}."
