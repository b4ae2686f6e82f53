"""Clearances between two cuts: the way of one part in a direction until it meets the other."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from fab.solids.cuts import Cut

if TYPE_CHECKING:
    import numpy as np

Way = tuple[float, float]


def travel(mover: Cut, other: Cut, way: Way) -> float:
    """Distance that `mover` can go along `way` (of length 1) until it touches `other`; infinite
    when it never does. Exact for straight sides: it is a corner of one that first meets a side of
    the other. A side that the mover leaves does not count, also when it touches.
    """
    import numpy as np

    d = np.array(way, dtype=np.float64)
    return min(_first_hit(mover, other, d), _first_hit(other, mover, -d))


def _first_hit(corners_of: Cut, sides_of: Cut, d: np.ndarray) -> float:
    """Least way of a corner of one along `d` to a side of the other that looks against it."""
    import numpy as np

    sides = sides_of.segments[sides_of.normals @ d < -1e-6]
    points = corners_of.segments[:, 0]  # loops are closed: every corner starts one segment
    if len(points) == 0 or len(sides) == 0:
        return math.inf
    across = np.array([-d[1], d[0]])
    s0, s1 = sides[:, 0] @ across, sides[:, 1] @ across
    low, high = np.minimum(s0, s1), np.maximum(s0, s1)
    begin, end = sides[:, 0] @ d, sides[:, 1] @ d
    at, along = points @ across, points @ d
    point, side = np.nonzero((at[:, None] >= low - 1e-9) & (at[:, None] <= high + 1e-9))
    share = np.clip((at[point] - s0[side]) / (s1 - s0)[side], 0.0, 1.0)
    reach = begin[side] + share * (end - begin)[side] - along[point]
    return float(reach[reach > -1e-6].min(initial=math.inf))


def scaled(cut: Cut, factor: float) -> Cut:
    """The cut of a part that has grown about the centre."""
    return Cut(cut.z, cut.segments * factor, cut.normals)


def shifted(cut: Cut, dx: float, dy: float) -> Cut:
    """The same section moved by (dx, dy) mm; its height and its normals stay."""
    import numpy as np

    return Cut(cut.z, cut.segments + np.array([dx, dy]), cut.normals)


def cropped(cut: Cut, low: tuple[float, float], high: tuple[float, float]) -> Cut:
    """Only the segments that lie whole inside a box."""
    import numpy as np

    inside = ((cut.segments >= np.array(low)) & (cut.segments <= np.array(high))).all(axis=(1, 2))
    return Cut(cut.z, cut.segments[inside], cut.normals[inside])
