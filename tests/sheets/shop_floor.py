"""Pieces and sheets that the tests of this room share."""

from __future__ import annotations

import math

from fab.outlines.contour import Outline, Point, circle, polygon
from fab.outlines.shapes import rectangle, regular
from fab.sheets.model import Piece, Sheet, Turns

GAP, KERF = 2.0, 0.18


def panel(
    sides: int,
    across: float,
    count: int,
    radius: float = 0.0,
    turns: Turns = "symmetry",
    name: str = "part",
) -> Piece:
    """A regular polygon by twice its centre-to-flat."""
    return Piece(name, Outline(regular(sides, across / 2, radius)), count, "opal", turns)


def triangle(edge: float, count: int) -> Piece:
    """An equilateral triangle by its edge."""
    return panel(3, edge / math.sqrt(3), count)


def ring(count: int, outer: float = 60.0, inner: float = 45.0) -> Piece:
    return Piece("ring", Outline(circle((0, 0), outer), (circle((0, 0), inner),)), count, "opal")


def disc(count: int, radius: float = 20.0) -> Piece:
    return Piece("disc", Outline(circle((0, 0), radius)), count, "opal")


def angle(count: int, arm: float = 90.0, wide: float = 25.0) -> Piece:
    corners = [(0, 0), (arm, 0), (arm, wide), (wide, wide), (wide, arm), (0, arm)]
    return Piece("angle", Outline(polygon(corners)), count, "opal", "quarter")


def coupon(count: int) -> Piece:
    holes = (circle((20, 0), 3), circle((-20, 0), 3))
    return Piece("coupon", Outline(rectangle(80, 20, radius_mm=2), holes), count, "opal", "quarter")


def sheet(
    width: float = 600.0,
    height: float = 400.0,
    margin: float = 5.0,
    count: int = 50,
    price: float = 14.0,
    name: str = "opal",
    grain: bool = False,
) -> Sheet:
    return Sheet("opal", name, box(width, height), (), margin, count, price, grain)


def box(width: float, height: float) -> tuple[Point, ...]:
    return ((0.0, 0.0), (width, 0.0), (width, height), (0.0, height))


def offcut(
    outline: tuple[Point, ...],
    holes: tuple[tuple[Point, ...], ...] = (),
    margin: float = 5.0,
    name: str = "rest-1",
    count: int = 1,
) -> Sheet:
    return Sheet("opal", name, outline, holes, margin, count, 0.0, False, True)
