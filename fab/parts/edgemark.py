"""The figure of edge 0, sunk into the floor of a base with an arrow to that edge. Seen from the
front, not mirrored.

 ^        points to edge 0 of panel, board and base
( )       the figure 0, read with edge 0 on top
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from fab.layout.model import BaseKind
from fab.outlines.contour import Contour, Outline, Point, polygon, turn
from fab.outlines.shapes import cut_corner_points, slot
from fab.parts.apart import clear, point_to_box
from fab.parts.footsizes import FOOT_R, recesses
from fab.parts.keyhole import Keyhole, keyhole_of, obstacles
from fab.parts.label import ARROW_H, label_top
from fab.parts.plan import Plan
from fab.parts.vents import vent_slots

HEIGHTS_MM = (6.0, 5.0, 4.2, 3.6)  # of the figure, tried in this order
ARROW = 0.55  # height of the arrow's head, as a share of the figure's
HALF = 0.5  # half of its width, the same
CLEAR = 0.8  # kept free round figure and arrow, mm
STEP_MM = 2.0
LAYERS = 2  # depth: seen in slanting light; the floor keeps its strength


def edge_mark(plan: Plan, kind: BaseKind) -> tuple[Outline, ...]:
    """Return arrow and figure in the base's frame; empty without room, and for a blank cover.

    `plan` is mounted as the base is.
    """
    if plan.params.board.none:
        return ()
    hole = keyhole_of(plan, kind)
    toward = -2 * math.pi * kind.steps / plan.cell.sides
    standing = _standing(plan, kind, hole)
    discs = [
        *((post, plan.fixings.post_d / 2) for post in plan.fixings.board_holes),
        *((spot, FOOT_R) for spot in recesses(plan)),
    ]
    ring = cut_corner_points(
        plan.cell.sides, plan.rings.base_inner.apothem, plan.rings.base_inner.facet
    )
    for size in HEIGHTS_MM:
        half, high = (
            HALF * size + CLEAR,
            size * (1 + ARROW) + 2 * plan.printer.extrusion_width + 2 * CLEAR,
        )
        for near, aside in _places(plan, high):
            low, right, left = near - high, aside - half, aside + half
            box = [
                turn(p, toward) for p in ((low, right), (near, right), (near, left), (low, left))
            ]
            if (
                all(point_to_box(corner, ring) <= 0 for corner in box)
                and all(point_to_box(at, box) >= radius for at, radius in discs)
                and all(clear(box, shape) for shape in standing)
            ):
                return _drawn(plan, size, near - CLEAR, aside, toward)
    return ()


def _places(plan: Plan, high: float) -> Iterator[Point]:
    """Places of the outer end, as distance from the centre towards edge 0 and offset along the
    edge: nearest first.
    """
    near = plan.rings.base_inner.apothem - CLEAR
    while near > -plan.rings.base_inner.apothem:
        for k in range(int(plan.rings.base_inner.apothem / STEP_MM)):
            yield from {(near, k * STEP_MM): None, (near, -k * STEP_MM): None}
        near -= STEP_MM


def _standing(plan: Plan, kind: BaseKind, hole: Keyhole | None) -> list[Sequence[Point]]:
    """The regions that the figure keeps clear of: everything that stands on the floor, keyhole, air
    slots, and the whole band under the keyhole in which a name stands, so that bases with other
    names have the figure at the same place.
    """
    found: list[Sequence[Point]] = list(obstacles(plan, kind.jumpers, inlet=kind.inlet))
    contours: list[Contour] = [] if hole is None else [hole.contour]
    if hole is not None and kind.up_deg is not None and plan.params.base.label:
        top, far = label_top(plan, kind.up_deg, hole), plan.rings.base_inner.apothem * 2
        band = (
            (top - ARROW_H - CLEAR, -far),
            (top, -far),
            (top, far),
            (top - ARROW_H - CLEAR, far),
        )
        found.append([turn(corner, math.radians(kind.up_deg)) for corner in band])
    if plan.params.base.vents:
        contours += [slot(a, b, wide) for a, b, wide in vent_slots(plan, hole, kind.jumpers)]
    for contour in contours:
        x0, y0, x1, y1 = contour.box
        found.append(((x0, y0), (x1, y0), (x1, y1), (x0, y1)))
    return found


def _drawn(
    plan: Plan, size: float, near: float, aside: float, toward: float
) -> tuple[Outline, ...]:
    """Arrow and figure in lines that the printer lays twice."""
    line = 2 * plan.printer.extrusion_width
    return drawn(size, near, aside, toward, line, plan.printer.nozzle)


def drawn(
    size: float, near: float, aside: float, toward: float, line: float, least: float
) -> tuple[Outline, ...]:
    """Arrow and figure, drawn with their top at `near` and turned to edge 0. They share no point:
    the kernel puts shapes that overlap together in an order that changes from run to run.

    `line`: width of the figure's line; `least`: of the room inside it.
    """
    half = HALF * size
    foot = near - ARROW * size - line
    arrow = polygon(
        [(near - ARROW * size, aside - half), (near, aside), (near - ARROW * size, aside + half)]
    )
    wide = max(0.62 * size, 2 * line + least)
    ends = ((foot - size + wide / 2, aside), (foot - wide / 2, aside))
    figure = Outline(slot(*ends, wide), (slot(*ends, wide - 2 * line),))
    return (Outline(arrow).turned(toward), figure.turned(toward))
