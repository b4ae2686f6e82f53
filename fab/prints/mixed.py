"""Large objects of several kinds on one plate: each where it lies lowest, then leftmost, at any of
a few turns.

Where an object may lie beside others is its room on the bed less the no-fit regions of those that
lie there already (`rows.too_near`); its best place is a corner of what is left.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from fab.outlines.contour import Point
from fab.prints.rows import Corners, too_near, turned_to_zero

TURNS = tuple(15.0 * k for k in range(24))
_INSIDE_MM = 1e-6  # a place on the rim of a no-fit region is clear of it


@dataclass(frozen=True)
class LaidObject:
    """An object of a kind: its number, its turn, and where the least corner of its box lies."""

    kind: int
    turn_deg: float
    x: float
    y: float
    corners: Corners  # as it is turned, the least corner of its box at (0, 0)


class TrialBudget:
    """The trials left to a search: one a pair of an object and a turn of another. No clock."""

    def __init__(self, most: int) -> None:
        self.left = most


def fill(
    shapes: Sequence[Corners],
    counts: Sequence[int],
    gap: float,
    wide: float,
    deep: float,
    work: TrialBudget,
) -> list[LaidObject]:
    """One plate, filled from `counts` copies of each shape, the first shapes first; fewer, when the
    work is used up.
    """
    laid: list[LaidObject] = []
    for kind, shape in enumerate(shapes):
        for _ in range(counts[kind]):
            work.left -= len(_ways(shape)) * (1 + len(laid))
            if work.left < 0:
                return laid
            spot = _lowest(kind, shape, laid, gap, wide, deep)
            if spot is None:
                break
            laid.append(spot)
    return laid


def _lowest(
    kind: int, shape: Corners, laid: Sequence[LaidObject], gap: float, wide: float, deep: float
) -> LaidObject | None:
    """The place of one more copy whose box ends lowest; of equals the leftmost, then least turn."""
    best: tuple[tuple[float, ...], LaidObject] | None = None
    for turn, corners, across, up in _ways(shape):
        if across > wide + _INSIDE_MM or up > deep + _INSIDE_MM:
            continue
        for x, y in _places(corners, laid, gap, wide - across, deep - up):
            score = (round(y + up, 3), round(x + across, 3), turn)
            if best is None or score < best[0]:
                best = (score, LaidObject(kind, turn, x, y, corners))
    return best[1] if best else None


@lru_cache(maxsize=64)
def _ways(shape: Corners) -> tuple[tuple[float, Corners, float, float], ...]:
    """The turns that differ, each with the turned corners and their box."""
    found: dict[Corners, float] = {}
    for turn in TURNS:
        corners = turned_to_zero(shape, turn)
        key = tuple(sorted((round(x, 3) + 0.0, round(y, 3) + 0.0) for x, y in corners))
        found.setdefault(key, turn)
    ways = [(turn, turned_to_zero(shape, turn)) for turn in found.values()]
    return tuple((t, c, max(x for x, _ in c), max(y for _, y in c)) for t, c in ways)


def _places(
    corners: Corners, laid: Sequence[LaidObject], gap: float, right: float, top: float
) -> list[Point]:
    """Corners of where the least corner of the box may lie: x up to `right`, y up to `top`."""
    import shapely

    right, top = max(right, 0.0), max(top, 0.0)
    if not laid:
        return [(0.0, 0.0)]
    closed = shapely.union_all([_forbidden(one, corners, gap) for one in laid])
    frame = shapely.box(0.0, 0.0, right, top) if right and top else None
    rim = shapely.get_coordinates(closed)
    tries = [(0.0, 0.0), (right, 0.0), (0.0, top), (right, top)]
    tries += [(float(x), float(y)) for x, y in rim if 0 <= x <= right and 0 <= y <= top]
    edge = (frame.boundary if frame is not None else _line(right, top)).intersection(
        closed.boundary
    )
    tries += [(float(x), float(y)) for x, y in shapely.get_coordinates(edge)]
    inner = closed.buffer(-_INSIDE_MM, join_style="mitre")
    shapely.prepare(inner)
    points = shapely.points(tries)
    free = ~shapely.intersects(inner, points)
    return [spot for spot, good in zip(tries, free, strict=True) if good]


def _line(right: float, top: float) -> Any:
    import shapely

    if right or top:
        return shapely.LineString([(0.0, 0.0), (right, top)])
    return shapely.Point(0.0, 0.0)


def _forbidden(one: LaidObject, corners: Corners, gap: float) -> Any:
    import shapely

    region = too_near(one.corners, corners, gap)
    # its corners stand several times where the gap is none, and apart by a last digit
    return shapely.MultiPoint([(x + one.x, y + one.y) for x, y in region]).convex_hull
