"""Stencils: a region cut through a sheet, its islands held by bridges.

island    a piece of the sheet inside a cut-out that nothing holds: it would fall out with the waste
bridge    a strip of the sheet that is left standing across a cut-out, from an island to what holds
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from fab.outlines.clip2d import Region, polygons, tidy
from fab.outlines.contour import Point

if TYPE_CHECKING:
    from shapely.geometry import Polygon
else:
    Polygon = Any

MOST_BRIDGES = 2_000
# a bridge ends where a disc of a hair more than its width fits between the cut-outs
FIRM_SHARE = 0.55


@dataclass(frozen=True)
class Island:
    """A piece that would have fallen out, and the bridges that hold it."""

    area_mm2: float
    at: Point
    bridges: tuple[tuple[Point, Point], ...]  # middle lines, from the island to what holds it


@dataclass(frozen=True, eq=False)
class Stencil:
    """A region that may be cut through a sheet without anything but waste falling out."""

    cut: Region
    islands: tuple[Island, ...]
    loose: tuple[Polygon, ...]  # islands that no bridge could hold


def stencil(sheet: Region, region: Region, bridge_mm: float, per_island: int = 2) -> Stencil:
    """The region to cut out of `sheet` for `region`, with bridges left to every island.

    The largest piece of the sheet that is left holds; each island gets `per_island` bridges to what
    holds or is held already, the shortest first, the next ones as far round the island as they can
    be, all of them clear of each other where there is room.
    """
    import shapely

    holding, loose = _pieces(sheet, region)
    held: list[Polygon] = [holding]
    islands: list[Island] = []
    strips: list[Polygon] = []
    while loose and len(strips) < MOST_BRIDGES:
        there = shapely.unary_union(held)
        island = min(loose, key=lambda part: (round(part.distance(there), 6), part.bounds))
        lines = _lines(island, there, bridge_mm, per_island, shapely.unary_union(strips), region)
        strips += [_strip(a, b, bridge_mm, region) for a, b in lines]
        point = island.representative_point()
        islands.append(Island(float(island.area), (float(point.x), float(point.y)), tuple(lines)))
        loose.remove(island)
        held.append(island)
    cut = tidy(region.difference(shapely.unary_union(strips))) if strips else tidy(region)
    return Stencil(cut, tuple(islands), tuple(_pieces(sheet, cut)[1]))


def _pieces(sheet: Region, cut: Region) -> tuple[Polygon, list[Polygon]]:
    """The piece that holds and those that would fall out."""
    left = polygons(tidy(sheet.difference(cut)))
    holding = max(left, key=lambda part: (part.area, part.bounds))
    return holding, [part for part in left if part is not holding]


Spot = tuple[float, int, Point, Point]  # length, place along the island's edge, from, to


def _lines(
    island: Polygon, there: Region, bridge_mm: float, wanted: int, strips: Region, cut: Region
) -> list[tuple[Point, Point]]:
    """Middle lines of bridges: the shortest, then others as far along the island's edge as they can
    be.

    Places where a bridge stands on the sheet with its whole width, clear of other bridges, come
    first.
    """
    import shapely

    edge = island.exterior
    steps = max(24, min(240, round(edge.length / max(bridge_mm / 2, 0.2))))
    spots: list[Spot] = []
    for k in range(steps):
        here = edge.interpolate(k / steps, normalized=True)
        end = shapely.shortest_line(here, there).coords[1]
        a, b = (float(here.x), float(here.y)), (float(end[0]), float(end[1]))
        spots.append((round(math.dist(a, b), 6), k, a, b))
    if not strips.is_empty:
        clear = [
            spot
            for spot in spots
            if strips.distance(shapely.LineString(spot[2:])) > 1.5 * bridge_mm
        ]
        spots = clear or spots
    spots = [spot for spot in spots if _ends(spot[2], spot[3], bridge_mm, cut)[2]] or spots
    short = min(spots)
    chosen = [short]
    near = max(2.0 * short[0], short[0] + bridge_mm)
    apart = 2 * bridge_mm * steps / edge.length
    while len(chosen) < wanted:
        able = [spot for spot in spots if spot[0] <= near and _around(spot, chosen, steps) > apart]
        if not able:
            break
        chosen.append(
            max(
                able,
                key=lambda spot: (
                    _around(spot, chosen, steps) - spot[0] / max(near, 1e-9),
                    -spot[1],
                ),
            )
        )
    return [(a, b) for _, _, a, b in chosen]


def _around(spot: Spot, chosen: Sequence[Spot], steps: int) -> int:
    """Steps along the island's edge to the nearest bridge there is."""
    return min(min((spot[1] - other[1]) % steps, (other[1] - spot[1]) % steps) for other in chosen)


def _ends(a: Point, b: Point, width_mm: float, cut: Region) -> tuple[Point, Point, bool]:
    """Both ends of a bridge moved on until its whole width stands on the sheet there, and whether
    that was so.
    """
    import shapely

    length = math.dist(a, b)
    ux, uy = ((b[0] - a[0]) / length, (b[1] - a[1]) / length) if length > 1e-9 else (1.0, 0.0)
    found, firm = [], True
    for point, way in ((a, -1.0), (b, 1.0)):
        for share in (0.25, 0.5, 0.75, 1.0, 1.25, 1.5):
            x, y = point[0] + way * ux * width_mm * share, point[1] + way * uy * width_mm * share
            if not cut.intersects(shapely.Point(x, y).buffer(FIRM_SHARE * width_mm, 4)):
                break
        else:
            firm = False
        found.append((x, y))
    return found[0], found[1], firm


def _strip(a: Point, b: Point, width_mm: float, cut: Region) -> Polygon:
    """A straight strip that reaches into the sheet at both ends."""
    import shapely

    start, end, _ = _ends(a, b, width_mm, cut)
    return shapely.LineString([start, end]).buffer(width_mm / 2, cap_style="flat")


def waste(region: Region) -> Iterator[tuple[float, Point]]:
    """Area and place of every piece that falls out."""
    for part in polygons(region):
        point = part.representative_point()
        yield float(part.area), (float(point.x), float(point.y))
