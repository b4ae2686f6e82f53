"""Name and up arrow, raised on the inside of a base that carries a hanger. Seen from the front, so not mirrored."""

from __future__ import annotations

import math

from fab.outlines.contour import Contour, Point, turn
from fab.outlines.shapes import slot
from fab.outlines.strokes import strokes, width_mm
from fab.parts.keyhole import Keyhole
from fab.parts.plan import Plan

ARROW_H = 8.0
TEXT_H = 7.0


def label_bars(plan: Plan, text: str, up_deg: float, hole: Keyhole, inlet: bool) -> list[Contour]:
    """Bars two printed lines wide that write the name under the keyhole, an arrow to its left.

    Shrinks to the room between the clip pockets; drawn upright in the wall frame.
    """
    line = 2 * plan.printer.extrusion_width
    room = plan.base_inner.apothem - plan.clip_block_depth - 3.0
    wide = ARROW_H * 0.7 + 2.0 + width_mm(text, TEXT_H)
    below = plan.params.hanger.head_d / 2 + 3.0
    up = math.radians(up_deg)
    entry_h = hole.entry[0] * math.cos(up) + hole.entry[1] * math.sin(up)
    drop = room + entry_h - below
    size = min(1.0, 1.6 * room / wide, max(drop, 4.0) / ARROW_H)
    top = entry_h - below
    left = -wide * size / 2
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
    quarter = up - math.pi / 2  # wall up is +Y of the drawing
    bars = []
    for piece in pieces:
        for a, b in zip(piece, piece[1:], strict=False):
            if math.dist(a, b) > 1e-6:
                bars.append(slot(turn(a, quarter), turn(b, quarter), line))
    del inlet
    return bars
