"""Pictures on the sheets, put back together: what of each falls on which panel, seen from the
front.
"""

from __future__ import annotations

from fab.design import Design
from fab.files.document import Block, Figure
from fab.outlines import clip2d
from fab.outlines.contour import Contour, polygon
from fab.outlines.fitted import fitted
from fab.outlines.inks import INK, ORANGE, SKY, SOFT_INK
from fab.outlines.page import Fill, Item, Page, Text, ring
from fab.parts.art import sheet_art
from fab.parts.artplace import on_sheets, placed

ENGRAVED, CUT_OUT = SKY, ORANGE
FINE_MM = 0.1  # on paper; the cut files are exact


def artwork(design: Design) -> list[Block]:
    """One figure of the wall with all that is engraved and cut through; none without art."""
    if not on_sheets(design.job.art) and not any(
        on_sheets(plan.params.art) for plan in design.plans.values()
    ):
        return []
    return [
        Figure(
            art_page(design),
            "Your pictures on the wall, front view: what is engraved, and what is cut through the"
            " sheets.",
            anchor="art",
            wide=True,
        )
    ]


def art_page(design: Design, width: float = 176.0, most_height: float = 140.0) -> Page:
    """Every diffuser in place with its share of the pictures."""
    layout, wall = design.layout, on_sheets(design.job.art)
    scale, high, at = fitted(layout.box, width, most_height, below=10.0)

    def shapes(region: clip2d.Region) -> tuple[Contour, ...]:
        plain = clip2d.tidy(region.simplify(FINE_MM / scale))
        return tuple(
            polygon([at(panel.to_wall(point)) for point in points])
            for points in clip2d.rings(plain)
        )

    items: list[Item] = []
    for panel in layout.panels:
        plan = design.plans[panel.design]
        pose = (panel.x, panel.y, panel.turn_deg)
        cut = sheet_art(plan, wall, panel)
        items.append(ring(polygon([at(corner) for corner in panel.corners]), 0.25, INK))
        items.append(
            ring(
                polygon(
                    [
                        at(panel.to_wall(point))
                        for point in clip2d.rings(clip2d.of_outline(plan.rings.diffuser))[0]
                    ]
                ),
                0.15,
                SOFT_INK,
            )
        )
        arts = [(art, (0.0, 0.0, 0.0)) for art in on_sheets(plan.params.art)] + [
            (a, pose) for a in wall if not a.panels or panel.name in a.panels
        ]
        for art, where in arts:
            if art.work == "engrave" and (filled := shapes(placed(plan, art, where))):
                items.append(Fill(filled, ENGRAVED, 0.6))
        for hole in cut.holes:
            items.append(Fill(shapes(clip2d.of_outline(hole)), CUT_OUT, 0.6))
    for k, (word, colour) in enumerate((("engraved", ENGRAVED), ("cut through", CUT_OUT))):
        x = 8.0 + 30.0 * k
        items += [
            Fill((polygon([(x, 4.5), (x + 4.0, 4.5), (x + 4.0, 7.5), (x, 7.5)]),), colour, 0.6),
            Text(x + 5.5, 4.9, word, 3.0, colour=SOFT_INK),
        ]
    says = "The wall from the front with the pictures on its diffusers put together."
    return Page(width, high, tuple(items), "Pictures on the wall", says)
