"""Pictures of a board: what sits where with the data line, and how the pins of two boards meet."""

from __future__ import annotations

import math
from collections.abc import Callable

from fab.outlines.contour import Arc, Line, Point, Segment, circle, polygon, turn
from fab.outlines.fitted import fitted
from fab.outlines.inks import BLUE, GREEN, INK, ORANGE, PURPLE, SKY, SOFT_INK, VERMILION
from fab.outlines.page import Fill, Item, Page, Stroke, Text, line, polyline
from fab.parts.board_source import BoardItem, BoardLayout, edge_of
from fab.parts.boardmark import board_mark
from fab.parts.jumpersizes import row_corners
from fab.parts.plan import Plan
from fab.power.circuit import GROUND, SUPPLY, socket_nets
from fab.units import some

WIDE_MM = 130.0  # width of the drawing on its page
MARGIN = 6.0
LINE = BLUE
LOOKS = (
    ("LED", ORANGE),
    ("socket, on the back", SKY),
    ("switch", PURPLE),
    ("tall part", VERMILION),
)
ROW = ("pin row of a jumper, on the back", GREEN)


def board_page(plan: Plan, layout: BoardLayout, *, rows: bool = False) -> Page:
    """Outline, holes and what sits on the board, from the front, edge 0 to the right; with `rows`,
    those of jumpers.

    The data line runs from LED to LED; a dot is pin 1 of a socket; the arrow at the right is the
    mark of edge 0.
    """
    box, most_height = layout.outline.box, 110.0 + 2 * MARGIN + 8.0
    scale, high, at = fitted(box, WIDE_MM, most_height, MARGIN, below=8.0)

    def placed(part: BoardItem, colour: str) -> list[Item]:
        shape = (
            circle(at(part.at), 0.8)
            if min(part.width, part.depth) <= 0
            else polygon([at(corner) for corner in part.corners])
        )
        dash = (1.0, 0.7) if part.side == "back" else ()
        return [Fill((shape,), colour, 0.35), Stroke(shape.segments, 0.2, INK, dash)]

    items: list[Item] = []
    for parts, (_, colour) in zip(
        (layout.leds, layout.sockets, layout.switches, layout.parts), LOOKS, strict=True
    ):
        for part in parts:
            items += placed(part, colour)
    for edge in range(plan.cell.sides if rows else 0):
        shape = polygon([at(corner) for corner in row_corners(plan, edge)])
        items += [Fill((shape,), ROW[1], 0.35), Stroke(shape.segments, 0.2, INK, (1.0, 0.7))]
    for contour in (layout.outline.edge, *layout.outline.holes):
        items.append(Stroke(tuple(_laid(seg, at) for seg in contour.segments), 0.35, INK))
    if len(layout.leds) > 1:
        items.append(polyline([at(led.at) for led in layout.leds], 0.3, LINE))
    for k in {0, len(layout.leds) - 1} if layout.leds else ():
        x, y = at(layout.leds[k].at)
        items.append(Text(x, y - 0.9, f"D{k + 1}", 2.6, "middle", colour=INK, bold=True))
    for curve in board_mark(layout):
        items.append(Stroke(tuple(_laid(seg, at) for seg in curve.segments), 0.3, INK))
    if plan.fixings.mark is not None:
        x, y = at(plan.fixings.mark.at)
        items += [
            Fill((circle((x, y), plan.fixings.peg_d / 2 * scale),), INK),
            Text(x - 2.4, y - 1.0, "peg", 2.4, "end", colour=INK),
        ]
    right, middle = at((box[2], 0.0))
    tip = [(right + 0.8, middle), (right + 4.2, middle + 2.0), (right + 4.2, middle - 2.0)]
    items += [
        Fill((polygon([tip[0], tip[2], tip[1]]),), INK),
        Text(right + 4.4, middle + 3.0, "edge 0", 2.6, "start", 90.0, INK),
    ]
    for socket in layout.sockets:
        x, y = at(first_pin(plan, socket))
        items.append(Fill((circle((x, y), 0.6),), INK))
        x, y = at(
            turn((0.82 * math.dist((0.0, 0.0), socket.at), 0.0), math.atan2(socket.y, socket.x))
        )
        items.append(
            Text(x, y - 1.0, str(edge_of(plan, socket.at)), 2.8, "middle", colour=SOFT_INK)
        )
    x = MARGIN
    for word, colour in (*LOOKS, *([ROW] if rows else [])):
        items += [
            Fill((polygon([(x, 4.0), (x + 3.0, 4.0), (x + 3.0, 6.5), (x, 6.5)]),), colour, 0.35),
            Text(x + 4.0, 4.2, word, 2.8, colour=SOFT_INK),
        ]
        x += 8.0 + 1.75 * len(word)
    says = (
        f"{some(len(layout.outline.holes), 'hole')}, {some(len(layout.leds), 'LED')},"
        f" {some(len(layout.sockets), 'socket')}, {some(len(layout.switches), 'switch')},"
        f" {some(len(layout.parts), 'other part')}."
    )
    return Page(WIDE_MM, high, tuple(items), f"Board of {plan.params.name}", says)


