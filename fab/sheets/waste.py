"""What is already cut free: it may tip, so the head should not run over it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, Protocol

from fab.outlines.contour import Arc, Point, Segment
from fab.sheets.tour import Stop, length

_SHRINK_MM = 0.2  # a way along the very edge of a part does not run over it
_HOOK = 1e4  # mm of travel that a way over a free part counts as


class Closed(Protocol):
    """A pass, as far as this module cares."""

    @property
    def closed(self) -> bool: ...
    @property
    def segments(self) -> tuple[Segment, ...]: ...


class Freed:
    """Counts ways between cuts that run over what was cut free before, within one group of cuts."""

    def __init__(self) -> None:
        self.crossed = 0
        self._areas: list[Any] = []

    def prepare(self, steps: Sequence[Closed]) -> None:
        """The steps to be ordered next; a step that does not close frees nothing."""
        self._areas = [_polygon(step) for step in steps]

    def toll(self, left: int, a: Point, b: Point) -> float:
        """A way that starts straight across the part just freed is as good as forbidden."""
        corners = self._areas[left]
        if not corners or math.dist(a, b) < 1e-9:
            return 0.0
        share = min(0.5, 1.0 / math.dist(a, b))
        return _HOOK if _inside((a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share), corners) else 0.0

    def least_crossing(self, found: list[tuple[int, int]], stops: Sequence[Stop], start: Point) -> list[tuple[int, int]]:
        """Of the tour found, and the same tour backwards, the one that crosses least; then the shorter."""
        if len(found) < 3 or not any(self._areas):
            self.crossed += self._count(found, stops, start) if found else 0
            return found
        count = self._count(found, stops, start)
        if count:
            back = found[::-1]
            ways = [(count, self._length(found, stops, start), found), (self._count(back, stops, start), self._length(back, stops, start), back)]
            count, _, found = min(ways, key=lambda way: way[:2])
        self.crossed += count
        return found

    def _length(self, order: list[tuple[int, int]], stops: Sequence[Stop], start: Point) -> float:
        return length([k for k, _ in order], [door for _, door in order], stops, start)

    def _count(self, order: list[tuple[int, int]], stops: Sequence[Stop], start: Point) -> int:
        import shapely

        kept = [(place, self._areas[k]) for place, (k, _) in enumerate(order) if self._areas[k]]
        if not kept:
            return 0
        tree = shapely.STRtree([shapely.Polygon(corners).buffer(-_SHRINK_MM) for _, corners in kept])
        at, legs = start, []
        for k, door in order:
            begin, end = stops[k][door]
            legs.append(shapely.LineString([at, begin]))
            at = end
        crossing = {int(leg) for leg, area in tree.query(legs, predicate="intersects").T if kept[area][0] < leg}
        return len(crossing)


def _polygon(step: Closed) -> list[Point]:
    if not step.closed:
        return []
    corners: list[Point] = []
    for seg in step.segments:
        corners.append(seg.start)
        if isinstance(seg, Arc):
            corners += [seg.at(k / 8) for k in range(1, 8)]
    return corners


def _inside(point: Point, corners: Sequence[Point]) -> bool:
    """Even-odd rule."""
    x, y = point
    odd = False
    for (ax, ay), (bx, by) in zip(corners, (*corners[1:], corners[0]), strict=True):
        if (ay > y) != (by > y) and x < ax + (y - ay) * (bx - ax) / (by - ay):
            odd = not odd
    return odd
