"""Air slots in the floor: under the board, so that no light goes through them straight."""

from __future__ import annotations

import math

from fab.outlines.contour import Point
from fab.parts.keyhole import Keyhole
from fab.parts.plan import Plan

SLOT_W = 2.0  # mm


def vent_slots(plan: Plan, hole: Keyhole | None) -> list[tuple[Point, Point, float]]:
    """Slots (start, end, width) on the bisectors of the corners, clear of the keyhole and its screw head."""
    inner, outer = 0.35 * plan.base_inner.apothem, 0.6 * plan.base_inner.apothem
    slots = []
    for k in range(plan.cell.sides):
        start, end = plan.corner(k, inner), plan.corner(k, outer)
        if hole is None or _clear(start, end, hole, plan.params.hanger.head_d / 2 + SLOT_W + 1.0):
            slots.append((start, end, SLOT_W))
    return slots


def _clear(start: Point, end: Point, hole: Keyhole, least: float) -> bool:
    steps = 16
    along = [
        (start[0] + (end[0] - start[0]) * k / steps, start[1] + (end[1] - start[1]) * k / steps)
        for k in range(steps + 1)
    ]
    travel = [
        (hole.entry[0] + (hole.rest[0] - hole.entry[0]) * k / steps, hole.entry[1] + (hole.rest[1] - hole.entry[1]) * k / steps)
        for k in range(steps + 1)
    ]
    return min(math.dist(p, q) for p in along for q in travel) >= least
