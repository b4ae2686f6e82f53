"""Pictures of the page: those of the book, with what changed since the last save marked in them.

solid blue line   a panel that is new, moved, or fed or hung otherwise than before
dashed orange     where a panel was before
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from fab.book.pictures import BLANK, panel_marks, placed, wall_page, zone_tint
from fab.decisions import Design
from fab.files.pagesvg import page_fragment
from fab.layout.model import Layout, PlacedPanel
from fab.outlines.contour import Box, polygon
from fab.outlines.figures import dimension
from fab.outlines.page import Group, Item, Page, ring
from fab.units import some

WIDE_MM, HIGH_MM = 176.0, 150.0
NEW, GONE = "#0072b2", "#b34700"  # Okabe-Ito blue and vermilion, the second darkened for white
POSE = 6  # so many signs tell design and place of a panel; those after them its wiring
SIDE_MM = 12.0  # room for the dimensions

Signs = Mapping[str, tuple[object, ...]]  # panel to all that its picture shows of it


def bare_page(layout: Layout, box: Box, title: str, before: Signs) -> Page:
    """The wall of which the layout alone is known: outlines and names, tinted as before."""
    scale, high, at = placed(box, WIDE_MM, HIGH_MM)
    items = tuple(
        Group(panel_marks(panel, at, scale, _tint(before, panel.name)), title=f"panel {panel.name}")
        for panel in layout.panels
    )
    says = f"{some(len(layout.panels), 'panel')}, seen from the front."
    return Page(WIDE_MM, high, items, title, says)


def wall_svg(
    layout: Layout,
    design: Design | None,
    title: str,
    before: Layout | None,
    was: Signs,
    changed: Sequence[str],
) -> str:
    """The wall from the front with its size in mm, and marks of what changed."""
    gone = _gone(layout, before)
    box = _around([layout.box, *([_box(gone)] if gone else [])])
    if design is None:
        page = bare_page(layout, box, title, was)
    else:
        page = wall_page(design, WIDE_MM, HIGH_MM, box)
    _, _, at = placed(box, WIDE_MM, HIGH_MM)
    items: list[Item] = [_without_link(item) for item in page.items]
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
    items.append(
        dimension((high[0], low[1]), high, -5.0, f"{y1 - y0:.0f} mm", size_mm=3.5),
    )
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


def _box(panels: Sequence[PlacedPanel]) -> Box:
    xs, ys = zip(*(corner for panel in panels for corner in panel.corners), strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def _around(boxes: Sequence[Box]) -> Box:
    lows, highs = [box[:2] for box in boxes], [box[2:] for box in boxes]
    x0, y0 = map(min, zip(*lows, strict=True))
    x1, y1 = map(max, zip(*highs, strict=True))
    return x0, y0, x1, y1


def _without_link(item: Item) -> Item:
    """The item without its way to a row of the book."""
    return replace(item, href="") if isinstance(item, Group) else item
