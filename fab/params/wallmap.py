"""A wall drawn as text, and the lattice cells it stands for; and cells drawn as text.

      A B        a letter or a name is a panel, # a panel without a name, . an empty place, blanks
      lead to the place
     C . D       hexagons: every row is shifted by half a step against the one above it
      E F        squares stand one above the other; triangles too, point up and point down by turns

The lowest row that is drawn is row 0 of the lattice, and the leftmost place column 0 (q counts from
there). The place
in the lower left corner of drawn triangles has its point up, unless ^ and v are drawn for the
directions.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from fab.params.mapgrid import GridSpot, spots
from fab.params.mapmarks import (
    EMPTY,
    PANEL,
    MapFault,
    Mark,
    MarkPlace,
    apart,
    marks_of,
    read,
    strange,
)
from fab.units import some

LATTICE_SIDES = (3, 4, 6)  # the three regular tilings of the plane
TABS = (8, 4, 2)  # how wide editors draw a tab
MOST_PLACES = 20_000
MOST_TOLD = 20
At = tuple[int, int]


@dataclass(frozen=True, slots=True)
class DrawnPanel:
    """A panel of a drawing."""

    name: str  # "": the program finds one
    cell: At
    row: int  # line and character of the text, from 0
    column: int


@dataclass(frozen=True)
class WallMap:
    """The panels of a drawing, row by row from the top, or all that is wrong with it."""

    panels: tuple[DrawnPanel, ...]
    faults: tuple[MapFault, ...] = ()


@lru_cache(maxsize=8)
def read_map(text: str, sides: int) -> WallMap:
    """The panels of a drawing of panels with 3, 4 or 6 sides. A tab may be as wide as it likes, as
    long as the drawing
    means the same for every width."""
    if "\t" not in text:
        return _read(text, sides, 8)
    ways = [_read(text, sides, tab) for tab in TABS]
    if all(way.panels == ways[0].panels and not way.faults for way in ways):
        return ways[0]
    if all(way.faults == ways[0].faults for way in ways):
        return ways[0]
    row, line = next((row, line) for row, line in enumerate(text.split("\n")) if "\t" in line)
    says = "this drawing has tabs, and editors show tabs in different widths."
    return WallMap((), (MapFault(row, line.index("\t"), says, "Write blanks in place of tabs."),))


def drawn(text: str, sides: int) -> tuple[DrawnPanel, ...]:
    """The panels of a drawing; none of no drawing, or one with faults."""
    return read_map(text, sides).panels if text and sides in LATTICE_SIDES else ()


def _read(text: str, sides: int, tab: int) -> WallMap:
    marks = marks_of(text, tab)
    if not marks:
        return WallMap(
            (), (MapFault(0, 0, "the drawing is empty.", f"Write {PANEL[0]} for a panel."),)
        )
    faults = strange(marks)
    if not faults:
        marks, faults = apart(marks, sides)
    if faults:
        return WallMap((), tuple(faults))
    if len(marks) > MOST_PLACES:
        says = f"the drawing has {some(len(marks), 'place')}."
        return WallMap((), (MapFault(0, 0, says, f"At most {MOST_PLACES:,} are read."),))
    places, faults = read(marks, sides)
    found, crooked = spots(marks, sides)
    cells, wrong = _cells(places, found, sides) if not crooked else ([], [])
    faults = sorted([*faults, *crooked, *wrong], key=lambda fault: (fault.row, fault.column))
    if not faults and not any(place.panel for place in places):
        faults = [MapFault(0, 0, "the drawing has no panel.", f"Write {PANEL[0]} for a panel.")]
    if faults:
        return WallMap((), tuple(faults))
    return WallMap(
        tuple(
            DrawnPanel(place.name, cell, place.mark.row, place.mark.column)
            for place, cell in zip(places, cells, strict=True)
            if place.panel
        )
    )


def _cells(
    places: Sequence[MarkPlace], found: Sequence[GridSpot], sides: int
) -> tuple[list[At], list[MapFault]]:
    """Lattice cells of the places. The lowest line is row 0."""
    low = max(spot.line for spot in found)
    if sides == 6:
        # the lowest row lies on whole steps
        odd = next(spot.across for spot in found if spot.line == low) % 2
        return [
            ((spot.across + odd - (low - spot.line)) // 2, low - spot.line) for spot in found
        ], []
    if sides == 4:
        return [(spot.across, low - spot.line) for spot in found], []
    return _triangles(places, found, low)


def _triangles(
    places: Sequence[MarkPlace], found: Sequence[GridSpot], low: int
) -> tuple[list[At], list[MapFault]]:
    """The same of triangles; those that are drawn with a direction must take turns."""
    told = [
        (place, (spot.across + low - spot.line + (place.up is False)) % 2)
        for place, spot in zip(places, found, strict=True)
        if place.up is not None
    ]
    odd = told[0][1] if told else 0
    faults = [_not_in_turn(place.mark, up=bool(place.up)) for place, other in told if other != odd]
    return [(spot.across + odd, low - spot.line) for spot in found], faults


def _not_in_turn(mark: Mark, *, up: bool) -> MapFault:
    says = (
        f'"{mark.text}" points the wrong way: triangles point up and down in turn, along a row and'
        " from row to row."
    )
    return MapFault(
        mark.row, mark.column, says, f"Write {'v' if up else '^'}, or move it by one place."
    )


def draw_map(panels: Iterable[tuple[At, str]], sides: int) -> str:
    """Cells with names ("": none) as a drawing that reads as the same wall, a line a row."""
    named = {_spot(cell, sides): name for cell, name in panels}
    left, low = min(x for x, _ in named), min(y for _, y in named)
    wide = max(len(name) for name in named.values()) or 1
    step = wide + 1 + (wide + 1) % 2 if sides == 6 else wide + 1
    pitch = step // 2 if sides == 6 else step
    pointed = sides == 3 and not any(named.values())
    if sides == 3 and not pointed and (left + low) % 2:
        left -= 1
    rows = []
    every = 2 if sides == 6 else 1
    lines = [
        sorted(x for x, line in named if line == y)
        for y in range(max(y for _, y in named), low - 1, -1)
    ]
    # then the longer names need a blank beside one
    alone = wide > 1 and max(len(across) for across in lines) == 1
    for y, across in zip(range(low + len(lines) - 1, low - 1, -1), lines, strict=True):
        first, last = (across[0], across[-1] + (every if alone else 0)) if across else (left, left)
        if not across and sides == 6 and (left + y) % 2:
            first = last = left + 1  # an empty row is shifted like the others
        if y == low and sides == 3 and not pointed:
            first = left  # the corner that says which triangles point up
        row = ""
        for x in range(first, last + 1, every):
            mark = (
                EMPTY[0]
                if (x, y) not in named
                else named[x, y] or ("^v"[(x + y) % 2] if pointed else PANEL[0])
            )
            row = row.ljust((x - left) * pitch) + mark
        rows.append(row + "\n")
    return "".join(rows)


def neighbours(cell: At, sides: int) -> list[At]:
    """The lattice cells that share an edge with a cell."""
    x, y = cell
    if sides == 3:
        return [(x - 1, y), (x + 1, y), (x, y - 1 if (x + y) % 2 == 0 else y + 1)]
    around = [(x - 1, y), (x + 1, y), (x, y - 1), (x, y + 1)]
    return [*around, (x + 1, y - 1), (x - 1, y + 1)] if sides == 6 else around


def pieces_of(cells: Iterable[At], sides: int) -> int:
    """Number of pieces of the cells that do not touch."""
    left, found = set(cells), 0
    while left:
        stack = [left.pop()]
        found += 1
        while stack:
            near = left.intersection(neighbours(stack.pop(), sides))
            left -= near
            stack += near
    return found


def _spot(cell: At, sides: int) -> At:
    """A cell as half steps or columns from the left, and lines from below."""
    first, second = cell
    return (2 * first + second, second) if sides == 6 else (first, second)
