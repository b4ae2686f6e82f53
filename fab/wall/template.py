"""The 1:1 template: a first page to check the printer with, then the wall in pages to cut, tape,
and drill through.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from fab.layout.model import Layout
from fab.outlines.contour import Arc, Box, Line, Point, polygon
from fab.outlines.figures import size_to_fit_mm, text_width_mm
from fab.outlines.page import HAIR_MM, Fill, Group, Image, Item, Page, Stroke, Text, line, polyline
from fab.params.shop import Paper, WallType
from fab.parts.plan import Plan
from fab.units import tool_size
from fab.wall.cover import cover
from fab.wall.furniture import (
    CUT,
    FRONT_MM,
    PageMap,
    bar,
    cross,
    crosses,
    cut_line,
    front_mark,
    front_width,
)
from fab.wall.holes import Hole, datum_panel, holes
from fab.wall.marks import WallPicture, arm, level_lines, picture
from fab.wall.model import Hung
from fab.wall.paper import BELOW_MM, LEAD_MM, LEFT_MM, PaperSheet, sheets
from fab.wall.tiling import Tile, Tiling, tile

NAME_MM = 5.5  # letters of a page's name
MARK_CLEAR_MM = 2.0  # a screw mark keeps this from every cut


@dataclass(frozen=True)
class Template:
    """The pages, how the wall was cut into them, and its holes as numbers."""

    tiling: Tiling
    holes: tuple[Hole, ...]
    datum: Point  # the datum hole in the wall frame
    draw: Callable[[], tuple[Page, ...]] = field(compare=False, repr=False)

    @cached_property
    def pages(self) -> tuple[Page, ...]:
        """The first is for checking the printer. Drawn when somebody looks: checks do not."""
        return self.draw()

    @property
    def page_count(self) -> int:
        """The number of pages."""
        return 1 + len(self.tiling.tiles)


def template(
    layout: Layout,
    plans: Mapping[str, Plan],
    hung: Hung,
    paper: Paper,
    wall: WallType,
    *,
    inches: bool = False,
    title: str = "",
) -> Template:
    """The template of a hung wall on a shop's paper.

    `inches`: "best" paper is Letter or Tabloid; both units are shown.

    Raises InputError for paper that leaves no room.
    """
    table = holes(hung, wall)
    first = hung.by_panel[datum_panel(hung)]
    datum = (first.x, first.y)
    x0, y0, x1, y1 = layout.box
    found = sheets(paper, x1 - x0 + 14.0, y1 - y0 + 14.0, inches=inches)
    tiling = tile(found, layout.panels, hung.marks, arm(wall.drill) + MARK_CLEAR_MM)

    def drawn() -> tuple[Page, ...]:
        shown = picture(layout, plans, table, wall, datum, in_inches=inches)
        joints, maps = crosses(tiling.tiles), PageMap(tiling.tiles)
        pages = [cover(tiling, maps, layout, hung, table, wall, title, in_inches=inches)]
        for number, part in enumerate(tiling.tiles, 2):
            meet = joints[part.name]
            pages.append(_page(tiling, maps, part, number, shown, meet, wall, title, inches=inches))
        sheet = tiling.sheet
        return tuple(corrected(page, sheet.true_x, sheet.true_y) for page in pages)

    return Template(tiling, table, datum, drawn)


def page_shift(sheet: PaperSheet, part: Tile) -> Point:
    """Return what is added to a point of the wall to get its place on a page, true mm."""
    x0, y0, _, _ = sheet.window
    return (x0 + LEAD_MM - part.box[0], y0 + LEAD_MM - part.box[1])


def _page(
    tiling: Tiling,
    maps: PageMap,
    part: Tile,
    number: int,
    shown: WallPicture,
    joints: Sequence[tuple[Point, str]],
    wall: WallType,
    title: str,
    *,
    inches: bool,
) -> Page:
    sheet = tiling.sheet
    wide, high = sheet.page
    window = sheet.window
    shift = page_shift(sheet, part)
    seen: Box = (
        window[0] - shift[0],
        window[1] - shift[1],
        min(window[2] - shift[0], part.box[2] + sheet.overlap),
        min(window[3] - shift[1], part.box[3] + sheet.overlap),
    )
    lines = level_lines(part.box, shown.datum, shown.spots(part.box))
    inner: list[Item] = [*lines, *shown.within(seen, part.box, tiling.on_seams)]
    items: list[Item] = [Group(tuple(inner), shift, seen), *_seams(part, seen, shift)]
    meet = [cross(at, label) for at, label in joints if _inside(at, seen, 3.0)]
    items += [
        Group(tuple(meet), shift, seen),
        *_gutters(tiling, maps, part, number, wall, title, inches=inches),
    ]
    says = f"Page {part.name} of the drilling template, 1:1, front view, not mirrored."
    return Page(wide, high, tuple(items), f"{part.name}", says)


def _inside(at: Point, box: Box, room: float) -> bool:
    return box[0] + room <= at[0] <= box[2] - room and box[1] + room <= at[1] <= box[3] - room


def _seams(part: Tile, seen: Box, shift: Point) -> list[Item]:
    """Cuts on the left and below where a page follows; on the other sides, where that page's cut
    edge comes to lie.
    """
    x0, y0, x1, y1 = (value + shift[k % 2] for k, value in enumerate(part.box))
    left, low, right, top = (value + shift[k % 2] for k, value in enumerate(seen))
    corners = [(left, low), (right, low), (right, top), (left, top)]
    items: list[Item] = [polyline(corners, HAIR_MM, "#aaaaaa", closed=True)]
    # a third: crosses stand in the middle
    mid_x, mid_y = (
        left + (right - left) / 3,
        low + (top - low) / 3,
    )
    edge, cut = "next page's edge", "cut here"
    if part.left:
        items += [
            cut_line((x0, low), (x0, top)),
            Text(x0 - 1.0, mid_y, cut, 2.2, "middle", 90.0, CUT),
        ]
    if part.below:
        items += [
            cut_line((left, y0), (right, y0)),
            Text(mid_x, y0 - 3.0, cut, 2.2, "middle", 0.0, CUT),
        ]
    if part.right:
        items += [
            line((x1, low), (x1, top), HAIR_MM, CUT),
            Text(x1 + 2.6, mid_y, edge, 2.2, "middle", 90.0, CUT),
        ]
    if part.above:
        items += [
            line((left, y1), (right, y1), HAIR_MM, CUT),
            Text(mid_x, y1 + 1.0, edge, 2.2, "middle", 0.0, CUT),
        ]
    return items


def _gutters(
    tiling: Tiling,
    maps: PageMap,
    part: Tile,
    number: int,
    wall: WallType,
    title: str,
    *,
    inches: bool,
) -> list[Item]:
    """Scale bars, page name, map, and the words that must not be missed."""
    x0, y0, x1, y1 = tiling.sheet.printable
    left = x0 + LEFT_MM
    map_w = min(32.0, (x1 - left) / 6)
    name_w = max(text_width_mm(part.name, NAME_MM), front_width(FRONT_MM))
    long_x = bar_length(x1 - left - map_w - name_w - 22.0)
    long_y = bar_length(y1 - y0 - BELOW_MM)
    room = x1 - left - map_w - 3.0
    map_top = y0 + (BELOW_MM - 1.5 if left + long_x + name_w + 14.0 < x1 - map_w else 10.0)
    page = f"page {number} of {len(tiling.tiles) + 1}"
    view = f"FRONT view, not mirrored, top ↑    {page}    {title}".rstrip()
    wide, deep = (tool_size(mm, in_inches=inches) for mm in (wall.drill, wall.depth))
    drill = (
        f"Drill {wide}, {deep} deep, at the crosses. Detector first; never above, below or beside"
        " a socket or switch."
    )
    return [
        bar((left, y0 + 12.0), long_x),
        bar((x0 + 7.0, y0 + BELOW_MM), long_y, upright=True),
        Text(left + long_x + 4.0, y0 + 15.0, part.name, NAME_MM, bold=True),
        front_mark((left + long_x + 4.0, y0 + 9.6), FRONT_MM),
        maps.shown((x1 - map_w, y0 + 1.0, x1, map_top), part),
        Text(left, y0 + 6.0, view, size_to_fit_mm(view, room, 3.2)),
        Text(left, y0 + 1.5, drill, size_to_fit_mm(drill, room, 2.6)),
    ]


def bar_length(room: float) -> float:
    """The scale bar's length: 100 mm, or 50 where the page is too small for it."""
    return 100.0 if room >= 100.0 else 50.0


