"""The holes of a wall as numbers, for those who measure by hand: from one datum hole, and from hole
to hole.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from fab.params.shop import WallType
from fab.units import fixed, inches
from fab.wall.model import Hung

HEADER = (
    "hole",
    "panel",
    "x_mm",
    "y_mm",
    "from_datum_mm",
    "before",
    "from_before_mm",
    "drill_mm",
    "depth_mm",
    "x_in",
    "y_in",
)


@dataclass(frozen=True)
class Hole:
    """One hole, seen from the front: right and up of the datum hole, and two straight distances as
    a check.
    """

    number: int  # from 1, rows from above, left to right; the datum is 1
    panel: str
    x: float
    y: float
    from_datum: float
    before: str  # the panel of the hole before this one in the list; "" for the datum
    from_before: float
    drill: float
    depth: float


def datum_panel(hung: Hung) -> str:
    """The panel of the datum hole: the topmost screw, the leftmost of those."""
    return min(hung.hangers, key=lambda h: (-round(h.y, 3), round(h.x, 3))).panel


def holes(hung: Hung, wall: WallType) -> tuple[Hole, ...]:
    """All holes, rows from above, left to right; the datum comes first."""
    datum = hung.by_panel[datum_panel(hung)]
    found: list[Hole] = []
    before = datum
    for number, hanger in enumerate(
        sorted(hung.hangers, key=lambda h: (-round(h.y, 3), round(h.x, 3))), 1
    ):
        found.append(
            Hole(
                number,
                hanger.panel,
                hanger.x - datum.x,
                hanger.y - datum.y,
                math.dist((hanger.x, hanger.y), (datum.x, datum.y)),
                before.panel if number > 1 else "",
                math.dist((hanger.x, hanger.y), (before.x, before.y)),
                wall.drill,
                wall.depth,
            )
        )
        before = hanger
    return tuple(found)


def hole_rows(table: tuple[Hole, ...]) -> tuple[tuple[str, ...], ...]:
    """Rows for `holes.csv`, the header first; X right and Y up of the datum hole, seen from the
    front.
    """
    rows = [
        (
            str(hole.number),
            hole.panel,
            fixed(hole.x),
            fixed(hole.y),
            fixed(hole.from_datum),
            hole.before,
            fixed(hole.from_before),
            fixed(hole.drill),
            fixed(hole.depth),
            fixed(inches(hole.x), 4),
            fixed(inches(hole.y), 4),
        )
        for hole in table
    ]
    return (HEADER, *rows)
