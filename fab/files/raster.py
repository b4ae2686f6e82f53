"""Polygons painted on points: each point takes the share of its square that a polygon covers.

Every edge is cut at the borders of the squares it runs through; in each it leaves the signed area to its right, and the
sum along a row is how often, and by how much, a square is inside. Only squares that are touched cost anything. A point
is a place in the list of the colours that there are: drawings have few.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
Clip = tuple[int, int, int, int]  # first column and row, and the ones behind the last

_SHADES = 8  # steps from paper to ink: enough for the eye at this size, and a file is smaller
_LONG = 24  # from here on a run of points is quicker painted by itself
MOST_COLOURS = 65_536


class Canvas:
    """`rows` times `columns` white points; x counts columns from the left, y rows from the top."""

    def __init__(self, rows: int, columns: int) -> None:
        self.rows, self.columns = rows, columns
        self.colours = [(255, 255, 255)]
        self._place = {self.colours[0]: 0}
        self._points = np.zeros(rows * columns, np.uint16)

    @property
    def pixels(self) -> NDArray[np.uint8]:
        """(rows, columns, 3): red, green, blue."""
        return np.array(self.colours, np.uint8)[self._points].reshape(self.rows, self.columns, 3)

    def indexed(self) -> tuple[NDArray[np.uint8], bytes] | None:
        """Each point's place (rows, columns) in a palette, and that; None when there are more than 256 colours."""
        used = np.flatnonzero(np.bincount(self._points))
        if len(used) > 256:
            return None
        place = np.zeros(len(self.colours), np.uint8)
        place[used] = np.arange(len(used))
        palette = bytes(part for k in used.tolist() for part in self.colours[k])
        return place[self._points].reshape(self.rows, self.columns), palette

    def paint(
        self, corners: Floats, counts: Sequence[int], colour: tuple[int, int, int], *, even_odd: bool = False,
        opacity: float = 1.0, clip: Clip | None = None,
    ) -> None:  # fmt: skip
        """Fill closed rings: their corners one after the other, (n, 2), and how many each has.

        What several rings wind round is filled once, or not, by `even_odd`.
        """
        at, wound = _wound(corners, counts, self.rows, self.columns)
        long = np.diff(at, append=at[-1:] + 1)
        share = np.abs(wound)
        share = np.abs(share - 2 * np.round(share / 2)) if even_odd else np.minimum(share, 1.0)
        shade = np.round(share * _SHADES).astype(np.int64)
        row, column = np.divmod(at, self.columns + 2)
        shows = (shade > 0) & (column < self.columns)
        row, column, long, shade = row[shows], column[shows], long[shows], shade[shows]
        long = np.minimum(long, self.columns - column)
        if clip is not None:
            row, column, long, shade = _clipped(row, column, long, shade, clip)
        self._spans(row * self.columns + column, long, shade, colour, opacity)

    def _spans(self, first: Whole, long: Whole, shade: Whole, colour: tuple[int, int, int], opacity: float) -> None:
        """Mix the colour into runs of points: long covered ones one by one, the others all together."""
        alone = (long >= _LONG) & (shade == _SHADES) & (opacity == 1)
        if alone.any():
            plain = self._placed(colour)
            for begin, count in zip(first[alone].tolist(), long[alone].tolist(), strict=True):
                self._points[begin : begin + count] = plain
        first, long, shade = first[~alone], long[~alone], shade[~alone]
        where = np.repeat(first - np.cumsum(long) + long, long) + np.arange(long.sum())
        mixtures = self._points[where].astype(np.int64) * (_SHADES + 1) + np.repeat(shade, long)
        found = np.flatnonzero(np.bincount(mixtures))
        place = np.zeros(found[-1] + 1 if len(found) else 0, np.uint16)
        for mixture in found.tolist():
            below, part = divmod(mixture, _SHADES + 1)
            place[mixture] = self._placed(_mixed(self.colours[below], colour, part / _SHADES * opacity))
        self._points[where] = place[mixtures]

    def _placed(self, colour: tuple[int, int, int]) -> int:
        """Where a colour stands in the list; when that is full, white."""
        if colour not in self._place and len(self.colours) < MOST_COLOURS:
            self._place[colour] = len(self.colours)
            self.colours.append(colour)
        return self._place.get(colour, 0)


