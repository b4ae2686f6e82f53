"""The mark on the board's LED side: an arrow to edge 0 and the figure 0, as printing on the board.
Front view, panel frame. It lies as near to edge 0 as LEDs, holes and switches leave room.

        y        |        <- the arrow's tip points to edge 0, at +X
        |     0 >|
        +------------> x
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from fab.outlines.contour import Box, Contour
from fab.outlines.crossings import inside
from fab.outlines.distance import distance_mm
from fab.parts.apart import boxes_apart
from fab.parts.board_source import BoardItem, BoardLayout
from fab.parts.edgemark import ARROW, HALF, drawn

HEIGHTS_MM = (4.0, 3.2, 2.5, 2.0, 1.6, 1.3)  # of the figure, tried in this order
LINE_MM = 0.2  # least line of printing on a board; common practice 0.15, no source
CLEAR_MM = 0.3  # kept free of bodies, holes and the board's edge
STEP_MM = 1.0


def board_mark(layout: BoardLayout) -> tuple[Contour, ...]:
    """Return closed curves: the arrow, the figure's outside and inside; empty without room."""
    near = layout.outline.edge.box[2] - CLEAR_MM
    front = [part for part in layout.parts if part.side != "back"]
    bodies = [*layout.leds, *layout.switches, *layout.sockets, *front]  # pins come through
    steps = max(int(near / STEP_MM), 1)
    for size in HEIGHTS_MM:
        half, high = HALF * size, size * (1 + ARROW) + 2 * LINE_MM
        for back in range(steps):
            tip = near - back * STEP_MM
            for k in range(steps):
                aside = STEP_MM * ((k + 1) // 2) * (1 if k % 2 else -1)
                if _free(layout, (tip - high, aside - half, tip, aside + half), bodies):
                    return _curves(size, tip, aside)
    return ()


def _curves(size: float, tip: float, aside: float) -> tuple[Contour, ...]:
    shapes = drawn(size, tip, aside, 0.0, 1.5 * LINE_MM, LINE_MM)
    return tuple(curve for shape in shapes for curve in (shape.edge, *shape.holes))


def _free(layout: BoardLayout, box: Box, bodies: Sequence[BoardItem]) -> bool:
    """True when a box (low x, low y, high x, high y) lies on the board, clear of all that stands on
    it and of its edge and holes.
    """
    x0, y0, x1, y1 = box
    middle, half = ((x0 + x1) / 2, (y0 + y1) / 2), math.hypot(x1 - x0, y1 - y0) / 2
    corners = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
    for body in bodies:
        reach = math.hypot(body.width, body.depth) / 2 + half + CLEAR_MM
        if math.dist(body.at, middle) < reach and boxes_apart(corners, body.corners) < CLEAR_MM:
            return False
    for hole in layout.holes:
        if math.dist(hole.at, middle) < hole.width / 2 + half + CLEAR_MM:
            return False
    edges = (layout.outline.edge, *layout.outline.holes)
    return inside(layout.outline.edge, middle) and all(
        distance_mm(edge, middle) >= half + CLEAR_MM and (k == 0 or not inside(edge, middle))
        for k, edge in enumerate(edges)
    )
