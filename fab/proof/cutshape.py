"""Parts of a cut drawing as polygons, and how far two shapes are apart at most.

Lead-ins are taken off and tabs bridged, so that what remains is what the beam frees.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from fab.proof.job import JobValues
from fab.proof.paths import CutPath

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry


def layers(job: JobValues) -> dict[str, str]:
    """Operation to the name of its layer."""
    usual = {"mark": "MARK", "inner": "CUT-INNER", "outer": "CUT-OUTER"}
    return {word: job.shop.at(f"laser.{word}.layer") or name for word, name in usual.items()}


def shapes(
    paths: Sequence[CutPath], job: JobValues, kerf: float
) -> tuple[list[BaseGeometry], list[CutPath]]:
    """Parts of a drawing as polygons with holes, lead-ins taken off and tabs bridged; and edges
    that never close.
    """
    import shapely
    from shapely.ops import polygonize, unary_union

    names = layers(job)
    outer = [one for one in paths if one.layer == names["outer"]]
    inner = [one for one in paths if one.layer == names["inner"]]
    closed, loose = [], []
    for one in outer:
        ring = _ring(one)
        if ring is not None:
            closed.append(ring)
        else:
            loose.append(one)
    tab = float(job.shop.at("laser.tab", 0.0) or 0.0)
    if loose and (tab > 0 or job.shop.at("laser.common_line", False)):
        lines = [shapely.LineString(one.points) for one in loose]
        ends = [
            (shapely.Point(p), k)
            for k, one in enumerate(loose)
            for p in (one.points[0], one.points[-1])
        ]
        bridges = [
            shapely.LineString([a, b])
            for i, (a, _) in enumerate(ends)
            for b, _ in ends[i + 1 :]
            if 1e-6 < a.distance(b) <= tab + kerf + 0.05
        ]
        faces = list(polygonize(unary_union([*lines, *bridges])))
        closed += [shapely.Polygon(face.exterior) for face in faces if face.buffer(-1.0).area > 0]
        loose = []
    tree = shapely.STRtree(closed)
    holes: dict[int, list[BaseGeometry]] = {}
    for one in inner:
        ring = _ring(one)
        if ring is None:
            loose.append(one)
            continue
        owner = min(
            (int(k) for k in tree.query(ring, predicate="within")),
            key=lambda k: closed[k].area,
            default=None,
        )
        if owner is not None:
            holes.setdefault(owner, []).append(ring.exterior)
    return [shapely.Polygon(one.exterior, holes.get(k, ())) for k, one in enumerate(closed)], loose


def _ring(one: CutPath) -> BaseGeometry:
    """The closed part of a path, a lead-in before it taken off; None when it is open."""
    import shapely

    points = one.points
    if (
        not one.closed
        and len(one.segments) > 2
        and math.dist(one.segments[1][:2], points[-1]) <= 0.002
    ):
        points = points[1:]
    elif not one.closed:
        return None
    return shapely.Polygon(points) if len(points) > 3 else None


def nearest(
    shape: BaseGeometry, nominal: dict[str, BaseGeometry], name: str = ""
) -> tuple[str, float]:
    """The nominal part that a shape comes nearest to, and by how much its edge is off (mm)."""
    best = ("", math.inf)
    for item, wanted in nominal.items():
        if name and item != name and name in nominal:
            continue
        off = distance(shape, wanted)
        if off < best[1]:
            best = (item, off)
    return best


def fits(a: BaseGeometry, b: BaseGeometry, within: float) -> bool:
    """True when no point of either edge is further than `within` mm from the other edge."""
    return distance(a, b) <= within


def distance(a: BaseGeometry, b: BaseGeometry) -> float:
    """The largest distance between two shapes when one is turned and moved (never mirrored) onto
    the other.
    """
    from shapely import affinity

    if a.is_empty or b.is_empty or a.geom_type != "Polygon" or len(a.interiors) != len(b.interiors):
        return math.inf
    here, there = a.exterior.centroid, b.exterior.centroid
    a = affinity.translate(a, -here.x, -here.y)
    b = affinity.translate(b, -there.x, -there.y)
    longest = max(_straight(a), key=lambda edge: edge[0])
    turns = {
        0.0,
        *(round(longest[1] - way, 7) for size, way in _straight(b) if abs(size - longest[0]) < 0.1),
    }
    best = math.inf
    for turn in turns:
        turned = affinity.rotate(b, turn, origin=(0, 0), use_radians=True)
        best = min(best, a.boundary.hausdorff_distance(turned.boundary))
        if best < 1e-3:
            break
    return best


def _straight(shape: BaseGeometry) -> list[tuple[float, float]]:
    """Length and direction of each edge of a polygon, counter-clockwise."""
    from shapely.geometry.polygon import orient

    points = list(orient(shape).exterior.coords)
    return [
        (math.dist(p, q), math.atan2(q[1] - p[1], q[0] - p[0]))
        for p, q in itertools.pairwise(points)
    ]
