"""Edges of the panels in the book: which number each has, which gets a cap, where inlets are."""

from __future__ import annotations

import math

from fab.book.drawings import cap_page, capped
from fab.book.facts import BookFacts
from fab.book.wallmarks import BLANK, cap_mark, inlet_mark, inlet_places
from fab.design import Design
from fab.files.document import Block, Figure, Step, Table
from fab.outlines.contour import polygon
from fab.outlines.fitted import WALL_SCALE, fitted
from fab.outlines.inks import INK, SOFT_INK
from fab.outlines.page import Fill, Item, Page, Text, ring
from fab.units import some

LEAST_MM = 5.0  # apothem in the picture from which the edges' numbers can be read


def edges_page(design: Design, width: float = 180.0, most_height: float = 150.0) -> Page:
    """The wall from the front: every edge with its number, caps and inlets where they go."""
    layout = design.layout
    scale, high, at = fitted(layout.box, width, most_height, below=10.0, most_scale=WALL_SCALE)

    numbered = min(panel.cell.apothem for panel in layout.panels) * scale > LEAST_MM
    items: list[Item] = []
    for panel in layout.panels:
        outline = polygon([at(corner) for corner in panel.corners])
        x, y = at((panel.x, panel.y))
        apothem = panel.cell.apothem * scale
        size = max(min(apothem * 0.3, 4.2), 1.2)
        if panel.name in design.blank:
            items.append(Fill((outline,), BLANK, 0.28))
        items += [
            ring(outline, 0.3, INK),
            Text(x, y - size * 0.36, panel.name, size, "middle", bold=True),
        ]
        for edge in range(panel.cell.sides):
            angle = math.radians(panel.normal_deg(edge))
            if numbered:
                number = min(apothem * 0.2, 2.8)
                reach = apothem - number * 1.3
                items.append(
                    Text(
                        x + math.cos(angle) * reach,
                        y + math.sin(angle) * reach - number * 0.36,
                        str(edge),
                        number,
                        "middle",
                        colour=SOFT_INK,
                    )
                )
            if edge in design.capped[panel.name]:
                items.append(
                    cap_mark(
                        at(panel.edge_middle(edge)),
                        panel.normal_deg(edge),
                        panel.cell.edge * scale * 0.34,
                    )
                )
    for spot, facing_deg in inlet_places(design):
        items += inlet_mark(at(spot), facing_deg)
    items += [cap_mark((11.0, 6.0), 90.0, 6.0), Text(15.5, 4.9, "cap", 3.0, colour=SOFT_INK)]
    items += [
        *inlet_mark((28.0, 6.0), 0.0),
        Text(
            35.5,
            4.9,
            "inlet; small figures are the edges' numbers" if numbered else "inlet",
            3.0,
            colour=SOFT_INK,
        ),
    ]
    says = (
        f"{some(design.counts.caps, 'cap')} and {some(design.counts.inlets, 'inlet')} by panel and"
        " edge, seen from"
        " the front."
    )
    return Page(width, high, tuple(items), "Edges and caps", says)


def caps(facts: BookFacts) -> list[Block]:
    """The edges that get a cap: the step, picture and table; the way in."""
    design = facts.design
    rows = tuple(
        (
            panel.name,
            ", ".join(map(str, design.capped[panel.name])),
            "" if (inlet := design.wired.inlets.get(panel.name)) is None else str(inlet),
        )
        for panel in design.layout.panels
        if design.capped[panel.name] or panel.name in design.wired.inlets
    )
    blocks: list[Block] = [
        Step(
            "Press the caps in",
            cap_page(facts, closed),
            "Press a cap from outside into the window of each open edge of the picture below, notch"
            " towards the room wall. Edges are counted counter-clockwise, seen from the front."
            " Write"
            " each panel's name on its back: its caps make it that panel.",
            f"{some(design.counts.caps, 'cap')}; the closed panels; a pencil.",
            "Each cap is flush, and no light leaves at an open edge.",
            "Pull it out by its rim, clean the window of strings, and press again.",
        )
        for closed in capped(design)
    ]
    blocks.append(
        Figure(
            edges_page(design),
            "Front view, not mirrored: caps and inlets; edge 0 of a panel that is not turned faces"
            " right.",
            anchor="edges",
            wide=True,
        )
    )
    if rows:
        blocks.append(
            Table("Which edges get a cap", ("panel", "caps at edges", "inlet at edge"), rows)
        )
    return blocks