def corrected(page: Page, true_x: float, true_y: float) -> Page:
    """A page drawn in true mm as it must stand in the PDF, for a printer that makes `true` mm of
    one.
    """
    if true_x == 1.0 and true_y == 1.0:
        return page
    items = tuple(_scaled(item, 1 / true_x, 1 / true_y) for item in page.items)
    return Page(page.width / true_x, page.height / true_y, items, page.title, page.says)


def _scaled(item: Item, sx: float, sy: float) -> Item:
    """An item with its points scaled; line widths and letters are left as they are.

    Arcs become chords of 0.002 mm.
    """
    if isinstance(item, Group):
        inner = tuple(_scaled(part, sx, sy) for part in item.items)
        clip = (
            (item.clip[0] * sx, item.clip[1] * sy, item.clip[2] * sx, item.clip[3] * sy)
            if item.clip
            else None
        )
        return Group(
            inner,
            (item.shift[0] * sx, item.shift[1] * sy),
            clip,
            item.id,
            item.css,
            item.title,
            item.href,
        )
    if isinstance(item, Text):
        return Text(
            item.x * sx,
            item.y * sy,
            item.text,
            item.size_mm,
            item.anchor,
            item.turn_deg,
            item.colour,
            item.bold,
        )
    if isinstance(item, Stroke):
        points = [item.segments[0].start]
        for seg in item.segments:
            points += _ends(seg)
        return polyline(
            [(x * sx, y * sy) for x, y in points], item.width_mm, item.colour, item.dash
        )
    if isinstance(item, Image):
        return Image(item.x * sx, item.y * sy, item.width * sx, item.height * sy, item.png)
    contours = []
    for contour in item.contours:
        points = [point for seg in contour.segments for point in _ends(seg)]
        contours.append(polygon([(x * sx, y * sy) for x, y in points]))
    return Fill(tuple(contours), item.colour, item.opacity)


def _ends(seg: Line | Arc) -> list[Point]:
    if isinstance(seg, Line):
        return [seg.end]
    step = 2 * math.acos(max(1 - 0.002 / seg.radius_mm, 0.0))
    count = max(2, math.ceil(abs(seg.sweep_rad) / step))
    return [seg.at(k / count) for k in range(1, count)] + [seg.end]
