"""The turn of each base with an inlet under its board: a small picture a panel, front view.

A base has its inlet at its own edge 0. The panel's edge 0 is where arrow and figure 0 are sunk into
its floor, and where the board's mark goes.
"""

from __future__ import annotations

import math

from fab.book.datalines import arrow_to
from fab.book.wallmarks import inlet_mark
from fab.design import Design
from fab.files.document import Block, Figure, Step
from fab.layout.model import PlacedPanel
from fab.outlines.contour import Point, polygon
from fab.outlines.figures import size_to_fit_mm
from fab.outlines.inks import BLUE, INK, SOFT_INK
from fab.outlines.page import Fill, Group, Item, Page, Text, ring
from fab.products import PartSpec

WIDTH, HIGH, NUMBER_MM = 56.0, 56.0, 3.0
FLOOR, MARK = "#d3dbe6", BLUE
MOST = 40  # pictures; the address table has all
STEPS = 3  # with their texts: the others are turned alike


def blocks(design: Design) -> list[Block]:
    """A step a panel with an inlet, after the first few its picture alone; nothing for a wall
    without.
    """
    turned = [
        (design.layout.by_name[name], edge)
        for name, edge in list(design.wired.inlets.items())[:MOST]
    ]
    return [
        *(_turn(design, panel, edge) for panel, edge in turned[:STEPS]),
        *(
            Figure(
                turn_page(design, panel),
                f"Panel {panel.name}: {_base(design, panel)}, inlet at edge {edge}.",
            )
            for panel, edge in turned[STEPS:]
        ),
    ]


def _turn(design: Design, panel: PlacedPanel, edge: int) -> Step:
    kind = design.use_of[panel.name].kind
    alike = sum(1 for use in design.uses if use.kind == kind)
    made = f"made for panel {panel.name} alone" if alike == 1 else f"one of {alike} that are alike"
    return Step(
        f"Panel {panel.name}: turn its base",
        turn_page(design, panel),
        "Lay the base as drawn, inside up: the inlet at the edge with the arrow, the sunk mark with"
        f" its 0 at edge 0. Set the board in with its mark there. Write {panel.name} on the back.",
        f"{_base(design, panel)}, {made}, and 1 board.",
        f"The board drops onto the peg, and the inlet is at edge {edge} of panel {panel.name}.",
        "Turn the board, never force it.",
    )


def _base(design: Design, panel: PlacedPanel) -> str:
    """Name of a panel's base in files and lists."""
    return PartSpec("base", panel.design, design.use_of[panel.name].kind).name


def turn_page(design: Design, panel: PlacedPanel) -> Page:
    """A base as it will hang, seen from the front, with inlet, mark and numbers of its edges."""
    edge = design.wired.inlets[panel.name]
    room = min(WIDTH, HIGH) / 2 - 9.0
    scale = room / panel.cell.circumradius
    centre = (WIDTH / 2, HIGH / 2)

    def at(point: Point) -> Point:
        return (centre[0] + (point[0] - panel.x) * scale, centre[1] + (point[1] - panel.y) * scale)

    outline = polygon([at(corner) for corner in panel.corners])
    apothem = panel.cell.apothem * scale
    size = size_to_fit_mm(panel.name, apothem * 0.8, 6.0)
    items: list[Item] = [
        Fill((outline,), FLOOR),
        ring(outline, 0.35, INK),
        Text(centre[0], centre[1] - size * 0.36, panel.name, size, "middle", bold=True),
    ]
    for k in range(panel.cell.sides):
        angle = math.radians(panel.normal_deg(k))
        far = apothem + (2.6 if k != edge else 8.4)
        spot = (centre[0] + far * math.cos(angle), centre[1] + far * math.sin(angle))
        items.append(
            Text(
                spot[0],
                spot[1] - NUMBER_MM * 0.36,
                str(k),
                NUMBER_MM,
                "middle",
                colour=MARK if k == 0 else SOFT_INK,
                bold=k == 0,
            )
        )
    facing = panel.normal_deg(0)
    angle = math.radians(facing)
    start = (
        centre[0] + math.cos(angle) * apothem * 0.5,
        centre[1] + math.sin(angle) * apothem * 0.5,
    )
    mark = arrow_to(start, facing, apothem * 0.4, MARK)
    items.append(Group(tuple(mark), css="mark", title=f"mark at {facing:.0f} degrees"))
    inlet = inlet_mark(at(panel.edge_middle(edge)), panel.normal_deg(edge))
    items.append(Group(tuple(inlet), css="inlet", title=f"inlet at edge {edge}"))
    says = f"The base of panel {panel.name} from the front: inlet at edge {edge}, mark at edge 0."
    return Page(WIDTH, HIGH, tuple(items), f"Turn of base {panel.name}", says)
