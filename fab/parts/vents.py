"""Air slots in the floor: under the board, so that no light goes through them straight."""

from __future__ import annotations

import math
from collections.abc import Sequence

from fab.outlines.contour import Point
from fab.parts.apart import boxes_apart
from fab.parts.jumpersizes import rim_corners
from fab.parts.keyhole import Keyhole
from fab.parts.plan import Plan

SLOT_W = 2.0  # mm


def vent_slots(
    plan: Plan, hole: Keyhole | None, jumpers: Sequence[int] = ()
) -> list[tuple[Point, Point, float]]:
    """Slots (start, end, width) on the bisectors of the corners, clear of the keyhole, its screw
    head and the rims of the openings for jumpers.
    """
    inner, outer = 0.35 * plan.rings.base_inner.apothem, 0.6 * plan.rings.base_inner.apothem
    rims = [rim_corners(plan, edge) for edge in jumpers]
    slots = []
    for k in range(plan.cell.sides):
        start, end = plan.corner(k, inner), plan.corner(k, outer)
        if hole is not None and not _clear(
            start, end, hole, plan.params.hanger.head_d / 2 + SLOT_W + 1.0
        ):
            continue
        if all(boxes_apart((start, end), rim) >= SLOT_W / 2 + 1.0 for rim in rims):
            slots.append((start, end, SLOT_W))
    return slots


def _clear(start: Point, end: Point, hole: Keyhole, least: float) -> bool:
    steps = 16
    along = [
        (start[0] + (end[0] - start[0]) * k / steps, start[1] + (end[1] - start[1]) * k / steps)
        for k in range(steps + 1)
    ]
    travel = [
        (
            hole.entry[0] + (hole.rest[0] - hole.entry[0]) * k / steps,
            hole.entry[1] + (hole.rest[1] - hole.entry[1]) * k / steps,
        )
        for k in range(steps + 1)
    ]
    return min(math.dist(p, q) for p in along for q in travel) >= least
