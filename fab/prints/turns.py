"""Turns of a convex footprint: at which it fits a bed.

Width and depth of a convex shape that is turned are concave between the angles at which one of its
sides lies along the bed, and at those angles least: so the best turn lies at such an angle, or
where both leave the same room. No angle is tried by chance.
"""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import pairwise

from fab.outlines.contour import Point, around
from fab.prints.model import turned
from fab.prints.rows import Corners

TURN_PLACES = 4  # decimals of a turn, degrees: 0.1 um on a panel
_SLACK = 1e-3  # a turn that was rounded must still fit, mm


def extent(corners: Corners, turn_deg: float) -> Point:
    """Width and depth of the turned shape."""
    x0, y0, x1, y1 = around(turned(point, turn_deg) for point in corners)
    return (x1 - x0, y1 - y0)


def left_over(corners: Corners, wide: float, deep: float, turn_deg: float) -> float:
    """Room that the tighter side has left beside the turned shape, mm; negative: too small."""
    across, up = extent(corners, turn_deg)
    return min(wide - across, deep - up)


@lru_cache(maxsize=256)
def best_turn(corners: Corners, wide: float, deep: float) -> tuple[float, float]:
    """The turn that leaves most of a room `wide` x `deep`, a quarter turn where that is as good;
    and what it leaves, mm.
    """
    quarter = max((0.0, 90.0), key=lambda turn: (left_over(corners, wide, deep, turn), -turn))
    best, most = quarter, left_over(corners, wide, deep, quarter)
    for turn in _turns_that_matter(corners, wide - deep):
        left = left_over(corners, wide, deep, turn)
        if left > most + _SLACK:
            best, most = turn, left
    return best, most


def _turns_that_matter(corners: Corners, difference: float) -> list[float]:
    """Angles of 0 to 180 degrees at which a side lies along the bed, and those between two of them
    at which width less depth is `difference`.
    """
    sides = zip(corners, (*corners[1:], corners[0]), strict=True)
    lies = {-math.degrees(math.atan2(by - ay, bx - ax)) % 90.0 for (ax, ay), (bx, by) in sides}
    stops = sorted({0.0, *lies, *(turn + 90.0 for turn in lies), 90.0, 180.0})
    found = list(stops)
    for low, high in pairwise(stops):
        if high - low > 1e-6:
            found += _crossing(corners, difference, low, high)
    return [round(turn, TURN_PLACES) for turn in found]


def _crossing(corners: Corners, difference: float, low: float, high: float) -> list[float]:
    """The turns, between two stops, at which width less depth is `difference`.

    The outermost corners stay the same between two stops, so width less depth is there
    a cos(turn) - b sin(turn): two turns at most.
    """
    middle = (low + high) / 2
    points = [(turned(corner, middle), corner) for corner in corners]
    (_, right), (_, left) = max(points), min(points)
    _, top = max(points, key=lambda both: both[0][1])
    _, bottom = min(points, key=lambda both: both[0][1])
    a = right[0] - left[0] - (top[1] - bottom[1])
    b = right[1] - left[1] + (top[0] - bottom[0])
    size = math.hypot(a, b)
    if size <= abs(difference):
        return []
    start, reach = math.atan2(-b, a), math.acos(difference / size)
    found = (math.degrees(start + way * reach) % 360.0 for way in (1, -1))
    return sorted(turn for turn in found if low <= turn <= high)
