"""Lower bounds on the number of plates, by two arguments; the larger one holds.

    area    every object keeps its footprint, grown by half the gap, from all others; what is kept
            lies in the bed's room grown by half the gap
    pairs   of some large objects no two lie on one plate, at whatever turns: each needs its own

Whether two convex objects share a room is told by ranges of turns. Turned by up to a, no point of
an object moves more than s = 2 R sin(a / 2); so for each turn of a range the object reaches, in any
direction, no less far than at the range's middle less s. If what is left of both still can't be
apart, the pair of ranges is out; otherwise it is split. Ranges that stay too small to split are
counted as "may share", so that the bound never claims too much.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from itertools import combinations
from typing import Any

from fab.prints.rows import Corners

MOST_NODES = 3_000  # pairs of ranges looked at before two objects are taken to share a plate
MOST_KINDS = 12  # large kinds of which all sets are looked at
STEP_DEG = 5.0  # between directions in which objects are held apart, beside those of their sides
DUST = 1e-6
# the four of the bed first
WAYS = (0.0, 90.0, 180.0, 270.0, *(STEP_DEG * k for k in range(72)))


def least_plates(
    wanted: Sequence[tuple[Corners, int]], gap: float, wide: float, deep: float
) -> tuple[int, str]:
    """No plan needs fewer plates than this for footprints and counts in rooms `wide` x `deep`; and
    which argument says so: "area" or "pairs".
    """
    if not wanted:
        return 0, "area"
    half = gap / 2
    claims = sum(
        count * (_area(shape) + _round(shape) * half + math.pi * half**2) for shape, count in wanted
    )
    room = wide * deep + 2 * (wide + deep) * half + math.pi * half**2
    by_area = max(1, math.ceil(claims / room - DUST))
    by_pairs = _alone(wanted, gap, wide, deep)
    return (by_pairs, "pairs") if by_pairs >= by_area else (by_area, "area")


def _alone(wanted: Sequence[tuple[Corners, int]], gap: float, wide: float, deep: float) -> int:
    """Number of objects of which no two share a plate."""
    large = sorted(wanted, key=lambda one: (-_area(one[0]), one))[:MOST_KINDS]
    large = [one for one in large if 3 * _area(one[0]) > wide * deep / 4]
    weight = [1 if may_share(shape, shape, gap, wide, deep) else count for shape, count in large]
    apart = {
        (a, b)
        for a, b in combinations(range(len(large)), 2)
        if not may_share(large[a][0], large[b][0], gap, wide, deep)
    }
    best = 1
    for number in range(1, 2 ** len(large)):
        chosen = [k for k in range(len(large)) if number >> k & 1]
        if all(pair in apart for pair in combinations(chosen, 2)):
            best = max(best, sum(weight[k] for k in chosen))
    return best


@lru_cache(maxsize=256)
def may_share(one: Corners, other: Corners, gap: float, wide: float, deep: float) -> bool:
    """False when no turns and places let two objects lie in a room `wide` x `deep`, `gap` apart."""
    a, b = _Turning(one), _Turning(other)
    # the room turned with both objects in it is the same room
    quarter = 90 if abs(wide - deep) < DUST else 180
    todo = [(0.0, float(math.gcd(360 // a.fold, quarter)), 0.0, 360.0 / b.fold)]
    for _ in range(MOST_NODES):
        if not todo:
            return False
        a0, a1, b0, b1 = todo.pop()
        mid_a, mid_b, half_a, half_b = (a0 + a1) / 2, (b0 + b1) / 2, (a1 - a0) / 2, (b1 - b0) / 2
        moved = a.moved(half_a), b.moved(half_b)
        exact, loosely = _apart(a, b, (mid_a, mid_b), gap, (wide, deep), moved)
        if exact:
            return True
        if not loosely:
            continue
        if moved[0] >= moved[1]:
            todo += [(a0, mid_a, b0, b1), (mid_a, a1, b0, b1)]
        else:
            todo += [(a0, a1, b0, mid_b), (a0, a1, mid_b, b1)]
    return True


class _Turning:
    """A convex object about the middle of its box, and how far it reaches when it is turned."""

    def __init__(self, corners: Corners) -> None:
        import numpy as np

        points = np.array(corners, dtype=float)
        self.points = points - (points.max(axis=0) + points.min(axis=0)) / 2
        self.radius = float(np.hypot(*self.points.T).max())
        sides = np.roll(self.points, -1, axis=0) - self.points
        self.normals = np.degrees(np.arctan2(-sides[:, 0], sides[:, 1]))
        every = np.arange(0.0, 360.0, 7.5)
        reach = self.reach(every, 0.0)
        self.fold = next(
            fold
            for fold in (12, 8, 6, 4, 3, 2, 1)
            if np.abs(self.reach(every, 360.0 / fold) - reach).max() < DUST
        )

    def reach(self, ways_deg: Any, turn_deg: float) -> Any:
        """Extent of the turned object in each of these directions."""
        import numpy as np

        angles = np.radians(ways_deg - turn_deg)
        return (np.stack([np.cos(angles), np.sin(angles)], axis=-1) @ self.points.T).max(axis=-1)

    def moved(self, half_deg: float) -> float:
        """Distance that a point goes when it is turned by half a range."""
        return 2 * self.radius * math.sin(math.radians(min(half_deg, 180.0)) / 2)


def _apart(
    a: _Turning,
    b: _Turning,
    turns: tuple[float, float],
    gap: float,
    room: tuple[float, float],
    moved: tuple[float, float],
) -> tuple[bool, bool]:
    """True when two objects at these turns lie in the room, apart: as they are, and each less by
    what it moved.
    """
    import numpy as np

    ways = np.concatenate([WAYS, a.normals + turns[0], b.normals + turns[1] + 180.0])
    reach_a, reach_b = a.reach(ways, turns[0]), b.reach(ways + 180.0, turns[1])
    sums, angles = reach_a + reach_b, np.radians(ways)
    (east, north, west, south), (w, s, e, n) = reach_a[:4].tolist(), reach_b[:4].tolist()
    cos, sin = np.cos(angles), np.sin(angles)
    told = []
    for less_a, less_b in ((0.0, 0.0), moved):
        less = less_a + less_b
        free = (
            room[0] - east - west + 2 * less_a,
            room[1] - north - south + 2 * less_a,
            room[0] - e - w + 2 * less_b,
            room[1] - n - s + 2 * less_b,
        )
        if min(free) < 0:
            told.append(False)
            continue
        # where b's middle may lie, seen from a's
        x0, x1 = w + east - room[0] - less, room[0] - e - west + less
        y0, y1 = s + north - room[1] - less, room[1] - n - south + less
        clear = max(float((x * cos + y * sin - sums).max()) for x in (x0, x1) for y in (y0, y1))
        # between two directions an object may be further off than either says
        most = clear / math.cos(math.radians(STEP_DEG / 2)) if less and clear > 0 else clear
        told.append(most >= gap - less - (DUST if less else -DUST))
    return told[0], told[1]


def _area(corners: Corners) -> float:
    pairs = zip(corners, (*corners[1:], corners[0]), strict=True)
    return abs(sum(ax * by - bx * ay for (ax, ay), (bx, by) in pairs)) / 2


def _round(corners: Corners) -> float:
    """The length all round."""
    return sum(math.dist(a, b) for a, b in zip(corners, (*corners[1:], corners[0]), strict=True))
