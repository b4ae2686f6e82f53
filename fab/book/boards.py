"""The circuit boards as a drawing: what whoever makes them has to keep, beside the files in board/."""

from __future__ import annotations

import math

from fab.book.pictures import INK
from fab.decisions import Design
from fab.files.document import Block, Figure
from fab.outlines.contour import Arc, Line, Point, circle, polygon, turn
from fab.outlines.page import Fill, Item, Page, Stroke, Text
from fab.parts.board_source import BoardLayout, Placed, board_layout, edge_of
from fab.parts.jumpersizes import row_corners
from fab.parts.plan import Plan

WIDE_MM = 130.0  # width of the drawing on its page
MARGIN = 6.0
SOFT_INK = "#4a5260"
LOOKS = (("LED", "#e69f00"), ("socket, on the back", "#56b4e9"), ("switch", "#cc79a7"), ("tall part", "#d55e00"))
ROW = ("pin row of a jumper, on the back", "#009e73")


def board_drawings(design: Design) -> list[Block]:
    """One figure a board."""
    blocks: list[Block] = []
    for name, plan in design.plans.items():
        layout = board_layout(plan)
        if layout is not None:
            tail = "" if len(design.plans) == 1 else f"-{name}"
            given = "as your files have it" if plan.params.board.outline or plan.params.board.part else "as drawn to fit the base"
            says = f"The board of {plan.params.name}, {given}, front view: board/outline{tail}.dxf and board/positions{tail}.csv have the places."
            blocks.append(Figure(board_page(plan, layout, name in design.with_rows), says))
    return blocks


def board_page(plan: Plan, layout: BoardLayout, rows: bool = False) -> Page:
    """Outline, holes and what sits on the board, from the front, edge 0 to the right; with `rows`, those of jumpers."""
    x0, y0, x1, y1 = layout.outline.box
    scale = min((WIDE_MM - 2 * MARGIN) / (x1 - x0), 110.0 / (y1 - y0))
    left, low = (WIDE_MM - (x1 - x0) * scale) / 2, MARGIN + 8.0

    def at(point: Point) -> Point:
        return (left + (point[0] - x0) * scale, low + (point[1] - y0) * scale)

    def placed(part: Placed, colour: str) -> list[Item]:
        shape = circle(at(part.at), 0.8) if min(part.width, part.depth) <= 0 else polygon([at(corner) for corner in part.corners])
        dash = (1.0, 0.7) if part.side == "back" else ()
        return [Fill((shape,), colour, 0.35), Stroke(shape.segments, 0.2, INK, dash)]

    items: list[Item] = []
    for parts, (_, colour) in zip((layout.leds, layout.sockets, layout.switches, layout.parts), LOOKS, strict=True):
        for part in parts:
            items += placed(part, colour)
    for edge in range(plan.cell.sides if rows else 0):
        shape = polygon([at(corner) for corner in row_corners(plan, edge)])
        items += [Fill((shape,), ROW[1], 0.35), Stroke(shape.segments, 0.2, INK, (1.0, 0.7))]
    for contour in (layout.outline.edge, *layout.outline.holes):
        drawn = [Arc(at(seg.start), at(seg.centre), seg.sweep_rad) if isinstance(seg, Arc) else Line(at(seg.start), at(seg.end)) for seg in contour.segments]
        items.append(Stroke(tuple(drawn), 0.35, INK))
    for socket in layout.sockets:
        x, y = at(turn((0.82 * math.dist((0.0, 0.0), socket.at), 0.0), math.atan2(socket.y, socket.x)))
        items.append(Text(x, y - 1.0, str(edge_of(plan, socket.at)), 2.8, "middle", colour=SOFT_INK))
    x = MARGIN
    for word, colour in (*LOOKS, *([ROW] if rows else [])):
        items += [Fill((polygon([(x, 4.0), (x + 3.0, 4.0), (x + 3.0, 6.5), (x, 6.5)]),), colour, 0.35), Text(x + 4.0, 4.2, word, 2.8, colour=SOFT_INK)]
        x += 8.0 + 1.75 * len(word)
    says = f"{len(layout.outline.holes)} holes, {len(layout.leds)} LEDs, {len(layout.sockets)} sockets, {len(layout.switches)} switches, {len(layout.parts)} other parts."
    return Page(WIDE_MM, low + (y1 - y0) * scale + MARGIN, tuple(items), f"Board of {plan.params.name}", says)
