"""The book's own pictures: the wall, line drawings of parts, plates.

Sheets, template and plan come from their rooms.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence

from fab import colours
from fab.book.wallmarks import (
    HIDDEN,
    SOFT,
    header_mark,
    inlet_mark,
    inlet_places,
    jumper_mark,
    legend_row,
    screw_mark,
    zone_tint,
)
from fab.design import Design
from fab.layout.kinds import file_word
from fab.layout.model import PlacedPanel
from fab.outlines.contour import Point, polygon
from fab.outlines.figures import size_to_fit_mm
from fab.outlines.fitted import Place, fitted
from fab.outlines.inks import INK, SKY
from fab.outlines.page import Fill, Group, Item, Page, Text, polyline, ring
from fab.prints.model import Plate
from fab.solids.hiddenline import LineArt
from fab.units import some


def shown_panel(design: Design) -> PlacedPanel:
    """The panel that stands for all in pictures of one: the first that is lit."""
    return next(
        (panel for panel in design.layout.panels if panel.name not in design.blank),
        design.layout.panels[0],
    )


def art_page(
    art: LineArt,
    width: float,
    most_height: float,
    title: str,
    says: str,
    *,
    hidden: bool = False,
    notes: Sequence[tuple[float, float, str]] = (),
) -> Page:
    """A line drawing on a page of `width`; `notes` are (x, y, text) in the drawing's own
    coordinates.
    """
    scale, high, at = fitted(art.box, width, most_height, 3.0)
    items: list[Item] = []
    if hidden:
        items += [polyline(map(at, path), 0.1, HIDDEN) for path in art.hidden if _long(path, scale)]
    items += [polyline(map(at, path), 0.22, INK) for path in art.visible if _long(path, scale)]
    for x, y, text in notes:
        px, py = at((x, y))
        items.append(Text(px, py, text, 3.2))
    return Page(width, high, tuple(items), title, says)


def _long(path: Sequence[Point], scale: float) -> bool:
    return sum(math.dist(a, b) for a, b in itertools.pairwise(path)) * scale > 0.05


FRAME = 0.86  # inner over outer size of a coloured frame


def _frame(design: Design, panel: PlacedPanel, at: Place) -> list[Item]:
    """The frame of a panel in the colour of its shell, where that has a roll of its own."""
    colour = colours.shown(design.job.shop, design.plans[panel.design].params)
    if not colour:
        return []
    inner = [
        (panel.x + (x - panel.x) * FRAME, panel.y + (y - panel.y) * FRAME) for x, y in panel.corners
    ]
    rims = (
        polygon([at(corner) for corner in panel.corners]),
        polygon([at(corner) for corner in inner]).reversed(),
    )
    return [Fill(rims, colour, 0.9)]


def panel_marks(
    panel: PlacedPanel, at: Place, scale: float, tint: str, frame: Sequence[Item] = ()
) -> tuple[Item, ...]:
    """A panel of the wall: tinted outline, a frame of another colour under its name, its name."""
    outline = polygon([at(corner) for corner in panel.corners])
    x, y = at((panel.x, panel.y))
    size = max(min(panel.cell.apothem * scale * 0.55, 7.0), 1.6)
    fitting = _fit(panel.name, size, panel.cell.apothem * scale * 1.5)
    return (
        Fill((outline,), tint, 0.28),
        *frame,
        ring(outline, 0.35, INK),
        Text(x, y - size * 0.36, panel.name, fitting, "middle", bold=True),
    )


def wall_page(
    design: Design,
    width: float = 180.0,
    most_height: float = 150.0,
    box: tuple[float, float, float, float] | None = None,
    *,
    with_legend: bool = True,
) -> Page:
    """The wall from the front: panels by zone with names, headers, inlets, hangers.

    Panels link to their address rows. `box`: the part of the wall that the picture has room for,
    the layout's own where none is given. `with_legend`: what the marks mean, in a row below.
    """
    layout = design.layout
    scale, high, at = fitted(box or layout.box, width, most_height, below=12.0)
    items: list[Item] = []
    zone_of = design.wired.zone_of
    for panel in layout.panels:
        zone = zone_of[panel.name]
        tint = zone_tint(zone.index)
        marks = panel_marks(panel, at, scale, tint, _frame(design, panel, at))
        use = design.use_of[panel.name]
        fed = f"zone {zone.index}" if zone.index else "blank cover"
        says = f"panel {panel.name}, base {use.kind.key}, {fed}"
        items.append(Group(marks, title=says, href=f"#panel-{anchor_of(panel.name)}"))
    for k in design.table.headers:
        joint, row = layout.joints[k], design.table.rows[k]
        items.append(
            header_mark(at((joint.x, joint.y)), joint.normal_deg, power=row.supply, scale=scale)
        )
    for k in design.table.jumpers:
        joint, row = layout.joints[k], design.table.rows[k]
        items += jumper_mark(
            at((joint.x, joint.y)), joint.normal_deg, power=row.supply, scale=scale
        )
    for spot, facing_deg in inlet_places(design):
        items += inlet_mark(at(spot), facing_deg)
    for hanger in design.hung.hangers:
        items += screw_mark(at((hanger.x, hanger.y)))
    if with_legend:
        items += legend_row(8.0, 6.0, design.table, hung=bool(design.hung.hangers))
    says = (
        f"{some(len(layout.panels), 'panel')}, {some(len(layout.joints), 'joint')},"
        f" {len(layout.open_edges)} open"
        " edges, seen from the front."
    )
    return Page(width, high, tuple(items), f"The wall {design.job.job}", says)


def _fit(text: str, size: float, room: float) -> float:
    return size_to_fit_mm(text, room, size)


def anchor_of(name: str) -> str:
    """A panel's name as part of an id."""
    return file_word(name)


def plate_page(plate: Plate, outlines: Mapping[str, Sequence[Point]], width: float = 70.0) -> Page:
    """One plate from above with its objects; `outlines` are footprints from the least corner of the
    object's box.
    """
    wide, deep = plate.bed
    scale = (width - 4) / wide
    high = deep * scale + 4

    def at(point: Point) -> Point:
        return (2 + point[0] * scale, 2 + point[1] * scale)

    items: list[Item] = [
        ring(polygon([at(p) for p in ((0, 0), (wide, 0), (wide, deep), (0, deep))]), 0.3, SOFT)
    ]
    for spot in plate.placements:
        shape = outlines.get(spot.name)
        if shape:
            corners = [at(spot.on_bed((p[0] + spot.low[0], p[1] + spot.low[1]))) for p in shape]
        else:
            w, d = spot.size
            corners = [
                at(p)
                for p in (
                    (spot.x, spot.y),
                    (spot.x + w, spot.y),
                    (spot.x + w, spot.y + d),
                    (spot.x, spot.y + d),
                )
            ]
        items += [Fill((polygon(corners),), SKY, 0.3), ring(polygon(corners), 0.2, INK)]
    listed = ", ".join(f"{count} x {name}" for name, count in plate.counts)
    return Page(
        width,
        high,
        tuple(items),
        f"Plate {plate.number}",
        f"Plate {plate.number} from above: {listed}.",
    )
