"""Regions where a gridded value is at least a level, as closed contours (marching squares)."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fab.outlines.contour import Contour, Point, polygon
from fab.units import JOIN_TOL_MM

Array = NDArray[np.float64]
# Cell corners: 0 low left, 1 low right, 2 high right, 3 high left; sides: 0 low, 1 right, 2 high, 3
# left. For each pattern of corners inside: (side entered, side left) with the inside on the left
# hand.
_WALKS: dict[int, tuple[tuple[int, int], ...]] = {
    1: ((0, 3),),
    2: ((1, 0),),
    3: ((1, 3),),
    4: ((2, 1),),
    6: ((2, 0),),
    7: ((2, 3),),
    8: ((3, 2),),
    9: ((0, 2),),
    11: ((1, 2),),
    12: ((3, 1),),
    13: ((0, 1),),
    14: ((3, 0),),
}
_SADDLES = {  # pattern, middle inside: joined or apart
    (5, True): ((0, 1), (2, 3)),
    (5, False): ((0, 3), (2, 1)),
    (10, True): ((1, 2), (3, 0)),
    (10, False): ((1, 0), (3, 2)),
}


def region(x: Array, y: Array, values: Array, level: float) -> tuple[Contour, ...]:
    """The region of values (rows y, columns x) that are `level` or more; islands and holes, fill by
    even-odd.

    Straight between grid lines; nothing is inside beyond the grid.
    """
    z = np.pad(np.asarray(values) - level, 1, constant_values=-1.0)
    z[z == 0] = 1e-12  # a node on the level counts as inside
    xs = np.concatenate([[x[0] - (x[1] - x[0]) * 1e-3], x, [x[-1] + (x[1] - x[0]) * 1e-3]])
    ys = np.concatenate([[y[0] - (y[1] - y[0]) * 1e-3], y, [y[-1] + (y[1] - y[0]) * 1e-3]])
    inside = (z > 0).astype(int)
    pattern = inside[:-1, :-1] + 2 * inside[:-1, 1:] + 4 * inside[1:, 1:] + 8 * inside[1:, :-1]
    following: dict[tuple[int, int, int], tuple[int, int, int]] = {}
    for row, column in np.argwhere((pattern > 0) & (pattern < 15)).tolist():
        kind = int(pattern[row, column])
        walks = (
            _WALKS.get(kind)
            or _SADDLES[kind, bool(z[row : row + 2, column : column + 2].mean() > 0)]
        )
        for enter, leave in walks:
            following[_side(row, column, enter)] = _side(row, column, leave)
    loops = []
    while following:
        first, here = following.popitem()
        path = [first]
        while here != first:
            path.append(here)
            here = following.pop(here)
        points = [_cross(xs, ys, z, side) for side in path]
        kept = [p for k, p in enumerate(points) if _apart(p, points[k - 1])]
        if len(kept) > 2:
            loops.append(polygon(kept))
    return tuple(sorted(loops, key=lambda loop: loop.segments[0].start))


def _side(row: int, column: int, side: int) -> tuple[int, int, int]:
    """Name of a cell's side, shared by its two cells: (row, column, 0 lies along x or 1
    along y).
    """
    return ((row, column, 0), (row, column + 1, 1), (row + 1, column, 0), (row, column, 1))[side]


def _cross(xs: Array, ys: Array, z: Array, side: tuple[int, int, int]) -> Point:
    row, column, upright = side
    other = (row + 1, column) if upright else (row, column + 1)
    a, b = float(z[row, column]), float(z[other])
    share = a / (a - b)
    if upright:
        return (float(xs[column]), float(ys[row] + (ys[row + 1] - ys[row]) * share))
    return (float(xs[column] + (xs[column + 1] - xs[column]) * share), float(ys[row]))


def _apart(p: Point, q: Point) -> bool:
    return abs(p[0] - q[0]) > 10 * JOIN_TOL_MM or abs(p[1] - q[1]) > 10 * JOIN_TOL_MM
