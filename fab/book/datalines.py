"""Pictures of the wall for its electronics: where each panel's mark points, and the way of the
data line.
"""

from __future__ import annotations

import math

from fab.design import Design
from fab.outlines.contour import Point, circle, polygon
from fab.outlines.fitted import WALL_SCALE, Place, fitted
from fab.outlines.inks import BLUE, GREY, INK, SOFT_INK, VERMILION, WHITE
from fab.outlines.page import Fill, Item, Page, Text, line, ring

DATA, WIRE = BLUE, VERMILION
BLANK = GREY
MARGIN = 8.0
LEAST_MM = 1.2  # smaller letters are left out


def _outlines(design: Design, at: Place) -> list[Item]:
    items: list[Item] = []
    for panel in design.layout.panels:
        outline = polygon([at(corner) for corner in panel.corners])
        if panel.name in design.blank:
            items.append(Fill((outline,), BLANK, 0.28))
        items.append(ring(outline, 0.3, INK))
    return items


def arrow_to(start: Point, toward_deg: float, length: float, colour: str = INK) -> list[Item]:
    """An arrow from a point, its head filled."""
    ux, uy = math.cos(math.radians(toward_deg)), math.sin(math.radians(toward_deg))
    tip = (start[0] + ux * length, start[1] + uy * length)
    head = min(max(length * 0.4, 2.4), length)
    foot = (tip[0] - ux * head, tip[1] - uy * head)
    wings = [
        (foot[0] - uy * head * 0.5, foot[1] + ux * head * 0.5),
        (foot[0] + uy * head * 0.5, foot[1] - ux * head * 0.5),
    ]
    shaft = [line(start, foot, 0.4, colour)] if length > head else []
    return [*shaft, Fill((polygon([tip, *wings]),), colour)]


def marks_page(design: Design, width: float = 180.0, most_height: float = 150.0) -> Page:
    """The wall from the front: an arrow in every panel to its edge 0, and 0 beside it."""
    box = design.layout.box
    scale, high, at = fitted(box, width, most_height, MARGIN, below=10.0, most_scale=WALL_SCALE)
    items = _outlines(design, at)
    for panel in design.layout.panels:
        x, y = at((panel.x, panel.y))
        room = panel.cell.apothem * scale
        facing = panel.normal_deg(0)
        size = min(room * 0.32, 4.0)
        ux, uy = math.cos(math.radians(facing)), math.sin(math.radians(facing))
        if size >= LEAST_MM:
            items.append(
                Text(
                    x - ux * room * 0.45,
                    y - uy * room * 0.45 - size * 0.36,
                    panel.name,
                    size,
                    "middle",
                    bold=True,
                )
            )
        if panel.name in design.blank:
            continue
        items += arrow_to((x - ux * room * 0.1, y - uy * room * 0.1), facing, room * 0.68)
        if size * 0.8 >= LEAST_MM:
            beside = (
                x + ux * room * 0.72 - uy * room * 0.22,
                y + uy * room * 0.72 + ux * room * 0.22 - size * 0.3,
            )
            items.append(Text(*beside, "0", size * 0.8, "middle", colour=SOFT_INK))
    words = (
        "Mark of board and base: the arrow points to edge 0. Edges are counted counter-clockwise."
    )
    items.append(Text(MARGIN, 5.0, words, 3.0, colour=SOFT_INK))
    says = (
        "Every panel with an arrow to its edge 0, seen from the front: how base and board are "
        "turned."
    )
    return Page(width, high, tuple(items), "How each panel is turned", says)


def route_page(design: Design, width: float = 180.0, most_height: float = 150.0) -> Page:
    """The wall from the front with the data line of one controller: through joints, and extra
    wires dashed.
    """
    box = design.layout.box
    scale, high, at = fitted(box, width, most_height, MARGIN, below=10.0, most_scale=WALL_SCALE)
    items = _outlines(design, at)
    route, by_name = design.route, design.layout.by_name
    for hop in route.hops:
        a, b = (at((by_name[name].x, by_name[name].y)) for name in (hop.sender, hop.reader))
        wire = hop.joint is None
        items.append(line(a, b, 0.9, WIRE if wire else DATA, (2.0, 1.2) if wire else ()))
        turn = math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))
        middle = (a[0] + (b[0] - a[0]) * 0.5, a[1] + (b[1] - a[1]) * 0.5)
        items += arrow_to(middle, turn, 4.0, WIRE if wire else DATA)
    for number, name in enumerate(route.order, 1):
        panel = by_name[name]
        x, y = at((panel.x, panel.y))
        size = min(panel.cell.apothem * scale * 0.32, 4.0)
        items += [
            Fill((circle((x, y), max(size * 0.85, 0.8)),), WHITE),
            ring(circle((x, y), max(size * 0.85, 0.8)), 0.3, DATA),
        ]
        if size >= LEAST_MM:
            items.append(Text(x, y - size * 0.36, str(number), size, "middle", bold=True))
            items.append(Text(x, y - size * 2.0, name, size * 0.8, "middle", colour=SOFT_INK))
    wires = len(route.wires)
    words = (
        f"Blue: through a joint. Orange, dashed: extra data wire ({wires}). The controller is at "
        f"panel {route.order[0]}."
    )
    items.append(Text(MARGIN, 5.0, words, 3.0, colour=SOFT_INK))
    says = (
        f"The data line from panel to panel in the order {', '.join(route.order[:40])}; {wires} "
        "extra wires."
    )
    return Page(width, high, tuple(items), "Data line", says)
