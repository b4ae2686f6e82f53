"""A contour as plain numbers and back: corners (x, y) or (x, y, bulge), rounded so that a file
holds them exactly.

The bulge stands with the corner that its arc starts from: tan(sweep / 4), positive anticlockwise.
Two corners of bulge 1 are a circle. `corners_of` always starts at the same corner of a shape and
runs anticlockwise, so equal shapes are equal numbers wherever they came from: drawn here, or read
from a file that was written from them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from fab.errors import BrokenGeometry
from fab.outlines.contour import Arc, Contour, Line, Point, Segment, circle

Corners = tuple[tuple[float, ...], ...]
PLACES = 6  # decimals of a coordinate, as in our DXF
BULGE_PLACES = 9


def corners_of(contour: Contour) -> Corners:
    """The contour's corners, anticlockwise, from the least (x, y) that a straight segment
    leads to.
    """
    if contour.is_hole:
        contour = contour.reversed()
    whole = contour.circle()
    if whole is not None:
        return circle_corners(*whole)
    starts = [(_on_grid(seg.start), _bulge(seg)) for seg in contour.segments]
    straight = [k for k in range(len(starts)) if starts[k - 1][1] == 0.0]
    first = min(straight or range(len(starts)), key=lambda k: starts[k][0])
    ordered = starts[first:] + starts[:first]
    return tuple((*point, bulge) if bulge else point for point, bulge in ordered)


def circle_corners(centre: Point, radius_mm: float) -> Corners:
    """A circle as two corners."""
    (x, y), r = _on_grid(centre), round(radius_mm, PLACES)
    return ((round(x + r, PLACES) + 0.0, y, 1.0), (round(x - r, PLACES) + 0.0, y, 1.0))


def contour_of(corners: Sequence[Sequence[float]]) -> Contour:
    """The closed contour through corners. Raises BrokenGeometry when they make none."""
    if len(corners) < 2:
        raise BrokenGeometry(f"a closed curve needs two corners, got {len(corners)}")
    if len(corners) == 2 and all(len(corner) == 3 and abs(corner[2]) == 1.0 for corner in corners):
        (ax, ay, _), (bx, by, _) = corners
        centre = (round((ax + bx) / 2, PLACES) + 0.0, round((ay + by) / 2, PLACES) + 0.0)
        return circle(centre, round(math.dist((ax, ay), (bx, by)) / 2, PLACES))
    segments: list[Segment] = []
    for k, corner in enumerate(corners):
        there = corners[(k + 1) % len(corners)]
        a, b = (corner[0], corner[1]), (there[0], there[1])
        bulge = corner[2] if len(corner) == 3 else 0.0
        if a != b:
            segments += _arcs(a, b, bulge) if bulge else [Line(a, b)]
    return Contour(tuple(segments))


def _arcs(a: Point, b: Point, bulge: float) -> list[Segment]:
    """The arc from a to b."""
    sweep = 4 * math.atan(bulge)
    # of the centre over the chord, as a share of the chord
    rise = (1 - bulge * bulge) / (4 * bulge)
    centre = ((a[0] + b[0]) / 2 - (b[1] - a[1]) * rise, (a[1] + b[1]) / 2 + (b[0] - a[0]) * rise)
    return [Arc(a, centre, max(-math.pi, min(math.pi, sweep)))]


def _bulge(seg: Segment) -> float:
    return round(seg.bulge, BULGE_PLACES) if isinstance(seg, Arc) else 0.0


def _on_grid(point: Point) -> Point:
    return (round(point[0], PLACES) + 0.0, round(point[1], PLACES) + 0.0)
