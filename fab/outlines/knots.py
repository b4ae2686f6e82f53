"""Ends of lines that lie on each other within a tolerance, numbered: the knots of a drawing."""

from __future__ import annotations

import math

from fab.outlines.contour import Point


class Knots:
    """Points nearer than the tolerance are one; the first one met gives the place."""

    def __init__(self, tol_mm: float) -> None:
        self.tol, self._side = tol_mm, 8 * tol_mm
        self._cells, self.points = dict[tuple[int, int], list[int]](), list[Point]()
        # where one line ends the next one mostly begins, to the last digit
        self._same: dict[Point, int] = {}

    def of(self, at: Point) -> int:
        """Number of the knot at a point: a new one where none is nearer than the tolerance."""
        knot = self._same.get(at)
        if knot is None:
            knot = self._same[at] = self._near(at)
        return knot

    def _near(self, at: Point) -> int:
        # a cell is eight tolerances wide, so few points have to look into a second one
        x, y, tol = at[0] / self._side, at[1] / self._side, self.tol / self._side
        cx, cy = math.floor(x), math.floor(y)
        # far from the cell's border, and nothing in it: a point of its own, without looking round
        if tol <= x - cx <= 1 - tol and tol <= y - cy <= 1 - tol and (cx, cy) not in self._cells:
            self.points.append(at)
            self._cells[cx, cy] = [len(self.points) - 1]
            return len(self.points) - 1
        near_x = [cx] + ([cx - 1] if x - cx < tol else []) + ([cx + 1] if cx + 1 - x < tol else [])
        near_y = [cy] + ([cy - 1] if y - cy < tol else []) + ([cy + 1] if cy + 1 - y < tol else [])
        best: tuple[float, int] | None = None
        for i in near_x:
            for j in near_y:
                for k in self._cells.get((i, j), ()):
                    far = math.dist(self.points[k], at)
                    if far <= self.tol and (best is None or (far, k) < best):
                        best = (far, k)
        if best is not None:
            return best[1]
        self.points.append(at)
        self._cells.setdefault((cx, cy), []).append(len(self.points) - 1)
        return len(self.points) - 1

    def point(self, knot: int) -> Point:
        """The place of a knot: that of the first point that made it."""
        return self.points[knot]
