"""The book's own pictures: the wall, line drawings of parts, plates.

Sheets, template and plan come from their rooms.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Mapping, Sequence

from fab import colours
from fab.design import Design
from fab.layout.joint_table import JointTable
from fab.layout.kinds import file_word
from fab.layout.model import PlacedPanel
from fab.outlines.contour import Point, circle, polygon
from fab.outlines.figures import size_to_fit_mm, text_width_mm
from fab.outlines.fitted import Place, fitted
from fab.outlines.inks import (
    BLUE,
    GREEN,
    GREY,
    INK,
    ORANGE,
    PURPLE,
    SKY,
    SOFT_INK,
    VERMILION,
    YELLOW,
)
from fab.outlines.page import Fill, Group, Item, Page, Stroke, Text, line, polyline, ring
from fab.prints.model import Plate
from fab.solids.hiddenline import LineArt
from fab.units import some

# Okabe-Ito, published as safe for the colour-blind; used as light tints with names beside them.
BLANK = GREY  # panels without electronics
TINTS = (SKY, ORANGE, GREEN, PURPLE, YELLOW, BLUE, VERMILION)
SOFT, HIDDEN = "#8a8f98", "#b8bcc4"


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


def zone_tint(zone: int) -> str:
    """The tint of a zone's panels; zone 0 has no electronics."""
    return TINTS[(zone - 1) % len(TINTS)] if zone else BLANK


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
            _header(at((joint.x, joint.y)), joint.normal_deg, power=row.supply, scale=scale)
        )
    for k in design.table.jumpers:
        joint, row = layout.joints[k], design.table.rows[k]
        items += _jumper(at((joint.x, joint.y)), joint.normal_deg, power=row.supply, scale=scale)
    for spot, facing_deg in inlet_places(design):
        items += inlet_mark(at(spot), facing_deg)
    for hanger in design.hung.hangers:
        items += screw_mark(at((hanger.x, hanger.y)))
    if with_legend:
        items += _legend(8.0, 6.0, design.table, hung=bool(design.hung.hangers))
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


def _header(at: Point, normal_deg: float, *, power: bool, scale: float) -> Stroke:
    angle = math.radians(normal_deg)
    reach = max(min(7.0 * scale, 3.0), 0.8)
    dx, dy = math.cos(angle) * reach, math.sin(angle) * reach
    return line(
        (at[0] - dx, at[1] - dy),
        (at[0] + dx, at[1] + dy),
        0.9,
        INK if power else SOFT,
        () if power else (0.6, 0.6),
    )


def _jumper(at: Point, normal_deg: float, *, power: bool, scale: float) -> list[Item]:
    """A header's line with a ring at each end: two plugs and the wires between them."""
    angle = math.radians(normal_deg)
    reach = max(min(9.0 * scale, 3.6), 1.0)
    ends = [
        (at[0] + side * math.cos(angle) * reach, at[1] + side * math.sin(angle) * reach)
        for side in (-1.0, 1.0)
    ]
    return [
        line(ends[0], ends[1], 0.5, INK if power else SOFT),
        *(ring(circle(end, 0.8), 0.4, INK) for end in ends),
    ]


def cap_mark(at: Point, facing_deg: float, length: float) -> Stroke:
    """A bar along an edge whose middle is `at`."""
    angle = math.radians(facing_deg)
    dx, dy = -math.sin(angle) * length / 2, math.cos(angle) * length / 2
    return line((at[0] - dx, at[1] - dy), (at[0] + dx, at[1] + dy), 1.3, PURPLE)


def inlet_places(design: Design) -> list[tuple[Point, float]]:
    """Places and directions of the cables that leave panels: at an open edge, or of bases on feet
    inside, through the floor.
    """
    found = []
    for name, edge in design.wired.inlets.items():
        panel, facing = design.layout.by_name[name], design.layout.by_name[name].normal_deg(edge)
        plan = design.plans[panel.design]
        if plan.inlet.behind:
            out = plan.cell.apothem - plan.inlet.mouth_u
            angle = math.radians(facing)
            spot = (panel.x + out * math.cos(angle), panel.y + out * math.sin(angle))
            found.append((spot, (facing + 180.0) % 360.0))
        else:
            found.append((panel.edge_middle(edge), facing))
    return found


def inlet_mark(at: Point, facing_deg: float) -> list[Item]:
    """An arrow 6 mm long that ends at a point, from the side that an inlet faces."""
    angle = math.radians(facing_deg)
    dx, dy = math.cos(angle), math.sin(angle)
    tail = (at[0] + dx * 6.0, at[1] + dy * 6.0)
    wing = [
        (at[0] + dx * 2.2 - dy * 1.1, at[1] + dy * 2.2 + dx * 1.1),
        at,
        (at[0] + dx * 2.2 + dy * 1.1, at[1] + dy * 2.2 - dx * 1.1),
    ]
    return [line(tail, at, 0.6, VERMILION), Fill((polygon(wing),), VERMILION)]


TINTED = "tints: zones"
Entry = tuple[Callable[[float, float], list[Item]], float, str]


def legend(table: JointTable, *, hung: bool) -> list[Entry]:
    """The legend of the wall's picture: each mark drawn with its left end at (x, y), its
    width in mm, and its word.
    """
    counts = table.counts
    plain = counts["header without supply"]
    entries: list[tuple[bool, Entry]] = [
        (hung, (lambda x, y: screw_mark((x + 1.6, y)), 3.2, "screw")),
        (
            bool(counts["header"]),
            (lambda x, y: [line((x, y), (x + 5.0, y), 0.9, INK)], 5.0, "header"),
        ),
        (
            bool(table.jumpers),
            (lambda x, y: _jumper((x + 3.4, y), 0.0, power=True, scale=0.3), 6.8, "jumper"),
        ),
        (
            bool(plain),
            (
                lambda x, y: [line((x, y), (x + 5.0, y), 0.9, SOFT, (0.6, 0.6))],
                5.0,
                "header without supply",
            ),
        ),
        (True, (lambda x, y: inlet_mark((x, y), 0.0), 6.0, "inlet, its cable leaves here")),
    ]
    return [entry for there, entry in entries if there]


def _legend(x: float, y: float, table: JointTable, *, hung: bool) -> list[Item]:
    """The legend in one row."""
    items: list[Item] = []
    for marks, width, word in legend(table, hung=hung):
        items += marks(x, y)
        items.append(Text(x + width + 1.5, y - 1.1, word, 3.0, colour=SOFT_INK))
        x += width + 4.5 + text_width_mm(word, 3.0)
    items.append(Text(x, y - 1.1, TINTED, 3.0, colour=SOFT_INK))
    return items


def screw_mark(at: Point) -> list[Item]:
    """A crossed ring: a screw in the room wall."""
    x, y = at
    return [
        line((x - 1.6, y), (x + 1.6, y), 0.25),
        line((x, y - 1.6), (x, y + 1.6), 0.25),
        ring(circle(at, 1.0), 0.25),
    ]


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
