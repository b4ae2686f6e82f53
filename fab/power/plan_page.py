"""The power plan: the wall from the front with zones, inlets, cables, headers, and volts.

Nothing is told by colour alone: every panel bears its volts and its zone's number, headers differ
in shape, zones part along thick lines. The scale is the blue-to-yellow map "cividis" (J. R. Nunez,
C. R. Anderton, R. S. Renslow, PLoS ONE 13 (2018) e0199239), made to look alike with and without
colour blindness; it also prints well in grey.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from fab.layout.joint_table import JointRow
from fab.layout.model import Joint, Layout, PlacedPanel
from fab.outlines.contour import Point, circle, polygon
from fab.outlines.figures import size_to_fit_mm, text_width_mm
from fab.outlines.inks import BLACK, BLUE, VERMILION, WHITE, ink
from fab.outlines.page import DASHED, Fill, Group, Item, Page, Text, line, polyline, ring
from fab.power.cables import CableRun
from fab.power.model import Wired
from fab.units import fixed, some

CIVIDIS = (
    "#00224e",
    "#123570",
    "#3b496c",
    "#575d6d",
    "#707173",
    "#8a8678",
    "#a59c74",
    "#c3b369",
    "#e1cc55",
    "#fee838",
)
CABLE, INLET, GREY = BLUE, VERMILION, "#8a8f98"
MARGIN_MM = 6.0
TITLE_MM = 10.0
LEGEND_MM = 34.0
ARROW_MM = 3.0
WIDTH_MM = 180.0
LEAST_TEXT_MM = 1.3  # smaller text is left out
Place = Callable[[Point], Point]  # from the wall to the page


def plan_page(
    layout: Layout,
    wired: Wired,
    runs: Sequence[CableRun] = (),
    *,
    most_height_mm: float = 250.0,
) -> Page:
    """The plan, at most `most_height_mm` high. `runs`: cables to draw."""
    points = [p for panel in layout.panels for p in panel.corners] + [
        p for run in runs for p in run.way
    ]
    x0, y0 = min(x for x, _ in points), min(y for _, y in points)
    x1, y1 = max(x for x, _ in points), max(y for _, y in points)
    loose = [run.way for run in runs if run.socket is None and len(run.way) > 1]
    upward = [way[-1][1] for way in loose if way[-1][1] > way[-2][1]]
    edge = ARROW_MM if loose else 0.0
    wide = WIDTH_MM - 2 * MARGIN_MM - edge
    high = most_height_mm - 2 * MARGIN_MM - TITLE_MM - LEGEND_MM - edge
    scale = min(wide / (x1 - x0), high / (y1 - y0))
    over = max([0.0, *(ARROW_MM - (y1 - y) * scale for y in upward)])  # heads over the drawing
    height = (y1 - y0) * scale + 2 * MARGIN_MM + TITLE_MM + LEGEND_MM + over
    left = (WIDTH_MM - (x1 - x0) * scale) / 2

    def at(p: Point) -> Point:
        return (left + (p[0] - x0) * scale, MARGIN_MM + LEGEND_MM + (p[1] - y0) * scale)

    volts = wired.volts
    low, top = _span(list(volts.values()))
    items: list[Item] = [
        (
            _panel(panel, wired, at, scale, _share(volts[panel.name], low, top))
            if panel.name in volts
            else _blank(panel, at, scale)
        )
        for panel in layout.panels
    ]
    items += [
        _joint(layout.joints[k], wired.table.rows[k], wired.wiring[k].pin_a, layout, at, scale)
        for k in wired.table.joined
    ]
    items += [_cable(run, at) for run in runs if len(run.way) > 1]
    ends = {run.socket: run.way[-1] for run in runs if run.socket is not None}
    items += [_socket(number, at(ends[number])) for number in sorted(ends)]
    items += [_inlet(layout, wired, k, at, scale, runs) for k in range(len(wired.zones))]
    items += _legend(low, top, cables=bool(runs), jumpers=bool(wired.table.jumpers))
    name, volt = wired.lowest
    says = (
        f"{some(len(wired.zones), 'zone')}, brightness {fixed(100 * wired.brightness, 1)} %,"
        f" lowest {volt:.2f} V at panel {name}"
    )
    items.append(
        Text(MARGIN_MM, height - MARGIN_MM - 4.0, "Power plan, seen from the front", 5.0, bold=True)
    )
    items.append(Text(MARGIN_MM, height - MARGIN_MM - 8.5, says, 3.2))
    return Page(WIDTH_MM, height, tuple(items), "Power plan", f"The wall from the front: {says}.")


def _span(values: list[float]) -> tuple[float, float]:
    """Ends of the scale in tenths of a volt, at least two tenths apart."""
    if not values:
        return 0.0, 0.2
    low, top = math.floor(min(values) * 10 + 1e-6) / 10, math.ceil(max(values) * 10 - 1e-6) / 10
    return (low, max(top, low + 0.2))


def _share(value: float, low: float, top: float) -> float:
    return min(max((value - low) / (top - low), 0.0), 1.0)


def colour(share: float) -> str:
    """A point of the scale, 0 dark to 1 light."""
    spot = min(max(share, 0.0), 1.0) * (len(CIVIDIS) - 1)
    k = min(int(spot), len(CIVIDIS) - 2)
    parts = [
        round(
            int(CIVIDIS[k][i : i + 2], 16) * (1 - spot + k)
            + int(CIVIDIS[k + 1][i : i + 2], 16) * (spot - k)
        )
        for i in (1, 3, 5)
    ]
    return "#" + "".join(f"{part:02x}" for part in parts)


def _panel(panel: PlacedPanel, wired: Wired, at: Place, scale: float, share: float) -> Group:
    shape = polygon([at(p) for p in panel.corners])
    fill = colour(share)
    items: list[Item] = [Fill((shape,), fill), ring(shape, 0.2, WHITE)]
    x, y = at((panel.x, panel.y))
    room = panel.cell.apothem * scale
    zone = wired.zone_of[panel.name]
    broad = (0.9 if panel.cell.sides == 3 else 1.2) * room
    volt = wired.volts[panel.name]
    words = (
        (panel.name, 0.5, True),
        (f"{volt:.2f} V", 0.32, False),
        (f"zone {zone.index}", 0.27, False),
    )
    sizes = [size_to_fit_mm(text, broad, min(share_of * room, 6.0)) for text, share_of, _ in words]
    base = y + math.fsum(sizes) * 0.66 - sizes[0] * 0.75
    for (text, _, bold), size in zip(words, sizes, strict=True):
        if size >= LEAST_TEXT_MM:
            items.append(Text(x, base, text, size, "middle", 0.0, ink(fill), bold))
        base -= size * 1.12
    return Group(
        tuple(items),
        id=f"power-{panel.name}",
        title=f"{panel.name}: zone {zone.index}, {fixed(volt)} V",
    )


def _blank(panel: PlacedPanel, at: Place, scale: float) -> Group:
    """A cover without a board."""
    shape = polygon([at(p) for p in panel.corners])
    x, y = at((panel.x, panel.y))
    room = panel.cell.apothem * scale
    size = size_to_fit_mm(panel.name, room, min(0.4 * room, 5.0))
    items: list[Item] = [Fill((shape,), "#e6e6e6"), ring(shape, 0.2, GREY)]
    if size >= LEAST_TEXT_MM:
        items.append(Text(x, y, panel.name, size, "middle", bold=True))
        items.append(Text(x, y - 1.1 * size, "blank", size * 0.8, "middle"))
    return Group(
        tuple(items), id=f"power-{panel.name}", title=f"{panel.name}: a blank cover, no supply"
    )


def _joint(
    joint: Joint, row: JointRow, pin_a: float, layout: Layout, at: Place, scale: float
) -> Group:
    """A header: a bar, black with supply, else white; a jumper: with a plug at each end."""
    a = layout.by_name[joint.a]
    start, end = at(a.corners[joint.edge_a]), at(a.corners[(joint.edge_a + 1) % a.cell.sides])
    length = min(max(0.34 * a.cell.apothem * scale, 1.2), 5.0)
    middle = at((joint.x, joint.y))
    items: list[Item] = []
    if not row.supply:
        items.append(line(start, end, max(min(0.06 * a.cell.apothem * scale, 1.2), 0.35), BLACK))
    jumper = row.kind == "jumper"
    items += _header(middle, joint.normal_deg, length, power=row.supply, jumper=jumper)
    kind = f"{'jumper, ' if jumper else ''}{'all' if row.supply else 'no supply'} pins"
    title = (
        f"{joint.a} to {joint.b}: {kind}, {fixed(pin_a)} A in the most loaded"
        f" {'pole' if jumper else 'pin'}"
    )
    return Group(tuple(items), title=title)


def _header(
    middle: Point, angle_deg: float, length: float, *, power: bool, jumper: bool
) -> list[Item]:
    angle = math.radians(angle_deg)
    ux, uy = math.cos(angle) * length / 2, math.sin(angle) * length / 2
    wx, wy = -uy * 0.36, ux * 0.36
    x, y = middle
    corners = ((-1, -1), (1, -1), (1, 1), (-1, 1))
    bar = polygon([(x + a * ux + b * wx, y + a * uy + b * wy) for a, b in corners])
    items: list[Item] = []
    if jumper:
        for side in (-1.0, 1.0):
            plug = circle((x + side * ux, y + side * uy), length * 0.22)
            items += [
                Fill((plug,), BLACK if power else WHITE),
                ring(plug, 0.2, WHITE if power else BLACK),
            ]
    items += [Fill((bar,), BLACK if power else WHITE), ring(bar, 0.2, WHITE if power else BLACK)]
    return items


def _inlet(
    layout: Layout, wired: Wired, index: int, at: Place, scale: float, runs: Sequence[CableRun]
) -> Group:
    """A wedge the way the plug goes: into the edge, or of bases on feet from behind."""
    zone = wired.zones[index]
    panel = layout.by_name[zone.inlet_panel]
    room = zone.inlet.room
    size = min(max(0.4 * panel.cell.apothem * scale, 2.0), 6.0)
    angle, place = math.radians(room.facing_deg), (room.x, room.y)
    run = next((run for run in runs if run.zone == zone.index), None)
    # the cable begins inside, behind the floor
    if run is not None and math.dist((run.x, run.y), place) > 1.0:
        angle, place = angle + math.pi, ((room.x + run.x) / 2, (room.y + run.y) / 2)
    ux, uy = math.cos(angle), math.sin(angle)
    x, y = at(place)
    tip = (x - ux * size * 0.55, y - uy * size * 0.55)
    back = (x + ux * size * 0.45, y + uy * size * 0.45)
    half = size * 0.38
    wedge = polygon(
        [
            tip,
            (back[0] - uy * half, back[1] + ux * half),
            (back[0] + uy * half, back[1] - ux * half),
        ]
    )
    items: list[Item] = [Fill((wedge,), INLET), ring(wedge, 0.3, BLACK)]
    return Group(tuple(items), title=f"inlet of zone {zone.index}: {fixed(zone.current_a, 2)} A")


def _cable(run: CableRun, at: Place) -> Group:
    points = [at(p) for p in run.way]
    items: list[Item] = [polyline(points, 0.7, CABLE, DASHED)]
    if run.socket is None:
        (ax, ay), (x, y) = points[-2], points[-1]
        away = math.atan2(y - ay, x - ax)
        ux, uy = math.cos(away), math.sin(away)
        head = [
            (x + ARROW_MM * ux, y + ARROW_MM * uy),
            (x - 1.2 * uy, y + 1.2 * ux),
            (x + 1.2 * uy, y - 1.2 * ux),
        ]
        items.append(Fill((polygon(head),), CABLE))
    return Group(tuple(items), title=f"cable of zone {run.zone}")


def _socket(number: int, spot: Point) -> Group:
    word = f"socket {number}"
    x, y = spot
    fits = x + 2.4 + text_width_mm(word, 3.0) < WIDTH_MM
    name = Text(x - 1.6 if fits else x + 1.6, y - 4.6, word, 3.0, "start" if fits else "end")
    return Group((Fill((circle(spot, 1.6),), CABLE), name))


def _legend(low: float, top: float, *, cables: bool, jumpers: bool) -> list[Item]:
    left, y = MARGIN_MM, MARGIN_MM + LEGEND_MM - 10.0
    items: list[Item] = [Text(left, y + 2.0, "Voltage between the supply rails of a panel", 3.0)]
    wide, steps = 80.0, 40
    for k in range(steps):
        # each strip runs on under the next, so no seam shows
        a = left + wide * k / steps
        b = left + wide
        items.append(
            Fill(
                (polygon([(a, y - 5.0), (b, y - 5.0), (b, y), (a, y)]),), colour((k + 0.5) / steps)
            )
        )
    for k in range(6):  # the span is whole tenths, so fifths of it are whole hundredths
        value = low + (top - low) * k / 5
        x = left + wide * k / 5
        items.append(line((x, y - 5.0), (x, y - 6.2), 0.2))
        items.append(
            Text(
                x,
                y - 9.2,
                f"{value:.2f}",
                2.8,
                "start" if k == 0 else "end" if k == 5 else "middle",
            )
        )
    rows: list[tuple[list[Item], str]] = []
    signs = [
        ("header with all pins", True, False),
        ("header without supply pins: data and ground stay", False, False),
    ]
    if jumpers:
        signs.append(("jumper: a cable from the back", True, True))
    for text, power, jumper in signs:
        rows.append((_header((3.0, 0.0), 0.0, 4.0, power=power, jumper=jumper), text))
    wedge = polygon([(5.0, 0.0), (1.0, 1.6), (1.0, -1.6)])
    rows.append(([Fill((wedge,), INLET), ring(wedge, 0.3, BLACK)], "inlet"))
    if cables:
        rows.append(([line((0.0, 0.0), (6.0, 0.0), 0.7, CABLE, DASHED)], "cable on the wall"))
    for k, (sign, text) in enumerate(rows):
        x, base = left + wide + 10.0, y + 1.0 - 6.0 * k
        items.append(Group(tuple(sign), shift=(x, base)))
        items.append(Text(x + 8.5, base - 1.0, text, 2.8))
    items.append(
        Text(
            left,
            MARGIN_MM,
            ("Thick lines separate the zones; the supply does not cross them."),
            2.8,
        )
    )
    return items
