"""Values of the room: pieces to cut, sheets to cut them from, where each copy lies.

Sheet frame: X right, Y up, origin at the lower left corner of the sheet's bounding box,
millimetres. Words:
    piece     one kind of flat part with its count; its outline is nominal, as the part should
              measure
    cut path  the outline grown by half a kerf: where the beam's middle runs
    gap       least distance between the cut paths of two pieces
    margin    least distance of a cut path from the sheet's edge, its holes and bad spots
    layup     one sheet with the copies that lie on it
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from fab.errors import BrokenGeometry
from fab.outlines.contour import Outline, Point

Turns = Literal["symmetry", "free", "quarter", "half", "none"]


@dataclass(frozen=True)
class Piece:
    """One kind of part and how often it is wanted.

    `turns` says which turns the nest may use: "symmetry" those that suit the outline's own
    symmetry, "free" any, "quarter" and "half" multiples of 90 and 180 degrees, "none" only as
    drawn. Grain of the sheet narrows all of them to half turns. `marks` are engraved polylines in
    the piece's frame.
    """

    name: str
    outline: Outline
    count: int
    stock: str = ""
    turns: Turns = "symmetry"
    marks: tuple[tuple[Point, ...], ...] = ()
    # lines round areas that the laser engraves, in the piece's frame
    engraved: tuple[tuple[Point, ...], ...] = ()

    def __post_init__(self) -> None:
        if self.count < 0:
            raise BrokenGeometry(f"{self.name}: a count of {self.count} cannot be cut")


@dataclass(frozen=True)
class Sheet:
    """`count` equal sheets or offcuts of one stock."""

    stock: str
    name: str
    outline: tuple[Point, ...]  # corners in order
    holes: tuple[tuple[Point, ...], ...] = ()  # holes and bad spots
    margin: float = 0.0
    count: int = 1
    price: float = 0.0  # of one; offcuts are paid for and cost nothing
    grain: bool = False
    offcut: bool = False

    @cached_property
    def width(self) -> float:
        """Greatest x of the outline, mm: its lower left corner lies at the origin."""
        return max(x for x, _ in self.outline)

    @cached_property
    def height(self) -> float:
        """Greatest y of the outline, mm."""
        return max(y for _, y in self.outline)

    @cached_property
    def is_rectangle(self) -> bool:
        """Upright, without holes."""
        corners = {(0.0, 0.0), (self.width, 0.0), (self.width, self.height), (0.0, self.height)}
        return not self.holes and len(self.outline) == 4 and set(self.outline) == corners

    @cached_property
    def area(self) -> float:
        """Material in one sheet, mm2."""
        return abs(ring_area(self.outline)) - math.fsum(abs(ring_area(hole)) for hole in self.holes)


@dataclass(frozen=True)
class Placed:
    """One copy: its outline turned about its own origin by `turn_deg`, then moved by (x, y)."""

    piece: str
    copy: int  # counts from 1 through the whole nest
    x: float
    y: float
    turn_deg: float

    def outline(self, of: Outline) -> Outline:
        """`of`, given in the piece's frame, in the sheet frame."""
        turned = of if self.turn_deg == 0 else of.turned(math.radians(self.turn_deg))
        return turned.moved(self.x, self.y)

    def point(self, at: Point) -> Point:
        """A point of the piece's frame in the sheet frame."""
        cos, sin = math.cos(math.radians(self.turn_deg)), math.sin(math.radians(self.turn_deg))
        return (self.x + at[0] * cos - at[1] * sin, self.y + at[0] * sin + at[1] * cos)


@dataclass(frozen=True)
class Layup:
    """One sheet with the copies that lie on it."""

    sheet: Sheet
    placed: tuple[Placed, ...]
    used_area: float  # inside the cut paths, mm2
    bound: int | None  # no nest gets more copies on this sheet; None where pieces are mixed

    @property
    def utilisation(self) -> float:
        """Share of the sheet's own area that parts cover, holes not counted as used."""
        return self.used_area / self.sheet.area

    @cached_property
    def counts(self) -> Mapping[str, int]:
        """Piece name to number of copies, sorted by name."""
        found: dict[str, int] = {}
        for item in self.placed:
            found[item.piece] = found.get(item.piece, 0) + 1
        return dict(sorted(found.items()))


@dataclass(frozen=True)
class Nest:
    """The whole answer."""

    layups: tuple[Layup, ...]
    missing: Mapping[str, int]  # piece name to copies that found no sheet
    cost: float
    lower_bound_sheets: int  # no nest needs fewer of these sheets
    lower_bound_cost: float
    bound_by: str  # which argument gives the bound
    engine: str  # which method the result came from
    inputs_sha256: str
    seconds: float = 0.0  # search time asked for, not the clock
    seed: int = 1
    kept: bool = False  # found by an earlier run

    @property
    def used_area(self) -> float:
        """Area of all parts on all sheets, mm2."""
        return math.fsum(layup.used_area for layup in self.layups)

    @property
    def utilisation(self) -> float:
        """Share of all used sheets that becomes parts."""
        total = math.fsum(layup.sheet.area for layup in self.layups)
        return self.used_area / total if total else 0.0


def ring_area(ring: tuple[Point, ...]) -> float:
    """Signed area of a polygon, positive anticlockwise."""
    return (
        math.fsum(
            x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(ring, (*ring[1:], ring[0]), strict=True)
        )
        / 2
    )