def _mixed(below: tuple[int, int, int], colour: tuple[int, int, int], share: float) -> tuple[int, int, int]:
    red, green, blue = (round(a + (b - a) * share) for a, b in zip(below, colour, strict=True))
    return red, green, blue


def _clipped(row: Whole, column: Whole, long: Whole, shade: Whole, clip: Clip) -> tuple[Whole, Whole, Whole, Whole]:
    """The parts of runs that lie in a box."""
    left, right = np.maximum(column, clip[0]), np.minimum(column + long, clip[2])
    inside = (row >= clip[1]) & (row < clip[3]) & (right > left)
    return row[inside], left[inside], (right - left)[inside], shade[inside]


def _wound(corners: Floats, counts: Sequence[int], rows: int, columns: int) -> tuple[Whole, Floats]:
    """Squares at which the winding changes, in the order of reading (rows of columns + 2), and the winding from each."""
    follower = np.arange(1, len(corners) + 1)
    behind = np.cumsum(counts)
    follower[behind - 1] = behind - counts
    start, end = corners, corners[follower]
    down = end[:, 1] > start[:, 1]
    upper, lower = np.where(down[:, None], start, end), np.where(down[:, None], end, start)
    seen = (lower[:, 1] > np.maximum(upper[:, 1], 0.0)) & (upper[:, 1] < rows)
    upper, lower, sign = upper[seen], lower[seen], np.where(down, 1.0, -1.0)[seen]
    slope = (lower[:, 0] - upper[:, 0]) / (lower[:, 1] - upper[:, 1])
    first, last = np.maximum(upper[:, 1], 0.0), np.minimum(lower[:, 1], float(rows))
    row, edge = _spread(first, last)
    top, bottom = np.maximum(first[edge], row), np.minimum(last[edge], row + 1)
    xs = [upper[edge, 0] + (y - upper[edge, 1]) * slope[edge] for y in (top, bottom)]
    left, right, height = np.minimum(*xs), np.maximum(*xs), sign[edge] * (bottom - top)
    wide = right - left
    plumb, per = wide <= 0, 1 / np.where(wide > 0, wide, 1.0)
    before = np.where(plumb, left < 0, (np.minimum(right, 0) - np.minimum(left, 0)) * per)  # share beside the canvas
    after = np.where(plumb, left > columns, (np.maximum(right, columns) - np.maximum(left, columns)) * per)
    low, high = np.clip(left, 0, columns), np.clip(right, 0, columns)
    column, piece = _spread(low, high)
    a, b = np.maximum(low[piece], column), np.minimum(high[piece], column + 1)
    share = np.where(plumb[piece], 1 - before[piece] - after[piece], (b - a) * per[piece])
    part, middle = height[piece] * share, (a + b) / 2 - column
    begin = row * (columns + 2)
    square = begin[piece] + column
    out = (before != 0) | (after != 0)
    squares = np.concatenate([square, square + 1, begin[out], begin[out] + columns])
    areas = np.concatenate([part * (1 - middle), part * middle, (height * before)[out], (height * after)[out]])
    at, place = np.unique(squares, return_inverse=True)
    return at, np.cumsum(np.bincount(place, areas, len(at)))


def _spread(low: Floats, high: Floats) -> tuple[Whole, Any]:
    """For each span the whole numbers of the unit squares it runs through, and which span each is of."""
    first = np.floor(low).astype(np.int64)
    count = np.maximum(np.ceil(high).astype(np.int64) - first, 1)
    of = np.repeat(np.arange(len(low)), count)
    return first[of] + np.arange(len(of)) - np.repeat(np.cumsum(count) - count, count), of
