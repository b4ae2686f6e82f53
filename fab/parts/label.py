"""Name and up arrow, raised on the inside of a base that carries a hanger.

Seen from the front, so not mirrored.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from fab.outlines.contour import Point, turn
from fab.outlines.shapes import cut_corner_points
from fab.outlines.strokes import strokes, width_mm
from fab.parts.apart import clear, point_to_box
from fab.parts.keyhole import Keyhole, obstacles
from fab.parts.plan import Plan
from fab.parts.vents import vent_slots

ARROW_H = 8.0
TEXT_H = 7.0
CLEAR = 1.0  # kept free round the label, mm
SIZES = tuple(k / 20 for k in range(20, 4, -1))  # shares of the full size that are tried
SPACING = 1.6 / 6  # between two letters, as a share of their height: the alphabet's own


Line = tuple[Point, Point]


def label_width(plan: Plan) -> float:
    """Width of a stroke, mm."""
    return 2 * plan.printer.extrusion_width


def label_lines(
    plan: Plan, text: str, up_deg: float, hole: Keyhole, jumpers: Sequence[int] = (), *, inlet: bool
) -> list[Line]:
    """Middle lines that write the name under the keyhole, an arrow to its left.

    Shrinks to the room between what stands on the floor; drawn upright in the wall frame. Empty
    without room.
    """
    size = label_size(plan, text, up_deg, hole, jumpers, inlet=inlet) / TEXT_H
    if size <= 0:
        return []
    top = label_top(plan, up_deg, hole)
    left = -_wide(text) * size / 2
    pieces: list[tuple[Point, ...]] = []
    arrow_x = left + 0.35 * ARROW_H * size
    foot, tip, wing = top - ARROW_H * size, top, 0.3 * ARROW_H * size
    pieces += [
        ((arrow_x, foot), (arrow_x, tip)),
        ((arrow_x - wing, tip - wing), (arrow_x, tip), (arrow_x + wing, tip - wing)),
    ]
    start = left + (0.7 * ARROW_H + 2.0) * size
    for stroke in strokes(text, TEXT_H * size, "start"):
        pieces.append(tuple((x + start, y + top - TEXT_H * size) for x, y in stroke))
    quarter = math.radians(up_deg) - math.pi / 2  # wall up is +Y of the drawing
    return [
        (turn(a, quarter), turn(b, quarter))
        for piece in pieces
        for a, b in itertools.pairwise(piece)
        if math.dist(a, b) > 1e-6
    ]


def letters(lines: Sequence[Line], width: float) -> list[list[Line]]:
    """The lines in groups of which none touches another's bars: letters, or several that
    may touch.
    """
    groups: list[list[Line]] = []
    for a, b in lines:
        box = [(a, b)]
        near = [group for group in groups if any(_near(one, (a, b), width) for one in group)]
        for group in near:
            box = group + box
            groups.remove(group)
        groups.append(box)
    return groups


def _near(one: Line, two: Line, width: float) -> bool:
    """True when the boxes round two bars overlap."""
    return all(
        min(one[0][k], one[1][k]) - width <= max(two[0][k], two[1][k])
        and min(two[0][k], two[1][k]) - width <= max(one[0][k], one[1][k])
        for k in (0, 1)
    )


def label_size(
    plan: Plan, text: str, up_deg: float, hole: Keyhole, jumpers: Sequence[int] = (), *, inlet: bool
) -> float:
    """Height of the letters, mm: the largest of a few sizes that stays clear of walls, posts and
    pockets; 0: none.
    """
    ring = cut_corner_points(
        plan.cell.sides, plan.rings.base_inner.apothem, plan.rings.base_inner.facet
    )
    standing = [*obstacles(plan, jumpers, inlet=inlet), *_vents(plan, hole, jumpers)]
    top, wide = label_top(plan, up_deg, hole), _wide(text)
    quarter = math.radians(up_deg) - math.pi / 2
    for size in (size for size in SIZES if TEXT_H * size >= least_height(plan)):
        half, foot = wide * size / 2 + CLEAR, top - ARROW_H * size - CLEAR
        box = [turn(p, quarter) for p in ((-half, foot), (half, foot), (half, top), (-half, top))]
        inside = all(point_to_box(corner, ring) <= 0 for corner in box)
        free = all(clear(box, shape) for shape in standing)
        if (
            inside
            and free
            and all(
                point_to_box(post, box) >= plan.fixings.post_d / 2
                for post in plan.fixings.board_holes
            )
        ):
            return TEXT_H * size
    return 0.0


def least_height(plan: Plan) -> float:
    """Letters lower than this would run into each other: a stroke and the nozzle must fit between
    their middles.
    """
    return (2 * plan.printer.extrusion_width + plan.printer.nozzle) / SPACING


def _vents(plan: Plan, hole: Keyhole, jumpers: Sequence[int]) -> list[tuple[Point, ...]]:
    """Boxes round the air slots: letters must not hang over them."""
    if not plan.params.base.vents:
        return []
    boxes: list[tuple[Point, ...]] = []
    for (ax, ay), (bx, by), wide in vent_slots(plan, hole, jumpers):
        length = math.hypot(bx - ax, by - ay)
        ux, uy = (bx - ax) / length * (wide / 2), (by - ay) / length * (wide / 2)
        boxes.append(
            (
                (ax - ux + uy, ay - uy - ux),
                (bx + ux + uy, by + uy - ux),
                (bx + ux - uy, by + uy + ux),
                (ax - ux - uy, ay - uy + ux),
            )
        )
    return boxes


def _wide(text: str) -> float:
    return ARROW_H * 0.7 + 2.0 + width_mm(text, TEXT_H)


def label_top(plan: Plan, up_deg: float, hole: Keyhole) -> float:
    """Upper edge of the label over the panel's centre: under the entry."""
    up = math.radians(up_deg)
    return (
        hole.entry[0] * math.cos(up)
        + hole.entry[1] * math.sin(up)
        - plan.params.hanger.head_d / 2
        - 3.0
    )
