"""Facets: a contour as straight chords, for collision tests and for formats without arcs.

The material lies on the left of every contour (anticlockwise edge, clockwise hole). `outside=True`
puts the facets on the right of the true curve, so that the polygon holds all of the material: an
edge never shrinks, a hole never grows. `outside=False` puts them on the left: the polygon lies
inside the material.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from fab.errors import BrokenGeometry
from fab.outlines.contour import Arc, Contour, Outline, Point
from fab.units import FLAT_TOL_MM, JOIN_TOL_MM

if TYPE_CHECKING:
    from shapely.geometry import Polygon
else:
    Polygon = Any


def facets(contour: Contour, tol_mm: float = FLAT_TOL_MM, *, outside: bool) -> tuple[Point, ...]:
    """Corners of a polygon that strays at most `tol_mm` from the contour, all on one side of it.

    Straight segments are kept as they are. Not closed: the first corner is not repeated.
    """
    if tol_mm <= 0:
        raise BrokenGeometry(
            f"a facet tolerance of {tol_mm:g} mm is not possible; it must be over 0"
        )
    corners: list[Point] = []
    for seg in contour.segments:
        corners.append(seg.start)
        if isinstance(seg, Arc):
            corners.extend(
                _tangents(seg, tol_mm) if (seg.sweep_rad > 0) == outside else _chords(seg, tol_mm)
            )
    return tuple(corners)


def to_shapely(outline: Outline, tol_mm: float = FLAT_TOL_MM, *, outside: bool = True) -> Polygon:
    """The outline as a shapely polygon whose facets all lie on one side of the true curves."""
    from shapely.geometry import Polygon as ShapelyPolygon

    rings = [facets(hole, tol_mm, outside=outside) for hole in outline.holes]
    return ShapelyPolygon(facets(outline.edge, tol_mm, outside=outside), rings)


def _steps(arc: Arc, step_rad: float) -> int:
    """Even, so that the middle of the arc is always touched; a step stays under a quarter turn."""
    return max(2, 2 * math.ceil(abs(arc.sweep_rad) / (2 * step_rad) - 1e-9))


def _chords(arc: Arc, tol_mm: float) -> list[Point]:
    """Points on the arc between its ends; sagitta r (1 - cos(a/2)) <= tol."""
    bend = max(1.0 - tol_mm / arc.radius_mm, 0.0)
    count = _steps(arc, min(2 * math.acos(bend), math.pi / 2))
    return [arc.at(k / count) for k in range(1, count)]


def _tangents(arc: Arc, tol_mm: float) -> list[Point]:
    """Points where neighbouring tangents meet; they stand off by r (1 / cos(a/2) - 1) <= tol."""
    radius = arc.radius_mm
    count = _steps(arc, min(2 * math.acos(radius / (radius + tol_mm)), math.pi / 2))
    half = arc.sweep_rad / (2 * count)
    reach = 1.0 / math.cos(half)
    dx, dy = (arc.start[0] - arc.centre[0]) * reach, (arc.start[1] - arc.centre[1]) * reach
    cx, cy = arc.centre
    points = []
    for k in range(count):
        cos, sin = math.cos((2 * k + 1) * half), math.sin((2 * k + 1) * half)
        points.append((cx + (dx * cos - dy * sin), cy + (dx * sin + dy * cos)))
    return points


def without_repeats(points: tuple[Point, ...]) -> tuple[Point, ...]:
    """The same loop without points that fall on their predecessor."""
    kept: list[Point] = []
    for point in points:
        if not kept or math.dist(kept[-1], point) > JOIN_TOL_MM:
            kept.append(point)
    while len(kept) > 1 and math.dist(kept[0], kept[-1]) <= JOIN_TOL_MM:
        kept.pop()
    return tuple(kept)
