"""A measure of a board against its limit, and the words and distances that all of them use."""

from __future__ import annotations

from dataclasses import dataclass

from fab.checks.model import Bound, at_least, at_most
from fab.checks.remedy import SIZE, Turn
from fab.outlines.contour import Contour, Point, polygon
from fab.outlines.crossings import inside
from fab.outlines.distance import distance_mm
from fab.parts.board_source import BoardItem
from fab.units import fixed

PRACTICE = "common practice, no source"
DRAWN_MM = 0.02  # what drawing programs lose by rounding and by chords for arcs
GRID_MM = 2e-6  # places stand on a grid of 1e-6 mm
CLEAR_MM = 0.5  # tall parts keep this from floor and diffuser: solder, warp; common practice
NEAR_MM = 0.3  # and this from what stands beside them
# a socket may be turned out of its way by this; pins of 8 mm then end 0.14 mm aside
SOCKET_DEG = 1.0
HEIGHT_MM = 0.1  # axes of two sockets may differ by this in height; common practice
SWITCH_MM = 0.5  # plungers of one board may stand out of line by this
RING_MM = 0.8  # rim on which a board rests round a hole of it

LARGER = Turn(SIZE, 1.0)
DEEPER = Turn("depth", 0.5)
HIGHER = Turn("board.height", 0.1)


@dataclass(frozen=True)
class Finding:
    """One measure of a board against its limit."""

    id: str
    bound: Bound
    says: str
    hint: str = ""  # what to do when no single value cures
    turns: tuple[Turn, ...] = ()
    source: str = PRACTICE


def no_less(measured: float, limit: float, unit: str = "mm", slack: float = GRID_MM) -> Bound:
    """A minimum that may be missed by the rounding of places."""
    return at_least(measured, limit, unit, slack)


def no_more(measured: float, limit: float, unit: str = "mm", slack: float = GRID_MM) -> Bound:
    """A maximum that may be missed by the rounding of places."""
    return at_most(measured, limit, unit, slack)


def inwards(edge: Contour, point: Point) -> float:
    """From a point inside a contour to its line; negative outside."""
    gap = distance_mm(edge, point)
    return gap if inside(edge, point) else -gap


def off_part(part: BoardItem, point: Point) -> float:
    """From a point to a part's footprint; negative inside it."""
    return -inwards(polygon(part.corners), point)


def named(part: BoardItem) -> str:
    """The part's name, or its height in mm where it has none: the words of a verdict's subject."""
    return f"part {part.name}" if part.name else f"a part of {fixed(part.height)} mm"


def at(point: Point) -> str:
    """A place in the panel frame in words, mm to two decimals."""
    return f"x {fixed(point[0], 2)}, y {fixed(point[1], 2)} mm"
