"""Layouts pressed together, or apart, by linear programming.

Each pair of convex bits is kept apart by one straight line: the one square to the shortest way
between the bit's origin and the pair's no-fit polygon (support h(n), Minkowski's separation). With
the lines fixed, the least width over all small shifts is a linear program; its answer gives better
lines, and so on until nothing moves. Every answer is free of overlap, because each line alone
proves its pair apart. With slack allowed, the same program pulls overlapping parts apart.
Compaction and separation after Z. Li and V. Milenkovic, European Journal of Operational Research 84
(1995), cited from memory.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

from fab.outlines.contour import Point
from fab.outlines.facets import without_repeats
from fab.sheets.convex import minkowski
from fab.sheets.nofit import TOUCH_MM, Shape
from fab.sheets.sheet_fill import Laid

# how far a part may move in one program, share of the mean size: short steps keep the program small
_STEP = 0.06
_SLACK_PRICE = 1e3
_FREE_MM = 1e-6
_SOLVER_OUT_OF_TIME = 1  # status of scipy.optimize.linprog
_ROUNDS_APART = 12  # to put right what hardly overlaps


class Compactor:
    """Knows the strip (its height, from y = 0 up) and the gap; caches the sums of bits."""

    def __init__(
        self, height_mm: float, gap_mm: float, left_s: Callable[[], float] = lambda: math.inf
    ) -> None:
        self.height, self.gap, self._left_s = height_mm, gap_mm + _FREE_MM, left_s
        self._sums: dict[tuple[object, object], _Sums] = {}

    def legal(self, laid: Sequence[Laid], wider: float) -> list[Laid] | None:
        """The layout with its gaps put right, at most by the share `wider` wider; None when that
        did not succeed.
        """
        far = width(laid)
        inside = all(
            item.x + item.shape.box[0] >= 0
            and item.y + item.shape.box[1] >= 0
            and item.top <= self.height
            for item in laid
        )
        if inside and _apart_enough(laid, self.gap - _FREE_MM):
            return list(laid)
        return self.apart(laid, far * (1 + wider), _ROUNDS_APART, lambda: False)

    def left(self, laid: Sequence[Laid], rounds: int, stop: Callable[[], bool]) -> list[Laid]:
        """The layout pressed to the left while its width falls; never wider, no gap smaller than it
        is and should be.
        """
        now = list(laid)
        wide = width(now)
        for _ in range(rounds):
            if stop():
                break
            try:
                moved, _ = self._program(now, None)
            except _OutOfTime:
                break
            if moved is None or width(moved) > wide - 1e-3:
                if moved is not None and width(moved) < wide:
                    now = moved
                break
            now, wide = moved, width(moved)
        return now

    def apart(
        self, laid: Sequence[Laid], wide: float, rounds: int, stop: Callable[[], bool]
    ) -> list[Laid] | None:
        """The layout with all overlaps gone inside the given width, or None when that did not
        succeed.
        """
        now, last = list(laid), float("inf")
        for _ in range(rounds):
            if stop():
                return None
            try:
                moved, slack = self._program(now, wide)
            except _OutOfTime:
                return None
            if moved is None:
                return None
            now = moved
            if slack < 1e-7:
                return now
            if slack > last * 0.85:
                return None
            last = slack
        return None

    def _program(self, laid: Sequence[Laid], wide: float | None) -> tuple[list[Laid] | None, float]:
        """One linear program: least width when `wide` is None, else least overlap inside `wide`.

        What fills the height exactly has no room for the grain of safety: then gaps just don't get
        smaller, or, with slack, are met without it.
        """
        import numpy as np
        from scipy.optimize import linprog
        from scipy.sparse import coo_matrix

        count = len(laid)
        step = _STEP * sum(max(item.shape.width, item.shape.height) for item in laid) / count
        first, second, normals, room = self._lines(laid, step)
        lines = len(room)
        room = room + _FREE_MM if wide is not None else room
        slacks = lines if wide is not None else 0
        at = np.arange(lines)
        # n . (v + d_j - d_i) + slack >= h + gap, written as
        # n . d_i - n . d_j - slack <= v . n - h - gap = room
        r = np.concatenate([at, at, at, at])
        c = np.concatenate([2 * first, 2 * first + 1, 2 * second, 2 * second + 1])
        v = np.concatenate([normals[:, 0], normals[:, 1], -normals[:, 0], -normals[:, 1]])
        total = 2 * count + 1 + slacks
        if slacks:
            r, c, v = (
                np.concatenate([r, at]),
                np.concatenate([c, 2 * count + 1 + at]),
                np.concatenate([v, -np.ones(lines)]),
            )
        every = np.arange(count)
        if wide is None:  # x + dx + right <= W
            r = np.concatenate([r, lines + every, lines + every])
            c = np.concatenate([c, 2 * every, np.full(count, 2 * count)])
            v = np.concatenate([v, np.ones(count), -np.ones(count)])
            room = np.concatenate([room, [-item.right for item in laid]])
        matrix = coo_matrix((v, (r, c)), shape=(len(room), total)).tocsr()
        price = np.zeros(total)
        price[2 * count] = 1.0 if wide is None else 0.0
        price[0 : 2 * count : 2] = 1e-4 / count if wide is None else 0.0
        price[2 * count + 1 :] = _SLACK_PRICE
        bounds: list[tuple[float | None, float | None]] = []
        for item in laid:
            box = item.shape.box
            least_x, least_y = -(item.x + box[0]), -(item.y + box[1])
            most_x = step if wide is None else min(step, wide - item.right)
            bounds.append((max(-step, least_x) if least_x <= most_x else most_x, most_x))
            most_y = min(step, self.height - item.top)
            bounds.append((min(max(-step, least_y), most_y), most_y))
        bounds.append((0.0, None))
        bounds += [(0.0, None)] * slacks

        def solved() -> Any:
            if (seconds := self._left_s()) <= 0:
                raise _OutOfTime
            clock = {"time_limit": seconds} if math.isfinite(seconds) else {}
            answer = linprog(
                price, A_ub=matrix, b_ub=room, bounds=bounds, method="highs", options=clock
            )
            if answer.status == _SOLVER_OUT_OF_TIME:
                raise _OutOfTime
            return answer

        answer = solved()
        if answer.x is None and wide is None:
            short = (room[:lines] < 0) & (room[:lines] > -TOUCH_MM - _FREE_MM)
            room[:lines][short] = 0.0
            answer = solved()
        if answer.x is None:
            return None, float("inf")
        moved = [
            replace(item, x=item.x + float(answer.x[2 * k]), y=item.y + float(answer.x[2 * k + 1]))
            for k, item in enumerate(laid)
        ]
        return moved, float(answer.x[2 * count + 1 :].sum()) if slacks else 0.0

    def _lines(self, laid: Sequence[Laid], step: float) -> tuple[Any, Any, Any, Any]:
        """For every pair of bits that could meet within a step: both parts, the normal, and the
        room left along it.
        """
        import numpy as np

        reach = self.gap + 3 * step
        first, second, normals, rooms = [], [], [], []
        for j, b in enumerate(laid):
            for i, a in enumerate(laid[:j]):
                if (a.shape.key, b.shape.key) not in self._sums and self._left_s() <= 0:
                    raise _OutOfTime
                if (
                    a.x + a.shape.box[0] > b.right + reach
                    or b.x + b.shape.box[0] > a.right + reach
                    or a.y + a.shape.box[1] > b.top + reach
                    or b.y + b.shape.box[1] > a.top + reach
                ):
                    continue
                normal, room = self._sums_of(a.shape, b.shape).separating(
                    b.x - a.x, b.y - a.y, reach
                )
                first.append(np.full(len(room), i))
                second.append(np.full(len(room), j))
                normals.append(normal)
                rooms.append(room - self.gap)
        if not rooms:
            return np.zeros(0, int), np.zeros(0, int), np.zeros((0, 2)), np.zeros(0)
        return (
            np.concatenate(first),
            np.concatenate(second),
            np.concatenate(normals),
            np.concatenate(rooms),
        )

    def _sums_of(self, a: Shape, b: Shape) -> _Sums:
        key = (a.key, b.key)
        if key not in self._sums:
            self._sums[key] = _Sums(a, b)
        return self._sums[key]


class _OutOfTime(Exception):
    """The time is over while the lines are being found."""


def _apart_enough(laid: Sequence[Laid], gap_mm: float) -> bool:
    """Check by distances that all outlines of the search keep the gap: far cheaper than the lines
    of a program.
    """
    import shapely
    from shapely import affinity

    shapes = [affinity.translate(item.shape.polygon, item.x, item.y) for item in laid]
    tree = shapely.STRtree(shapes)
    if gap_mm > TOUCH_MM:
        pairs = tree.query(shapes, predicate="dwithin", distance=gap_mm - TOUCH_MM).T
        return all(i == j for i, j in pairs)
    pairs = tree.query(shapes, predicate="intersects").T
    return all(shapes[i].intersection(shapes[j]).area < TOUCH_MM for i, j in pairs if i < j)


class _Sums:
    """The no-fit polygons of all pairs of bits of two shapes, in arrays of one length (corners
    repeated).
    """

    def __init__(self, a: Shape, b: Shape) -> None:
        import numpy as np

        mirrored = [[(-x, -y) for x, y in bit] for bit in b.bits]
        loops = [_corners(minkowski(one, other)) for one in a.bits for other in mirrored]
        most = max(len(loop) for loop in loops)
        # pairs, corners, 2
        self.points = np.array([loop + [loop[-1]] * (most - len(loop)) for loop in loops])
        self.low, self.high = self.points.min(axis=1), self.points.max(axis=1)
        self.ways = np.roll(self.points, -1, axis=1) - self.points
        size = np.hypot(self.ways[..., 0], self.ways[..., 1])
        self.size2 = np.where(size > 1e-9, size**2, 1.0)
        flat = np.where(size > 1e-9, size, 1.0)
        self.normals = np.stack([self.ways[..., 1], -self.ways[..., 0]], axis=-1) / flat[..., None]
        self.offsets = np.where(size > 1e-9, (self.normals * self.points).sum(axis=-1), np.inf)

    def separating(self, x: float, y: float, reach: float) -> tuple[Any, Any]:
        """The line that separates best, for each pair of bits nearer than `reach`: normal, and how
        far (x, y) lies beyond the polygon along it (negative: inside).
        """
        import numpy as np

        at = np.array([x, y])
        near = np.flatnonzero(((self.low - reach < at) & (at < self.high + reach)).all(axis=1))
        rows = np.arange(len(near))
        normals, points, ways = self.normals[near], self.points[near], self.ways[near]
        beyond = normals @ at - self.offsets[near]
        side = beyond.argmax(axis=1)
        normal, room = normals[rows, side], beyond[rows, side]
        outside = room > 1e-9
        if outside.any():
            # the shortest way to the polygon is a better normal where a corner is nearest
            share = np.clip(((at - points) * ways).sum(axis=-1) / self.size2[near], 0.0, 1.0)
            away = at - (points + share[..., None] * ways)
            far = np.hypot(away[..., 0], away[..., 1])
            corner = far.argmin(axis=1)
            length = far[rows, corner]
            use = outside & (length > 1e-9)
            best = away[rows, corner] / np.where(length > 1e-9, length, 1.0)[:, None]
            support = (points * best[:, None, :]).sum(axis=-1).max(axis=1)
            normal = np.where(use[:, None], best, normal)
            room = np.where(use, best @ at - support, room)
        kept = room < reach
        return normal[kept], room[kept]


def _corners(loop: Sequence[Point]) -> list[Point]:
    return list(without_repeats(tuple(loop)))


def width(laid: Sequence[Laid]) -> float:
    """The rightmost edge."""
    return max(item.right for item in laid)
