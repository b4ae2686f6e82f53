"""Parts that are already cut free: one may tip, so the head should not run over it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Any, Protocol

from fab.outlines.buffers import buffered
from fab.outlines.contour import Arc, Point, Segment
from fab.sheets.tour import Stop

_SHRINK_MM = 0.2  # a way along the very edge of a part does not run over it
_HOOK_MM = 1e4  # travel that a way over a free part counts as


class Closed(Protocol):
    """A pass, as far as this module cares."""

    @property
    def closed(self) -> bool:
        """True when it ends where it begins."""

    @property
    def segments(self) -> tuple[Segment, ...]:
        """Its lines and arcs, in order."""


class Freed:
    """Regions that a group of cuts sets free, in order; a cut that does not close frees none."""

    toll = _HOOK_MM

    def __init__(self, steps: Sequence[Closed], stops: Sequence[Stop]) -> None:
        self.stops = stops
        self._corners = [_corners(step) for step in steps]
        self._kept = [k for k, corners in enumerate(self._corners) if corners]
        self._tree: Any = None
        if self._kept:
            import shapely

            shrunk = buffered(
                [shapely.Polygon(self._corners[k]) for k in self._kept], -_SHRINK_MM, quad_segs=8
            )
            self._tree = shapely.STRtree(shrunk)

    def tolls(self, order: Sequence[int]) -> list[list[list[float]]]:
        """Per leg: what each pair of doors costs beyond its length, given what the order has freed
        by then.
        """
        shapes = [(len(self.stops[a]), len(self.stops[b])) for a, b in pairwise(order)]
        found = [[[0.0] * wide for _ in range(deep)] for deep, wide in shapes]
        if self._tree is None:
            return found
        legs, owners = [], []
        for leg, (a, b) in enumerate(pairwise(order)):
            for e, (_, end) in enumerate(self.stops[a]):
                for d, (begin, _) in enumerate(self.stops[b]):
                    if math.dist(begin, end) > _SHRINK_MM:
                        legs.append((end, begin))
                        owners.append((leg, e, d))
        for k in self._crossing(legs, [owner[0] for owner in owners], order):
            leg, e, d = owners[k]
            found[leg][e][d] = _HOOK_MM
        return found

    def over(self) -> Any:
        """For each pair of doors (all doors of all stops, counted through) the stops that the way
        between them runs over, as bits; None when no way does. For few stops only: there are as
        many pairs as doors squared.
        """
        if self._tree is None:
            return None
        import numpy as np
        import shapely

        ends = np.array([door[1] for stop in self.stops for door in stop])
        begins = np.array([door[0] for stop in self.stops for door in stop])
        count = len(ends)
        legs = np.stack([np.repeat(ends, count, axis=0), np.tile(begins, (count, 1))], axis=1)
        long = np.flatnonzero(np.hypot(*(legs[:, 1] - legs[:, 0]).T) > _SHRINK_MM)
        found = np.zeros(count * count, int)
        which, areas = self._tree.query(shapely.linestrings(legs[long]), predicate="intersects")
        np.bitwise_or.at(found, long[which], 1 << np.array(self._kept)[areas])
        return found.reshape(count, count) if found.any() else None

    def crossed(self, ways: Sequence[tuple[int, int]]) -> int:
        """Count the legs of a finished tour that run over a region it has freed before."""
        legs, places = [], []
        for leg, ((a, e), (b, d)) in enumerate(pairwise(ways)):
            end, begin = self.stops[a][e][1], self.stops[b][d][0]
            if math.dist(begin, end) > _SHRINK_MM:
                legs.append((end, begin))
                places.append(leg)
        return len(self._crossing(legs, places, [k for k, _ in ways]))

    def _crossing(
        self, legs: Sequence[tuple[Point, Point]], places: Sequence[int], order: Sequence[int]
    ) -> set[int]:
        """Legs (by index) that run over a stop whose place in the order is not after theirs."""
        if self._tree is None or not legs:
            return set()
        import shapely

        place = {stop: at for at, stop in enumerate(order)}
        lines = shapely.linestrings(legs)
        return {
            int(leg)
            for leg, area in self._tree.query(lines, predicate="intersects").T
            if place[self._kept[area]] <= places[leg]
        }


def _corners(step: Closed) -> list[Point]:
    if not step.closed:
        return []
    corners: list[Point] = []
    for seg in step.segments:
        corners.append(seg.start)
        if isinstance(seg, Arc):
            corners += [seg.at(k / 8) for k in range(1, 8)]
    return corners
