"""Filled areas as parallel lines for a beam: to and fro, on one grid for the whole picture.

Lines lie at whole multiples of the pitch from the origin, so that the hatching of neighbours runs
on across a joint.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from itertools import pairwise

from fab.outlines.contour import Point, turn

MOST_LINES = 200_000
LEAST_MM = 0.05  # shorter pieces of a line are left out: a dot burns, it does not draw


class TooDense(ValueError):
    """The hatching would have more lines than a cut file should hold."""


def hatch(
    rings: Iterable[Sequence[Point]], pitch_mm: float, angle_deg: float = 0.0
) -> tuple[tuple[Point, ...], ...]:
    """Strokes that fill the even-odd area of closed rings, lines `angle_deg` from +X, every other
    one backwards.

    Raises TooDense beyond 200,000 lines.
    """
    back = -math.radians(angle_deg)
    loops = [[turn(point, back) for point in ring] for ring in rings]
    crossings = _crossings(loops, pitch_mm)
    if sum(len(xs) for xs in crossings.values()) > 2 * MOST_LINES:
        raise TooDense(f"more than {MOST_LINES:,} lines")
    strokes: list[tuple[Point, ...]] = []
    for row in sorted(crossings):
        xs, y = sorted(crossings[row]), (row + 0.5) * pitch_mm
        spans = [
            (xs[k], xs[k + 1]) for k in range(0, len(xs) - 1, 2) if xs[k + 1] - xs[k] >= LEAST_MM
        ]
        if row % 2:
            spans = [(b, a) for a, b in reversed(spans)]
        strokes += [(turn((a, y), -back), turn((b, y), -back)) for a, b in spans]
    return tuple(strokes)


def _crossings(loops: Sequence[Sequence[Point]], pitch_mm: float) -> dict[int, list[float]]:
    """Row to the x of every crossing; rows lie half a pitch off the whole ones, so corners on the
    grid do no harm.
    """
    found: dict[int, list[float]] = defaultdict(list)
    total = 0
    for loop in loops:
        for (ax, ay), (bx, by) in pairwise([*loop, loop[0]]):
            low, high = min(ay, by), max(ay, by)
            first, last = math.ceil(low / pitch_mm - 0.5), math.ceil(high / pitch_mm - 0.5)
            total += last - first
            if total > 4 * MOST_LINES:
                raise TooDense(f"more than {MOST_LINES:,} lines")
            for row in range(first, last):  # low <= y < high: every corner counts once
                y = (row + 0.5) * pitch_mm
                found[row].append(ax + (bx - ax) * (y - ay) / (by - ay))
    return found
