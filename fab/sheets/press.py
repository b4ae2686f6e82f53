"""Layouts pressed together, or apart, by linear programming.

Each pair of convex bits is kept apart by one straight line: the one square to the shortest way between the bit's
origin and the pair's no-fit polygon (support h(n), Minkowski's separation). With the lines fixed, the least width
over all small shifts is a linear program; its answer gives better lines, and so on until nothing moves. Every answer
is free of overlap, because each line alone proves its pair apart. With slack allowed, the same program pulls
overlapping parts apart. Compaction and separation after Z. Li and V. Milenkovic, European Journal of Operational
Research 84 (1995), cited from memory.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

from fab.sheets.board import Laid
from fab.sheets.convex import minkowski
from fab.sheets.nofit import Shape

_STEP_MM = 0.06  # share of the width by which a part may move in one program, see `Press.step`
_SLACK_PRICE = 1e3
_FREE_MM = 1e-6


class Press:
    """Knows the strip (its height, from y = 0 up) and the gap; caches the sums of bits."""

    def __init__(self, height_mm: float, gap_mm: float) -> None:
        self.height, self.gap = height_mm, gap_mm + _FREE_MM
        self._sums: dict[tuple[object, object], list[Any]] = {}

    def left(self, laid: Sequence[Laid], rounds: int, stop: Callable[[], bool]) -> list[Laid]:
        """The layout pressed to the left while its width falls; never wider, never overlapping."""
        now = list(laid)
        wide = width(now)
        for _ in range(rounds):
            if stop():
                break
            moved, slack = self._program(now, None)
            if moved is None or slack > 1e-6 or width(moved) > wide - 1e-3:
                if moved is not None and slack <= 1e-6 and width(moved) < wide:
                    now = moved
                break
            now, wide = moved, width(moved)
        return now

    def apart(self, laid: Sequence[Laid], wide: float, rounds: int, stop: Callable[[], bool]) -> list[Laid] | None:
        """The layout with all overlaps gone inside the given width, or None when that did not succeed."""
        now, last = list(laid), float("inf")
        for _ in range(rounds):
            if stop():
                return None
            moved, slack = self._program(now, wide)
            if moved is None:
                return None
            now = moved
            if slack < 1e-7:
                return now
            if slack > last * 0.98:
                return None
            last = slack
        return None

    def _program(self, laid: Sequence[Laid], wide: float | None) -> tuple[list[Laid] | None, float]:
        """One linear program: least width when `wide` is None, else least overlap inside `wide`."""
        import numpy as np
        from scipy.optimize import linprog
        from scipy.sparse import coo_matrix

        count = len(laid)
        step = _STEP_MM * max(self.height, 1.0)
        rows = self._lines(laid, step, wide is not None)
        lines = len(rows)
        slacks = lines if wide is not None else 0
        normals = np.array([row[2:4] for row in rows]).reshape(lines, 2)
        room = np.array([row[4] for row in rows])
        first = np.array([row[0] for row in rows], dtype=int)
        second = np.array([row[1] for row in rows], dtype=int)
        at = np.arange(lines)
        # n . (v + d_j - d_i) + slack >= h + gap   as   n . d_i - n . d_j - slack <= v . n - h - gap = room
        r = np.concatenate([at, at, at, at])
        c = np.concatenate([2 * first, 2 * first + 1, 2 * second, 2 * second + 1])
        v = np.concatenate([normals[:, 0], normals[:, 1], -normals[:, 0], -normals[:, 1]])
        total = 2 * count + 1 + slacks
        if slacks:
            r, c, v = np.concatenate([r, at]), np.concatenate([c, 2 * count + 1 + at]), np.concatenate([v, -np.ones(lines)])
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
        answer = linprog(price, A_ub=matrix, b_ub=room, bounds=bounds, method="highs")
        if answer.x is None:
            return None, float("inf")
        moved = [
            replace(item, x=item.x + float(answer.x[2 * k]), y=item.y + float(answer.x[2 * k + 1]))
            for k, item in enumerate(laid)
        ]
        return moved, float(answer.x[2 * count + 1 :].sum()) if slacks else 0.0

    def _lines(self, laid: Sequence[Laid], step: float, overlapping: bool) -> list[tuple[int, int, float, float, float]]:
        """(i, j, nx, ny, room) of every pair of bits that could meet within a step."""
        reach = self.gap + 3 * step
        rows: list[tuple[int, int, float, float, float]] = []
        for j in range(len(laid)):
            b = laid[j]
            for i in range(j):
                a = laid[i]
                if (
                    a.x + a.shape.box[0] > b.right + reach or b.x + b.shape.box[0] > a.right + reach
                    or a.y + a.shape.box[1] > b.top + reach or b.y + b.shape.box[1] > a.top + reach
                ):
                    continue
                for points, starts, ways, edge_normals, offsets in self._pair(a.shape, b.shape):
                    line = _separating((b.x - a.x, b.y - a.y), points, starts, ways, edge_normals, offsets)
                    if line[2] < reach:
                        rows.append((i, j, line[0], line[1], line[2] - self.gap))
        return rows

    def _pair(self, a: Shape, b: Shape) -> list[Any]:
        """The no-fit polygons of all pairs of bits: corners, edge starts, edge ways, outward normals, offsets."""
        import numpy as np

        key = (a.key, b.key)
        if key not in self._sums:
            found = []
            for one in a.bits:
                for other in b.bits:
                    points = np.array(minkowski(one, [(-x, -y) for x, y in other]))
                    ways = np.roll(points, -1, axis=0) - points
                    size = np.hypot(ways[:, 0], ways[:, 1])
                    keep = size > 1e-9
                    starts, ways, size = points[keep], ways[keep], size[keep]
                    normals = np.stack([ways[:, 1], -ways[:, 0]], axis=1) / size[:, None]
                    found.append((points, starts, ways, normals, (normals * starts).sum(axis=1)))
            self._sums[key] = found
        return self._sums[key]


def _separating(v: tuple[float, float], points: Any, starts: Any, ways: Any, normals: Any, offsets: Any) -> tuple[float, float, float]:
    """The line that separates best: its normal, and how far v lies beyond the polygon along it (negative: inside)."""
    import numpy as np

    at = np.array(v)
    beyond = normals @ at - offsets
    k = int(beyond.argmax())
    if beyond[k] <= 1e-9:
        return (float(normals[k, 0]), float(normals[k, 1]), float(beyond[k]))
    share = np.clip(((at - starts) * ways).sum(axis=1) / (ways * ways).sum(axis=1), 0.0, 1.0)
    foot = starts + share[:, None] * ways
    away = at - foot
    dist = np.hypot(away[:, 0], away[:, 1])
    k = int(dist.argmin())
    if dist[k] <= 1e-9:
        k = int(beyond.argmax())
        return (float(normals[k, 0]), float(normals[k, 1]), float(beyond[k]))
    n = away[k] / dist[k]
    return (float(n[0]), float(n[1]), float(n @ at - (points @ n).max()))


def width(laid: Sequence[Laid]) -> float:
    """The rightmost edge."""
    return max(item.right for item in laid)
