"""Bounds by lengths: what a copy takes of a sheet when lengths are rounded as whole copies beside
each other need them.

A function f on [0, 1] is dual feasible when lengths that fit into 1 together have values that do.
If every copy holds an upright box a x b, then f(a / width) g(b / height) sums up to at most 1 over
all copies on a sheet of `width` x `height` (all swollen by half a gap): S. P. Fekete and J.
Schepers, "A general framework for bounds for higher-dimensional orthogonal packing problems",
Mathematical Methods of Operations Research 60 (2004), 311-329, cited from memory, with their
functions u^(k) and U^(e). Every rounding goes to the safe side. The bound holds for the turns
given, mixed in any way; it is exact for squares that keep upright.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from functools import lru_cache
from typing import TYPE_CHECKING

from fab.sheets.convex import Swollen

if TYPE_CHECKING:
    import numpy as np

_STEPS = (1, 2, 3, 4, 5, 6, 7, 8, 9, 11, 13)
_CUTS = (0.1, 0.2, 0.25, 0.3, 0.35, 0.4, 0.45, 0.5)
_DUST = 1e-9
_LEVELS = 40  # upright lines between which boxes are sought
_ARC = 8  # chords per corner of a swollen copy, inside it


@lru_cache(maxsize=1)
def dual_feasible() -> tuple[Callable[[np.ndarray], np.ndarray], ...]:
    """Functions of arrays in [0, 1]; none decreases. The first is the length itself."""
    import numpy as np

    def steps(k: int) -> Callable[[np.ndarray], np.ndarray]:
        return lambda x: np.floor(np.maximum((k + 1) * x - _DUST, 0.0)) / k

    def cut(least: float) -> Callable[[np.ndarray], np.ndarray]:
        return lambda x: np.where(x > 1 - least + _DUST, 1.0, np.where(x < least + _DUST, 0.0, x))

    return (lambda x: x, *(steps(k) for k in _STEPS), *(cut(e) for e in _CUTS))


def shares(shape: Swollen, turns_deg: Iterable[float], width: float, height: float) -> np.ndarray:
    """The least shares of a sheet that a copy takes at any of the turns, one for each pair of
    functions.
    """
    import numpy as np

    found = [
        _of_one(shape.turned(turn), width, height)
        for turn in sorted({t % 180.0 for t in turns_deg})
    ]
    least: np.ndarray = np.minimum.reduce(found)
    return least


def most_by_lengths(shape: Swollen, turns_deg: Iterable[float], width: float, height: float) -> int:
    """Upper bound for copies of one kind on a sheet."""
    return int(1.0 / max(float(shares(shape, turns_deg, width, height).max()), 1e-9) + 1e-6)


def sheets_by_lengths(
    kinds: Iterable[tuple[Swollen, Iterable[float], int]], width: float, height: float
) -> int:
    """Lower bound for the sheets that kinds (shape, turns, count) need together."""
    total = sum(count * shares(shape, turns, width, height) for shape, turns, count in kinds)
    return math.ceil(float(getattr(total, "max", lambda: 0.0)()) - 1e-6)


def _of_one(shape: Swollen, width: float, height: float) -> np.ndarray:
    import numpy as np

    wide, high = _boxes(_inside(shape))
    functions = dual_feasible()
    first = np.array([f(np.minimum(wide / width, 1.0)) for f in functions])
    second = np.array([f(np.minimum(high / height, 1.0)) for f in functions])
    largest: np.ndarray = (first[:, None, :] * second[None, :, :]).max(axis=2)
    return largest


def _inside(shape: Swollen) -> np.ndarray:
    """Corners of a convex polygon inside the shape, counter-clockwise."""
    import numpy as np
    import shapely

    core = np.array(shape.core, float)
    ways = np.arange(0, 2 * np.pi, np.pi / (2 * _ARC))
    disc = shape.radius * np.stack([np.cos(ways), np.sin(ways)], axis=1)
    around = (core[:, None, :] + disc[None, :, :]).reshape(-1, 2)
    return np.array(shapely.MultiPoint(around).convex_hull.exterior.coords)[:-1][::-1]


def _ends(points: np.ndarray, at: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The lower and upper end of the upright chords of a convex polygon at some x."""
    import numpy as np

    first = int(np.lexsort((points[:, 1], points[:, 0]))[0])
    ring = np.roll(points, -first, axis=0)
    last = int(np.lexsort((ring[:, 1], ring[:, 0]))[-1])
    one, other = ring[: last + 1], np.concatenate([ring[last:], ring[:1]])[::-1]
    a, b = (np.interp(at, side[:, 0], side[:, 1]) for side in (one, other))
    return np.minimum(a, b), np.maximum(a, b)


def _boxes(points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Widths and heights of upright boxes inside a convex polygon."""
    import numpy as np

    left, right = points[:, 0].min(), points[:, 0].max()
    # where boxes of flat shapes end
    near_ends = (1 - np.cos(np.pi * np.arange(1, _LEVELS) / _LEVELS)) / 2
    at = left + (right - left) * near_ends
    low, high = _ends(points, at)
    i, j = np.triu_indices(len(at), 1)
    tall = np.minimum(high[i], high[j]) - np.maximum(low[i], low[j])
    return at[j] - at[i], np.maximum(tall, 0.0)
