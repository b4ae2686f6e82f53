"""Distances and radii on the beam's paths, as the checks of a sheet measure them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from fab.outlines.contour import Arc, Contour, Outline

if TYPE_CHECKING:
    Shape = Any  # a shapely polygon

HEAT_TURN_DEG = 10.0  # cuts that run within this of each other count as parallel
CHORD_DEG = 30.0  # corners that turn by less are chords of a curve
FAR = math.inf  # nothing to measure


def lead_gaps(
    laid: Sequence[Shape], leads: Sequence[tuple[Shape, int]], within: float
) -> list[float]:
    """Distances nearer than `within`: lead-ins to cuts of other parts, and to each other."""
    import shapely

    if not leads:
        return []
    found = []
    lines, owners = [line for line, _ in leads], [owner for _, owner in leads]
    for others, whose in (([shape.boundary for shape in laid], range(len(laid))), (lines, owners)):
        tree = shapely.STRtree(others)
        for i, j in tree.query(lines, predicate="dwithin", distance=within).T:
            if owners[i] != whose[j]:
                found.append(float(lines[i].distance(others[j])))
    return found


def narrowest(outline: Outline) -> float:
    """Least distance between two contours of an outline; FAR without holes."""
    import shapely

    rings = [
        shapely.LinearRing(
            [
                seg.at(k / 16) if isinstance(seg, Arc) else seg.start
                for seg in contour.segments
                for k in (range(16) if isinstance(seg, Arc) else (0,))
            ]
        )
        for contour in outline.contours
    ]
    if len(rings) < 2:
        return FAR
    # each with its nearest: a grille has thousands of holes, and pairs without end
    _, gaps = shapely.STRtree(rings).query_nearest(rings, exclusive=True, return_distance=True)
    return float(gaps.min(initial=FAR))


def inner_radius(contour: Contour) -> float:
    """Smallest radius of a turn to the right (material lies left); 0 at a sharp corner, or FAR."""
    least = FAR
    segments = contour.segments
    for k, seg in enumerate(segments):
        if isinstance(seg, Arc) and seg.sweep_rad < 0:
            least = min(least, seg.radius_mm)
        (ux, uy), (vx, vy) = _heading(segments[k - 1], 1.0), _heading(seg, 0.0)
        turned = -math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)
        if turned > math.radians(CHORD_DEG):
            least = 0.0
        elif turned > math.radians(1.0):  # chords of a curve: the radius that their ends lie on
            least = min(
                least, min(segments[k - 1].length_mm, seg.length_mm) / (2 * math.tan(turned / 2))
            )
    return least


def _heading(seg: Any, at: float) -> tuple[float, float]:
    """Direction of a segment at its start (0) or end (1)."""
    if not isinstance(seg, Arc):
        return (seg.end[0] - seg.start[0], seg.end[1] - seg.start[1])
    x, y = seg.end if at else seg.start
    side = math.copysign(1.0, seg.sweep_rad)
    return (-(y - seg.centre[1]) * side, (x - seg.centre[0]) * side)


def part_gaps(laid: Sequence[Shape], within: float) -> list[float]:
    """Distances of all pairs of parts nearer than `within`."""
    import shapely

    if len(laid) < 2:
        return []
    tree = shapely.STRtree(laid)
    first, second = tree.query(laid, predicate="dwithin", distance=within)
    return [
        float(laid[i].distance(laid[j]))
        for i, j in zip(first.tolist(), second.tolist(), strict=True)
        if i < j
    ]


def parallel_gaps(laid: Sequence[Shape], within: float) -> list[float]:
    """Distances of straight cuts of different parts that run side by side nearer than `within`."""
    import numpy as np
    import shapely

    if len(laid) < 2:
        return []
    sides, owner = [], []
    for index, shape in enumerate(laid):
        points = np.asarray(shape.exterior.coords)
        long = np.linalg.norm(np.diff(points, axis=0), axis=1) > within
        sides += [shapely.LineString(points[k : k + 2]) for k in np.flatnonzero(long)]
        owner += [index] * int(long.sum())
    if not sides:
        return []
    first, second = shapely.STRtree(sides).query(sides, predicate="dwithin", distance=within)
    found = []
    for i, j in zip(first.tolist(), second.tolist(), strict=True):
        if owner[i] < owner[j] and _turn_deg(sides[i], sides[j]) < HEAT_TURN_DEG:
            found.append(float(sides[i].distance(sides[j])))
    return found


def _turn_deg(a: Any, b: Any) -> float:
    (ax, ay), (bx, by) = a.coords
    (cx, cy), (dx, dy) = b.coords
    ux, uy, vx, vy = bx - ax, by - ay, dx - cx, dy - cy
    return math.degrees(
        math.asin(min(abs(ux * vy - uy * vx) / (math.hypot(ux, uy) * math.hypot(vx, vy)), 1.0))
    )
