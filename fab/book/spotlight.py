"""Small pictures of the wall with some panels picked out: for steps at one piece or zone."""

from __future__ import annotations

from collections.abc import Collection

from fab.book.pushpictures import HIGH_MM, MOVING, RESTING, SMALL_MM
from fab.book.wallmarks import BLANK, inlet_mark, inlet_places, screw_mark
from fab.design import Design
from fab.outlines.contour import polygon
from fab.outlines.figures import size_to_fit_mm
from fab.outlines.fitted import WALL_SCALE, fitted
from fab.outlines.inks import INK
from fab.outlines.page import Fill, Item, Page, Text, ring

LIGHT = "#f7e08a"  # panels of a zone that is lit
ROOM_MM = 5.0  # beyond the panels, for inlets


def spotlight(
    design: Design, picked: Collection[str], title: str, says: str, *, tint: str = MOVING
) -> Page:
    """The wall from the front: names, screws, inlets; the picked panels in `tint`."""
    layout = design.layout
    scale, high, at = fitted(layout.box, SMALL_MM, HIGH_MM, ROOM_MM, most_scale=WALL_SCALE)
    items: list[Item] = []
    for panel in layout.panels:
        outline = polygon([at(corner) for corner in panel.corners])
        blank = panel.name in design.blank
        colour = tint if panel.name in picked else BLANK if blank else RESTING
        x, y = at((panel.x, panel.y))
        room = panel.cell.apothem * scale
        size = size_to_fit_mm(panel.name, room * 1.1, max(min(room * 0.6, 6.0), 1.2))
        items += [
            Fill((outline,), colour),
            ring(outline, 0.3, INK),
            Text(x, y - size * 0.36, panel.name, size, "middle", bold=True),
        ]
    for hanger in design.hung.hangers:
        items += screw_mark(at((hanger.x, hanger.y)))
    for spot, facing_deg in inlet_places(design):
        items += inlet_mark(at(spot), facing_deg)
    return Page(SMALL_MM, high, tuple(items), title, says)
