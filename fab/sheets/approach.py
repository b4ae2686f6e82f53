"""Lead-ins on the waste side of a cut, and tabs that hold a part in its sheet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from fab.outlines.buffers import buffered
from fab.outlines.contour import Arc, Contour, Line, Point, Segment
from fab.outlines.facets import facets
from fab.sheets.depth import Loop
from fab.sheets.model import Sheet
from fab.sheets.passes import Pass

_LEAST_LEAD_MM = 0.3  # a shorter lead-in hides no piercing mark
# least distance of two lead-ins: those of corners that face each other would be one line twice
_APART_MM = 0.05
_ROUND_MM = 1e-6  # of margins: a lead-in that keeps the margin exactly is found
_TAB_EVERY_MM = 150.0  # common practice, no source
_MOST_TABS = 8


class Approach:
    """Obstacles beside the cuts of one sheet, so that a lead-in never enters a part."""

    def __init__(
        self, loops: Sequence[Loop], sheet: Sheet, lead_mm: float, tab_mm: float, kerf_mm: float
    ) -> None:
        self.lead_mm, self.tab_mm, self.kerf_mm = lead_mm, tab_mm, kerf_mm
        self.short = 0  # cuts that got less than the lead-in asked for
        self._tree: Any = None
        # by the square in which they begin
        self._leads: dict[tuple[int, int], list[tuple[Point, Point]]] = {}
        if lead_mm > 0:
            import shapely

            self._lines = [shapely.LinearRing(facets(loop.contour, outside=True)) for loop in loops]
            self._tree = shapely.STRtree(self._lines)
            whole = shapely.Polygon(sheet.outline, sheet.holes)
            self._field = (
                buffered(whole, _ROUND_MM - sheet.margin, join_style="mitre")
                if sheet.margin
                else whole
            )

    def room(self, at: Point, way: Point, own: Contour) -> float:
        """Longest lead-in, up to `lead_mm`, that ends at `at` and comes from `way`."""
        import shapely

        ring = shapely.LinearRing(facets(own, outside=True))
        for share in (1.0, 0.75, 0.5, 0.25):
            long = self.lead_mm * share
            if long < _LEAST_LEAD_MM:
                break
            begin = (at[0] + way[0] * long, at[1] + way[1] * long)
            near = (at[0] + way[0] * long * 0.05, at[1] + way[1] * long * 0.05)
            lead, free = shapely.LineString([begin, at]), shapely.LineString([begin, near])
            if not self._field.contains(lead) or free.intersects(ring):
                continue
            others = self._tree.query(lead, predicate="dwithin", distance=self.kerf_mm / 2)
            if (
                not all(self._lines[k].equals(ring) for k in others)
                or ring.distance(shapely.Point(begin)) <= long / 2
            ):
                continue
            if not any(
                lead.dwithin(shapely.LineString(other), _APART_MM) for other in self._beside(begin)
            ):
                return long
        return 0.0

    def take(self, begin: Point, at: Point) -> None:
        """A lead-in that will be there, so that none of another cut meets it."""
        self._leads.setdefault(self._square(begin), []).append((begin, at))

    def _beside(self, begin: Point) -> list[tuple[Point, Point]]:
        """Lead-ins that begin so near that they could meet one that begins here."""
        x, y = self._square(begin)
        return [
            lead
            for dx in (-1, 0, 1)
            for dy in (-1, 0, 1)
            for lead in self._leads.get((x + dx, y + dy), ())
        ]

    def _square(self, at: Point) -> tuple[int, int]:
        side = 2 * self.lead_mm + _APART_MM
        return (math.floor(at[0] / side), math.floor(at[1] / side))


def led_in(ways: Sequence[Pass], loop: Loop, approach: Approach) -> list[Pass]:
    """The ways that leave room for the longest lead-in, each with it; as they are when there is
    none.
    """
    found: list[tuple[float, Pass]] = []
    for way in ways:
        at = way.segments[0].start
        outward = _waste_side(way.segments)
        long = approach.room(at, outward, loop.contour)
        if long > 0:
            lead = Line((at[0] + outward[0] * long, at[1] + outward[1] * long), at)
            found.append((long, replace(way, segments=(lead, *way.segments))))
        else:
            found.append((0.0, way))
    most = max(long for long, _ in found)
    if most < approach.lead_mm:
        approach.short += 1
    kept = [way for long, way in found if long >= most - 1e-9]
    if most > 0:
        for way in kept:
            approach.take(way.segments[0].start, way.segments[0].end)
    return kept


def _waste_side(segments: Sequence[Segment]) -> Point:
    """Direction at the start corner that points away from the material, which lies to the left."""
    (ux, uy), (vx, vy) = heading(segments[-1], 1.0), heading(segments[0], 0.0)
    x, y = uy + vy, -(ux + vx)
    size = math.hypot(x, y)
    if size < 1e-9:  # a cusp: straight on
        return (ux, uy)
    return (x / size, y / size)


def heading(seg: Segment, share: float) -> Point:
    """Direction of cutting at a share of the segment."""
    if isinstance(seg, Line):
        return (
            (seg.end[0] - seg.start[0]) / seg.length_mm,
            (seg.end[1] - seg.start[1]) / seg.length_mm,
        )
    x, y = seg.at(share)
    side = math.copysign(1.0, seg.sweep_rad) / seg.radius_mm
    return (-(y - seg.centre[1]) * side, (x - seg.centre[0]) * side)


def tabbed(contour: Contour, tab_mm: float, kerf_mm: float) -> list[tuple[Segment, ...]]:
    """The contour cut up so that bridges of `tab_mm` remain; the beam eats half a kerf at each end
    of them.

    Evenly spread, and in the middle of straight edges where there are any that are long enough.
    """
    total = contour.length_mm
    bare = tab_mm + kerf_mm
    count = max(2, min(_MOST_TABS, round(total / _TAB_EVERY_MM)))
    while count > 1 and bare * count > total / 4:
        count -= 1
    wanted = [k * total / count for k in range(count)]
    edges = _middles(contour, 3 * bare)
    if len(edges) >= count:
        places = sorted(
            {min(edges, key=lambda at: (_round_trip(at - want, total), at)) for want in wanted}
        )
    else:
        places = wanted
    ends = [*places[1:], places[0] + total]
    return [
        part(contour, here + bare / 2, there - bare / 2)
        for here, there in zip(places, ends, strict=True)
    ]


def _middles(contour: Contour, least_mm: float) -> list[float]:
    """Places along the contour, counted as in `part`, of the middles of straight edges of some
    length.
    """
    found, at = [0.0], 0.0
    segments = _from_middle(contour)
    if not isinstance(segments[0], Line):
        return []
    for seg in segments:
        if (
            isinstance(seg, Line)
            and seg.length_mm >= least_mm
            and seg not in (segments[0], segments[-1])
        ):
            found.append(at + seg.length_mm / 2)
        at += seg.length_mm
    return found


def _round_trip(way: float, total: float) -> float:
    """The shorter way round, rounded so that ties are ties on every machine."""
    return round(min(way % total, -way % total), 6)


def part(contour: Contour, begin_mm: float, end_mm: float) -> tuple[Segment, ...]:
    """The stretch of a contour between two lengths along it (0 <= begin < length, end may lie past
    the start); arcs stay arcs.

    Lengths count from the middle of the first straight segment, so that tabs sit on straight edges
    where they can.
    """
    segments = _from_middle(contour)
    out: list[Segment] = []
    at = 0.0
    for seg in (*segments, *segments):
        low, high = max(begin_mm - at, 0.0), min(end_mm - at, seg.length_mm)
        if high - low > 1e-6:
            out.append(_stretch(seg, low / seg.length_mm, high / seg.length_mm))
        at += seg.length_mm
    return tuple(out)


def _from_middle(contour: Contour) -> tuple[Segment, ...]:
    lines = [k for k, seg in enumerate(contour.segments) if isinstance(seg, Line)]
    first = max(lines, key=lambda k: (round(contour.segments[k].length_mm, 6), -k)) if lines else 0
    seg = contour.segments[first]
    halves = _stretch(seg, 0.0, 0.5), _stretch(seg, 0.5, 1.0)
    return (halves[1], *contour.segments[first + 1 :], *contour.segments[:first], halves[0])


def _stretch(seg: Segment, low: float, high: float) -> Segment:
    if low <= 0.0 and high >= 1.0:
        return seg
    if isinstance(seg, Arc):
        return Arc(seg.at(low), seg.centre, seg.sweep_rad * (high - low))
    (ax, ay), (bx, by) = seg.start, seg.end
    return Line(
        (ax + (bx - ax) * low, ay + (by - ay) * low), (ax + (bx - ax) * high, ay + (by - ay) * high)
    )
