"""The convex hull of points (A. M. Andrew's monotone chain, Inf. Process. Lett. 9, 1979, 216-219).

Nests and plates ask for thousands of hulls of some ten points each; the geometry library takes
longer to be handed the points than the chain takes to sort them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from fab.outlines.contour import Point


def hull(points: Iterable[Point], flat_mm2: float = 0.0) -> tuple[Point, ...]:
    """Corners of the convex hull, counter-clockwise from the leftmost; fewer than three where the
    points are fewer or lie on a line.

    Points that stand out by a cross product of at most `flat_mm2` count as in line: no corners.
    """
    order = sorted(set(points))
    if len(order) < 3:
        return tuple(order)
    return tuple(_half(order, flat_mm2) + _half(order[::-1], flat_mm2))


def _half(run: Sequence[Point], flat_mm2: float) -> list[Point]:
    kept: list[Point] = []
    for x, y in run:
        while len(kept) >= 2:
            (ax, ay), (bx, by) = kept[-2:]
            if (bx - ax) * (y - ay) - (by - ay) * (x - ax) > flat_mm2:
                break
            kept.pop()
        kept.append((x, y))
    return kept[:-1]  # the last corner is the first one of the other half
