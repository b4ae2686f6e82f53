"""Values of the room: objects to print, how they lie on plates, what a print uses up.

Bed frame: X right, Y up as seen from above, origin at the bed's front left corner, millimetres.
Words:
    item       one kind of printed object with its count, in print orientation
    box        sizes of its bounding box (x, y, z); `low` is the box's least corner (x, y) in the
               object's own frame
    footprint  what it covers of the bed: a polygon inside the box, measured from `low`
    margin     kept free along the bed's edge;  gap: kept free between two objects
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby

from fab.errors import BrokenGeometry
from fab.outlines.contour import Point
from fab.units import JOIN_TOL_MM

Size = tuple[float, float, float]


@dataclass(frozen=True)
class Item:
    """One kind of printed object: `name` names the object ("base-plain"), `part` what it is
    ("base").
    """

    name: str
    part: str
    box: Size
    count: int = 1
    footprint: tuple[Point, ...] | None = (
        None  # corners measured from the box's least corner; left out: the box
    )
    low: Point = (0.0, 0.0)

    def __post_init__(self) -> None:
        if not all(0.0 < side < math.inf for side in self.box):
            raise BrokenGeometry(f"{self.name}: a box of {self.box} mm can't be printed")
        if self.count < 0:
            raise BrokenGeometry(f"{self.name}: a count of {self.count} can't be printed")
        for x, y in self.footprint or ():
            if not (
                -JOIN_TOL_MM <= x <= self.box[0] + JOIN_TOL_MM
                and -JOIN_TOL_MM <= y <= self.box[1] + JOIN_TOL_MM
            ):
                raise BrokenGeometry(
                    f"{self.name}: its footprint leaves its box at ({x:.3f}, {y:.3f})"
                )


@dataclass(frozen=True)
class Placement:
    """One object on the bed. (x, y) is the least corner of its box after the turn."""

    name: str
    part: str
    x: float
    y: float
    turn_deg: int  # 0, 90, 180 or 270, anticlockwise
    box: Size  # as the item says, before the turn
    low: Point = (0.0, 0.0)

    @property
    def size(self) -> Point:
        """Width and depth on the bed."""
        return (self.box[1], self.box[0]) if self.turn_deg % 180 else (self.box[0], self.box[1])

    @property
    def shift(self) -> Point:
        """What is added to a point of the object after it was turned about the object's own
        origin.
        """
        x, y = quarter_turned(self.low, self.turn_deg)
        wide, deep = self.size
        least = {0: (x, y), 90: (x - wide, y), 180: (x - wide, y - deep), 270: (x, y - deep)}[
            self.turn_deg
        ]
        return (self.x - least[0], self.y - least[1])

    def on_bed(self, point: Point) -> Point:
        """A point of the object's own frame on the bed."""
        x, y = quarter_turned(point, self.turn_deg)
        return (x + self.shift[0], y + self.shift[1])


@dataclass(frozen=True)
class Plate:
    """One run of the printer."""

    number: int  # from 1
    bed: Point
    placements: tuple[Placement, ...]

    @cached_property
    def counts(self) -> tuple[tuple[str, int], ...]:
        """Object name to how many of it lie here, by name."""
        names = sorted(placed.name for placed in self.placements)
        return tuple((name, len(list(alike))) for name, alike in groupby(names))

    @property
    def height(self) -> float:
        """Of the tallest object."""
        return max(placed.box[2] for placed in self.placements)


def quarter_turned(point: Point, turn_deg: int) -> Point:
    """Turned about the origin by whole quarters, without rounding."""
    x, y = point
    return {0: (x, y), 90: (-y, x), 180: (-x, -y), 270: (y, -x)}[turn_deg % 360]