def _laid(seg: Segment, at: Callable[[Point], Point]) -> Segment:
    """A segment of the board on its page."""
    if isinstance(seg, Arc):
        return Arc(at(seg.start), at(seg.centre), seg.sweep_rad)
    return Line(at(seg.start), at(seg.end))


def first_pin(plan: Plan, socket: BoardItem) -> Point:
    """The place of pin 1 of a socket, at the counter-clockwise end of its edge, 1.5 mm behind the
    mouth.
    """
    header = plan.params.header
    dx, dy = turn((-1.5, (header.pins - 1) / 2 * header.pitch), math.radians(socket.turn_deg))
    return (socket.x + dx, socket.y + dy)


def pins_page(plan: Plan, width: float = 130.0) -> Page:
    """A joint from the front: the pins of both boards with number and net, and the pins that are
    pulled between zones.
    """
    nets = socket_nets(plan, 0)
    pitch, gap = 9.0, 30.0
    high = pitch * len(nets) + 34.0
    left, right = width / 2 - gap / 2, width / 2 + gap / 2
    items: list[Item] = [
        Text(6.0, high - 8.0, "A joint, seen from the front", 4.4, bold=True, colour=INK)
    ]
    top, low = high - 16.0, high - 16.0 - pitch * len(nets)
    for x0, x1, name in ((8.0, left, "one board"), (right, width - 8.0, "the other board")):
        box = polygon([(x0, low), (x1, low), (x1, top), (x0, top)])
        items += [
            Stroke(box.segments, 0.35, INK),
            Text((x0 + x1) / 2, top + 1.6, name, 3.0, "middle", colour=SOFT_INK),
        ]
    for k, net in enumerate(nets):
        y = top - pitch * (k + 0.5)
        other = nets[len(nets) - 1 - k]
        pulled = net == SUPPLY
        items.append(line((left - 6.0, y), (right + 6.0, y), 0.9, VERMILION if pulled else INK))
        items += [
            Text(left - 8.0, y - 1.1, f"{_told(net)}  {k + 1}", 3.0, "end", colour=INK),
            Text(right + 8.0, y - 1.1, f"{len(nets) - k}  {_told(other)}", 3.0, colour=INK),
        ]
        if pulled:
            items.append(
                Text(width / 2, y + 1.2, "pull between zones", 2.6, "middle", colour="#a34700")
            )
    words = "Pin 1: counter-clockwise end of the edge, front view. Pin k meets pin n + 1 - k."
    items.append(Text(8.0, low - 7.0, words, 2.8, colour=SOFT_INK))
    items.append(
        Text(
            8.0,
            low - 11.5,
            "Pull the orange pin out of a header between two zones before you push it in.",
            2.8,
            colour=SOFT_INK,
        )
    )
    return Page(
        width,
        high,
        tuple(items),
        "Pins of a joint",
        "Which pin of one board meets which pin of the other, and which is pulled.",
    )


def _told(net: str) -> str:
    """A net in words."""
    words = {SUPPLY: "supply", GROUND: "ground"}
    return words.get(net, "data out" if "OUT" in net else "data in" if "IN" in net else "data")
