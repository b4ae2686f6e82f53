"""Pictures of the page: those of the book, with what changed since the last save marked in them.

solid blue line   a panel that is new, moved, or fed or hung otherwise than before
dashed orange     where a panel was before
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from fab.book.pictures import panel_marks, wall_page
from fab.book.wallmarks import BLANK, TINTED, legend, zone_tint
from fab.design import Design
from fab.files.pagesvg import page_fragment
from fab.layout.model import Layout, PlacedPanel
from fab.outlines.contour import Box, Point, around, polygon
from fab.outlines.figures import dimension
from fab.outlines.fitted import fitted
from fab.outlines.inks import BLUE
from fab.outlines.page import Fill, Group, Item, Page, line, ring
from fab.params.job import HangParams
from fab.units import fixed, some
from fab.wall.to_hang import located

WIDE_MM, HIGH_MM = 176.0, 150.0
NEW, GONE = BLUE, "#b34700"  # Okabe-Ito blue and vermilion, the second darkened for white
POSE = 6  # so many signs tell design and place of a panel; those after them its wiring
ROOM, KEEP_FREE = "#6b4e9e", "#efe9f7"  # of the room: studs, rails, places without screws
KEY_HIGH_MM = 4.0  # of a mark in the legend
SIDE_MM = 12.0  # room for the dimensions

Signs = Mapping[str, tuple[object, ...]]  # panel to all that its picture shows of it


def bare_page(layout: Layout, box: Box, title: str, before: Signs) -> Page:
    """The wall of which the layout alone is known: outlines and names, tinted as before."""
    scale, high, at = fitted(box, WIDE_MM, HIGH_MM, below=12.0)
    items = tuple(
        Group(panel_marks(panel, at, scale, _tint(before, panel.name)), title=f"panel {panel.name}")
        for panel in layout.panels
    )
    says = f"{some(len(layout.panels), 'panel')}, seen from the front."
    return Page(WIDE_MM, high, items, title, says)


def wall_svg(
    layout: Layout,
    hang: HangParams,
    design: Design | None,
    title: str,
    before: Layout | None,
    was: Signs,
    changed: Sequence[str],
) -> str:
    """The wall from the front with its size in mm, the room there, and marks of what changed."""
    gone = _gone(layout, before)
    corners = [panel.corners for panel in gone] + list(hang.zones)
    box = _all_of([layout.box, *map(around, corners)])
    if design is None:
        page = bare_page(layout, box, title, was)
    else:
        page = wall_page(design, WIDE_MM, HIGH_MM, box, with_legend=False)
    _, _, at = fitted(box, WIDE_MM, HIGH_MM, below=12.0)
    items = [*_room(located(hang, layout), box, at), *map(_without_link, page.items)]
    for panel in gone:
        outline = polygon([at(corner) for corner in panel.corners])
        items.append(
            Group((ring(outline, 0.5, GONE, (1.6, 1.0)),), title=f"{panel.name} was here before")
        )
    names = set(changed)
    for panel in layout.panels:
        if panel.name in names:
            outline = polygon([at(corner) for corner in panel.corners])
            marks = (ring(outline, 0.9, NEW),)
            items.append(Group(marks, css="changed", title=f"panel {panel.name} changed"))
    x0, y0, x1, y1 = layout.box
    low, high = at((x0, y0)), at((x1, y1))
    items.append(dimension((low[0], high[1]), high, 5.0, f"{x1 - x0:.0f} mm", size_mm=3.5))
    items.append(dimension((high[0], low[1]), high, -5.0, f"{y1 - y0:.0f} mm", size_mm=3.5))
    moved = Group(tuple(items), shift=(SIDE_MM / 2, 0.0))
    wide, tall = page.width + 2 * SIDE_MM, page.height + SIDE_MM / 2
    return page_fragment(replace(page, width=wide, height=tall, items=(moved,)), "wall-")


def signs(layout: Layout, design: Design | None) -> Signs:
    """All that the picture shows of each panel, to be compared with that of the last save."""
    found: dict[str, tuple[object, ...]] = {}
    for panel in layout.panels:
        pose = (
            round(panel.x, 3),
            round(panel.y, 3),
            round(panel.turn_deg, 3),
            panel.cell.sides,
            round(panel.cell.edge, 4),
        )
        found[panel.name] = (panel.design, *pose)
        if design is not None:
            zone = design.wired.zone_of[panel.name].index
            inlet = design.wired.inlets.get(panel.name)
            hung = panel.name in design.hung.by_panel
            found[panel.name] += (zone, inlet, hung)
    return found


def _tint(before: Signs, name: str) -> str:
    """The tint of the zone that a panel had."""
    wired = before.get(name, ())[POSE:]
    return zone_tint(wired[0]) if wired and isinstance(wired[0], int) else BLANK


def changed(now: Signs, before: Signs | None) -> tuple[str, ...]:
    """Panels that are drawn otherwise than before, as far as both tell; none where nothing was."""
    if before is None:
        return ()
    return tuple(
        name
        for name, sign in now.items()
        if name not in before or not all(a == b for a, b in zip(sign, before[name], strict=False))
    )


def _gone(layout: Layout, before: Layout | None) -> list[PlacedPanel]:
    """Panels of before at whose place no panel of that outline is now."""
    if before is None:
        return []
    now = {_outline(panel) for panel in layout.panels}
    return [panel for panel in before.panels if _outline(panel) not in now]


def _outline(panel: PlacedPanel) -> tuple[tuple[float, float], ...]:
    return tuple(sorted((round(x, 2), round(y, 2)) for x, y in panel.corners))


def _room(hang: HangParams, box: Box, at: Callable[[Point], Point]) -> list[Item]:
    """Studs and rails as dashed lines, and places to keep free of screws."""
    x0, y0, x1, y1 = box
    items: list[Item] = [
        Group((line(at(start), at(end), 0.3, ROOM, (2.0, 1.2)),), title=title)
        for start, end, title in (
            *(((x, y0), (x, y1), f"stud at x {fixed(x)} mm") for x in hang.studs if x0 <= x <= x1),
            *(((x0, y), (x1, y), f"rail at y {fixed(y)} mm") for y in hang.rails if y0 <= y <= y1),
        )
    ]
    for zone in hang.zones:
        items.append(_kept_free([at(corner) for corner in zone]))
    return items


def _kept_free(corners: Sequence[Point]) -> Group:
    """A place without screws."""
    outline = polygon(corners)
    marks = (Fill((outline,), KEEP_FREE), ring(outline, 0.3, ROOM))
    return Group(marks, title="keep free of screws")


def legend_of(design: Design) -> list[dict[str, str]]:
    """The key to the marks: a small picture and a word each."""
    found = []
    for k, (marks, width, word) in enumerate(legend(design.table, hung=bool(design.hung.hangers))):
        page = Page(width, KEY_HIGH_MM, tuple(marks(0.0, KEY_HIGH_MM / 2)), word)
        found.append({"svg": page_fragment(page, f"key-{k}-"), "word": word})
    hang = design.job.hang
    there = (
        (hang.studs, "stud", Group((line((0.0, 2.0), (6.0, 2.0), 0.3, ROOM, (2.0, 1.2)),))),
        (hang.rails, "rail", Group((line((0.0, 2.0), (6.0, 2.0), 0.3, ROOM, (2.0, 1.2)),))),
        (hang.zones, "no screws", _kept_free([(0.3, 0.3), (5.7, 0.3), (5.7, 3.7), (0.3, 3.7)])),
    )
    for given, word, mark in there:
        if given:
            page = Page(6.0, KEY_HIGH_MM, (mark,), word)
            found.append({"svg": page_fragment(page, f"key-{word}-"), "word": word})
    return [*found, {"svg": "", "word": TINTED}]


def _all_of(boxes: Sequence[Box]) -> Box:
    return around(point for box in boxes for point in (box[:2], box[2:]))


def _without_link(item: Item) -> Item:
    """The item without its way to a row of the book."""
    return replace(item, href="") if isinstance(item, Group) else item
