"""Distances between simple flat shapes: what stands on a base's floor is boxes and round posts."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from fab.outlines.contour import Point


def boxes_apart(a: Sequence[Point], b: Sequence[Point]) -> float:
    """Gap between two convex polygons along the best of their sides' normals: never more than the
    true distance, negative when they overlap.
    """
    return max(_gaps(a, b))


def clear(a: Sequence[Point], b: Sequence[Point]) -> bool:
    """True when two convex polygons do not overlap."""
    return any(gap >= 0 for gap in _gaps(a, b))


def _gaps(a: Sequence[Point], b: Sequence[Point]) -> Iterator[float]:
    """Yield the gap along each side's normal, both ways."""
    for shape in (a, b):
        for k, here in enumerate(shape):
            there = shape[(k + 1) % len(shape)]
            length = math.dist(here, there)
            nx, ny = (there[1] - here[1]) / length, (here[0] - there[0]) / length
            for sign in (1.0, -1.0):
                far_a = max(sign * (x * nx + y * ny) for x, y in a)
                near_b = min(sign * (x * nx + y * ny) for x, y in b)
                yield near_b - far_a


def point_to_box(point: Point, corners: Sequence[Point]) -> float:
    """From a point to a convex polygon wound anticlockwise, at least; negative inside."""
    return max(
        ((b[1] - a[1]) * (point[0] - a[0]) - (b[0] - a[0]) * (point[1] - a[1])) / math.dist(a, b)
        for a, b in zip(corners, [*corners[1:], corners[0]], strict=True)
    )
