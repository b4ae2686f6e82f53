"""The shortest way through a few stops, exactly: dynamic programming over what has been visited.

After M. Held and R. Karp, "A dynamic programming approach to sequencing problems", J. SIAM 10
(1962), with every door of a stop as a state of its own, so that order and doors are chosen
together.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from fab.outlines.contour import Point

MOST_STOPS = 8  # 256 sets of stops; each one more doubles the work

Door = tuple[Point, Point]  # where the beam starts and where it stops


def shortest(
    stops: Sequence[Sequence[Door]], start: Point, over: Any, toll: float
) -> list[tuple[int, int]]:
    """Order of the stops and the door of each, as (stop, door): no order and no choice of doors is
    shorter.

    over: for each pair of doors (all doors of all stops, counted through) the stops that the way
    between them runs over, as bits; None when nothing is in the way. toll: what a way over a
    visited stop costs beyond its length.
    """
    import numpy as np

    owner = np.array([k for k, stop in enumerate(stops) for _ in stop])
    begin = np.array([door[0] for stop in stops for door in stop])
    end = np.array([door[1] for stop in stops for door in stop])
    ways = np.hypot(end[:, None, 0] - begin[None, :, 0], end[:, None, 1] - begin[None, :, 1])
    count, every = len(owner), np.arange(len(owner))
    costs = np.full((1 << len(stops), count), np.inf)
    back = np.zeros((1 << len(stops), count), int)
    costs[1 << owner, every] = np.hypot(begin[:, 0] - start[0], begin[:, 1] - start[1])
    for visited in range(1, (1 << len(stops)) - 1):
        cost = ways + costs[visited][:, None]
        if over is not None:
            cost = cost + toll * ((over & visited) != 0)
        new = every[(visited >> owner) & 1 == 0]
        last = cost[:, new].argmin(axis=0)
        rows = visited | (1 << owner[new])
        costs[rows, new] = cost[last, new]
        back[rows, new] = last
    visited = (1 << len(stops)) - 1
    at, found = int(costs[visited].argmin()), list[int]()
    while visited:
        found.append(at)
        visited, at = visited & ~(1 << int(owner[at])), int(back[visited, at])
    firsts = np.searchsorted(owner, np.arange(len(stops)))
    return [(int(owner[k]), int(k - firsts[owner[k]])) for k in reversed(found)]
