"""Filled flat shapes: cut at a boundary, put together.

Faceted, by a general geometry library.

region    one or several filled areas with holes, as the library's valid polygons, mm, y up

A region is even-odd filled: what lies inside an odd number of its closed curves.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any, TypeAlias

from fab.outlines.buffers import buffered
from fab.outlines.contour import Contour, Outline, Point, polygon
from fab.outlines.curves import contour_of
from fab.outlines.facets import facets
from fab.units import FLAT_TOL_MM

if TYPE_CHECKING:
    from shapely.geometry import Polygon
    from shapely.geometry.base import BaseGeometry

    Region: TypeAlias = BaseGeometry
else:
    Region = Polygon = Any

LEAST_MM2 = 1e-4  # crumbs smaller than this are noise of the arithmetic
GRID_MM = 1e-4  # points of a region stand on this grid: nothing smaller can be cut
FEW_RINGS = 60  # up to here rings are added up one by one


def region_of(
    curves: Iterable[Sequence[Sequence[float]]], tol_mm: float = FLAT_TOL_MM / 2
) -> Region:
    """The even-odd region of closed curves given as corners (x, y) or (x, y, bulge); arcs become
    chords.
    """
    found = [facets(contour_of(curve), tol_mm, outside=False) for curve in curves]
    return even_odd(found) if len(found) <= FEW_RINGS else odd(found)[0]


def even_odd(rings: Iterable[Sequence[Point]]) -> Region:
    """The region inside an odd number of rings; rings may cross themselves and each other."""
    import shapely

    whole = shapely.Polygon()
    for ring in rings:
        if len(ring) >= 3:
            whole = whole.symmetric_difference(shapely.make_valid(shapely.Polygon(ring)))
    return tidy(whole)


def odd(rings: Sequence[Sequence[Point]]) -> tuple[Region, int]:
    """The region inside an odd number of rings, by the faces that they cut the plane into, and how
    many rings cross.

    For many rings; `even_odd` adds up few of them exactly.
    """
    import shapely

    plain = [shapely.Polygon(ring) for ring in rings if len(ring) >= 3]
    if not plain:
        return shapely.Polygon(), 0
    valid = shapely.is_valid(plain)
    noded = shapely.unary_union([part.exterior for part in plain])
    faces = shapely.get_parts(shapely.polygonize([noded]))
    crossed, _ = _round(rings, shapely.get_coordinates(shapely.point_on_surface(faces)))
    kept = faces[crossed % 2 == 1]
    crossing = int((~valid).sum()) + _crossings(
        [part for part, good in zip(plain, valid, strict=True) if good]
    )
    return (tidy(shapely.unary_union(kept)) if len(kept) else shapely.Polygon()), crossing


def _crossings(areas: Sequence[Polygon]) -> int:
    """Pairs of rings whose lines cross."""
    import shapely

    lines = [area.exterior for area in areas]
    pairs = shapely.STRtree(lines).query(lines, predicate="crosses").T if lines else ()
    return sum(1 for a, b in pairs if a < b)


def nonzero(rings: Sequence[Sequence[Point]]) -> Region:
    """The region that rings go round, whichever way: the fill rule of letters and, unless told
    otherwise, of SVG.
    """
    import shapely

    closed = [shapely.LinearRing(ring) for ring in rings if len(ring) >= 3]
    if not closed:
        return shapely.Polygon()
    noded = shapely.unary_union(closed)
    faces = shapely.get_parts(shapely.polygonize([noded]))
    _, turns = _round(rings, shapely.get_coordinates(shapely.point_on_surface(faces)))
    kept = faces[turns != 0]
    return tidy(shapely.unary_union(kept)) if len(kept) else shapely.Polygon()


def _round(rings: Sequence[Sequence[Point]], spots: Any) -> tuple[Any, Any]:
    """Crossings of the ray from each spot to +X with the rings, and the winding number of the rings
    round it.
    """
    import numpy as np

    real = [np.asarray(ring, dtype=float) for ring in rings if len(ring) >= 3]
    (ax, ay), (bx, by) = (
        np.concatenate(real).T,
        np.concatenate([np.roll(ring, -1, axis=0) for ring in real]).T,
    )
    # level edges never count as hit below: any divisor does for them
    rise = np.where(by == ay, 1.0, by - ay)
    crossed, turns = np.zeros(len(spots), dtype=int), np.zeros(len(spots), dtype=int)
    for k, (x, y) in enumerate(spots):
        # half-open: a corner on the ray belongs to one of its two edges, so it counts once
        hit = ((ay <= y) != (by <= y)) & (ax + (bx - ax) * (y - ay) / rise > x)
        crossed[k], turns[k] = hit.sum(), np.where(by[hit] > ay[hit], 1, -1).sum()
    return crossed, turns


def of_outline(outline: Outline | Contour, tol_mm: float = FLAT_TOL_MM / 2) -> Region:
    """The region of one of our outlines, its facets inside the true curves."""
    import shapely

    outline = outline if isinstance(outline, Outline) else Outline(outline)
    shell = facets(outline.edge, tol_mm, outside=False)
    return shapely.Polygon(shell, [facets(hole, tol_mm, outside=False) for hole in outline.holes])


def tidy(region: Region) -> Region:
    """The areas of a region alone, on the grid, in a fixed order; lines, points and crumbs are left
    out.
    """
    import shapely

    snapped = shapely.set_precision(region, GRID_MM)
    kept = [part for part in polygons(snapped) if part.area > LEAST_MM2]
    # the library gives no promise on the order of parts; files must not depend on it
    kept.sort(key=lambda part: part.bounds)
    return shapely.normalize(shapely.MultiPolygon(kept))


def polygons(region: Region) -> list[Polygon]:
    """The single areas of a region."""
    if region.geom_type == "Polygon":
        return [] if region.is_empty else [region]
    return [part for each in getattr(region, "geoms", ()) for part in polygons(each)]


def moved(
    region: Region, dx: float, dy: float, turn_rad: float = 0.0, scale: float = 1.0
) -> Region:
    """Scaled and turned about the origin, then moved."""
    from shapely.affinity import affine_transform

    cos, sin = math.cos(turn_rad) * scale, math.sin(turn_rad) * scale
    return affine_transform(region, [cos, -sin, sin, cos, dx, dy])


def mirrored(region: Region) -> Region:
    """Left to right about x = 0."""
    from shapely.affinity import affine_transform

    return affine_transform(region, [-1.0, 0.0, 0.0, 1.0, 0.0, 0.0])


def clipped(region: Region, boundary: Region) -> Region:
    """The part of a region inside a boundary."""
    return tidy(region.intersection(boundary))


def opened(region: Region, width_mm: float) -> Region:
    """The region without what is narrower than `width_mm`; corners stay sharp."""
    half = width_mm / 2
    # mitred both ways: round joints would come back as rounded corners
    inner = buffered(region, -half, join_style="mitre", mitre_limit=5.0)
    return tidy(buffered(inner, half, join_style="mitre", mitre_limit=5.0).intersection(region))


def outlines(region: Region) -> tuple[Outline, ...]:
    """The region as outlines of straight lines, edge anticlockwise."""
    return tuple(
        Outline(_ring(part.exterior), tuple(_ring(hole) for hole in part.interiors))
        for part in polygons(region)
    )


def rings(region: Region) -> tuple[tuple[Point, ...], ...]:
    """Every closed line of a region as points, the first one not repeated."""
    return tuple(
        tuple((float(x), float(y)) for x, y in line.coords[:-1])
        for part in polygons(region)
        for line in (part.exterior, *part.interiors)
    )


def _ring(line: Any) -> Contour:
    return polygon([(float(x), float(y)) for x, y in line.coords[:-1]])
