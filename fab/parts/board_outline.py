"""The board's flat side, free of the kernel: outline with mounting holes, and where its sockets open."""

from __future__ import annotations

import math

from fab.outlines.contour import Outline, Point, circle, turn
from fab.parts.plan import Plan

CORNER_R = 1.0  # corners of the board are rounded off by this where its edges are long enough, mm


def board_outline(plan: Plan) -> Outline:
    """Outline and mounting holes in the panel frame."""
    holes = tuple(circle(point, plan.params.board.hole / 2) for point in plan.board_holes)
    ring = plan.board
    bend = math.pi / ring.sides if ring.half_facet > 0 else 2 * math.pi / ring.sides
    shortest = min(ring.half_edge, ring.half_facet) if ring.half_facet > 0 else ring.half_edge
    return Outline(ring.contour(min(CORNER_R, 0.9 * shortest / math.tan(bend / 2))), holes)


def socket_places(plan: Plan) -> tuple[Point, ...]:
    """Middle of each socket's mouth, on the board's edge."""
    return tuple(turn((plan.board.apothem, 0.0), 2 * math.pi * k / plan.cell.sides) for k in range(plan.cell.sides))
