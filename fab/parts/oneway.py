"""The mark: which hole of a board tells its turns apart. Free of the kernel and of the plan.

y
|      o     M    M stands aside from every place that a turn of the board, or its back up, brings
|                 a hole to: it is moved along edge 0 on a board drawn here. A peg of the base goes
|    o         o  through it, so the board sits down in one way only.
+-------------> x     edge 0 at +X
|      o     o
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from fab.outlines.contour import Point, turn

SHIFT_MM = 1.5  # how far the hole of the mark stands aside on a board drawn here
# a peg that meets this much of the board keeps it from sitting down; common practice, no source
LEAST_MM = 0.5
PEG_LINES = 4  # printed lines across a peg, at least: two walls of two lines
FEWEST_SCREWS = 2  # holes that are left for screws, at least


@dataclass(frozen=True)
class IndexMark:
    """The hole of the mark."""

    index: int  # among the board's mounting holes
    at: Point
    apart_mm: float  # the least distance from it to a hole of the board in any other pose


def poses(sides: int) -> Iterator[tuple[str, int, bool]]:
    """Return every wrong way to lay a board in: name, edges turned, whether its back is up."""
    for k in range(1, sides):
        yield f"turned by {k} edge{'' if k == 1 else 's'}", k, False
    for k in range(sides):
        yield f"back up, turned by {k} edge{'' if k == 1 else 's'}", k, True


def posed(point: Point, sides: int, edges: int, *, back: bool) -> Point:
    """Return a point of a board that is laid in another way."""
    x, y = point
    return turn((x, -y) if back else (x, y), 2 * math.pi * edges / sides)


def mark_of(holes: Sequence[Point], sides: int) -> IndexMark | None:
    """Return the hole that is furthest from all holes of the board in every other pose.

    None where each hole has a double in some pose, or where too few holes would be left for screws.
    """
    if len(holes) <= FEWEST_SCREWS:
        return None
    others = [[posed(hole, sides, k, back=back) for hole in holes] for _, k, back in poses(sides)]
    best: IndexMark | None = None
    for index, at in enumerate(holes):
        apart = min(math.dist(at, there) for pattern in others for there in pattern)
        if best is None or apart > best.apart_mm + 1e-6:
            best = IndexMark(index, at, apart)
    return best if best is not None and best.apart_mm > LEAST_MM else None
