"""Values of the room: objects to print, how they lie on plates, what a print uses up.

Bed frame: X right, Y up as seen from above, origin at the bed's front left corner, mm. Words:
    item       one kind of printed object with its count, in print orientation
    box        sizes of its bounding box (x, y, z); `low` is the box's least corner
               (x, y) in the object's own frame
    footprint  what it covers of the bed: a polygon inside the box, measured from `low`
    margin     kept free along the bed's edge;  gap: kept free between two objects
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby

from fab.errors import BrokenGeometry
from fab.outlines.contour import Box, Point, around, turn
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
    # corners measured from the box's least corner; left out: the box
    footprint: tuple[Point, ...] | None = None
    low: Point = (0.0, 0.0)

    def __post_init__(self) -> None:
        if not all(0.0 < side < math.inf for side in self.box):
            raise BrokenGeometry(f"{self.name}: a box of {self.box} mm cannot be printed")
        if self.count < 0:
            raise BrokenGeometry(f"{self.name}: a count of {self.count} cannot be printed")
        for x, y in self.footprint or ():
            if not (
                -JOIN_TOL_MM <= x <= self.box[0] + JOIN_TOL_MM
                and -JOIN_TOL_MM <= y <= self.box[1] + JOIN_TOL_MM
            ):
                raise BrokenGeometry(
                    f"{self.name}: its footprint is outside its box at ({x:.3f}, {y:.3f})"
                )


@dataclass(frozen=True)
class Placement:
    """One object on the bed. (x, y) is the least corner of what it covers after the turn."""

    name: str
    part: str
    x: float
    y: float
    turn_deg: float  # counter-clockwise
    box: Size  # as the item says, before the turn
    low: Point = (0.0, 0.0)
    # what it covers, its box's least corner at (0, 0), before the turn; left out: the box
    corners: tuple[Point, ...] | None = None

    @cached_property
    def reach(self) -> Box:
        """Least and most of what it covers, turned about the object's own origin."""
        wide, deep = self.box[:2]
        box = ((0.0, 0.0), (wide, 0.0), (wide, deep), (0.0, deep))
        quarter = self.corners is None or not self.turn_deg % 90.0
        return around(
            turned((x + self.low[0], y + self.low[1]), self.turn_deg)
            for x, y in (box if quarter else self.corners or box)
        )

    @property
    def size(self) -> Point:
        """Width and depth on the bed."""
        if not self.turn_deg % 90.0:
            wide, deep = self.box[:2]
            return (deep, wide) if self.turn_deg % 180.0 else (wide, deep)
        return (self.reach[2] - self.reach[0], self.reach[3] - self.reach[1])

    @property
    def shift(self) -> Point:
        """The vector that is added to a point of the object, turned about the object's own origin
        before.
        """
        return (self.x - self.reach[0], self.y - self.reach[1])

    def on_bed(self, point: Point) -> Point:
        """A point of the object's own frame on the bed."""
        x, y = turned(point, self.turn_deg)
        return (x + self.shift[0], y + self.shift[1])


@dataclass(frozen=True)
class Plate:
    """One run of the printer."""

    number: int  # from 1
    bed: Point
    placements: tuple[Placement, ...]
    roll: str = ""  # of filament; "" for the shop's

    @cached_property
    def counts(self) -> tuple[tuple[str, int], ...]:
        """Object name to how many of it lie here, by name."""
        names = sorted(placed.name for placed in self.placements)
        return tuple((name, len(list(alike))) for name, alike in groupby(names))

    @property
    def height(self) -> float:
        """Of the tallest object."""
        return max(placed.box[2] for placed in self.placements)


def turned(point: Point, turn_deg: float) -> Point:
    """Turned about the origin; by whole quarters without rounding."""
    x, y = point
    exact = {0.0: (x, y), 90.0: (-y, x), 180.0: (-x, -y), 270.0: (y, -x)}.get(turn_deg % 360.0)
    return turn(point, math.radians(turn_deg)) if exact is None else exact
