"""The 1:1 template: a first page to check the printer with, then the wall in pages to cut, tape,
and drill through.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from fab.layout.model import Layout
from fab.outlines.contour import Box, Point
from fab.outlines.figures import size_to_fit_mm, text_width_mm
from fab.outlines.page import HAIR_MM, Group, Item, Page, Text, line, polyline
from fab.params.shop import Paper, WallType
from fab.parts.plan import Plan
from fab.wall.cover import AllPages, cover
from fab.wall.furniture import CUT, FRONT_MM, bar, cross, crosses, cut_line, front_mark, front_width
from fab.wall.holes import Hole, datum_panel, holes
from fab.wall.marks import WallPicture, arm, level_lines, picture
from fab.wall.model import Hung
from fab.wall.paper import BELOW_MM, LEAD_MM, LEFT_MM, PaperSheet, sheets
from fab.wall.tiling import Tile, Tiling, tile
from fab.wall.true_size import corrected

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
        joints, known = crosses(tiling.tiles), AllPages(tiling, wall, title, inches)
        pages = [cover(known, layout, hung, table)]
        for number, part in enumerate(tiling.tiles, 2):
            pages.append(_page(known, part, number, shown, joints[part.name]))
        sheet = tiling.sheet
        return tuple(corrected(page, sheet.true_x, sheet.true_y) for page in pages)

    return Template(tiling, table, datum, drawn)


def page_shift(sheet: PaperSheet, part: Tile) -> Point:
    """Return what is added to a point of the wall to get its place on a page, true mm."""
    x0, y0, _, _ = sheet.window
    return (x0 + LEAD_MM - part.box[0], y0 + LEAD_MM - part.box[1])


def _page(
    known: AllPages,
    part: Tile,
    number: int,
    shown: WallPicture,
    joints: Sequence[tuple[Point, str]],
) -> Page:
    sheet = known.tiling.sheet
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
    inner: list[Item] = [*lines, *shown.within(seen, part.box, known.tiling.on_seams)]
    items: list[Item] = [Group(tuple(inner), shift, seen), *_seams(part, seen, shift)]
    meet = [cross(at, label) for at, label in joints if _inside(at, seen, 3.0)]
    items += [Group(tuple(meet), shift, seen), *_gutters(known, part, number)]
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
    mid_x, mid_y = (left + (right - left) / 3, low + (top - low) / 3)
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


def _gutters(known: AllPages, part: Tile, number: int) -> list[Item]:
    """Scale bars, page name, map, and the words that must not be missed."""
    x0, y0, x1, y1 = known.tiling.sheet.printable
    left = x0 + LEFT_MM
    map_w = min(32.0, (x1 - left) / 6)
    name_w = max(text_width_mm(part.name, NAME_MM), front_width(FRONT_MM))
    long_x = bar_length(x1 - left - map_w - name_w - 22.0)
    long_y = bar_length(y1 - y0 - BELOW_MM)
    room = x1 - left - map_w - 3.0
    map_top = y0 + (BELOW_MM - 1.5 if left + long_x + name_w + 14.0 < x1 - map_w else 10.0)
    page = f"page {number} of {known.page_count}"
    view = f"FRONT view, not mirrored, top ↑    {page}    {known.title}".rstrip()
    wide, deep = known.drill
    drill = (
        f"Drill {wide}, {deep} deep, at the crosses. Detector first; never above, below or beside"
        " a socket or switch."
    )
    return [
        bar((left, y0 + 12.0), long_x),
        bar((x0 + 7.0, y0 + BELOW_MM), long_y, upright=True),
        Text(left + long_x + 4.0, y0 + 15.0, part.name, NAME_MM, bold=True),
        front_mark((left + long_x + 4.0, y0 + 9.6), FRONT_MM),
        known.maps.shown((x1 - map_w, y0 + 1.0, x1, map_top), part),
        Text(left, y0 + 6.0, view, size_to_fit_mm(view, room, 3.2)),
        Text(left, y0 + 1.5, drill, size_to_fit_mm(drill, room, 2.6)),
    ]


def bar_length(room: float) -> float:
    """The scale bar's length: 100 mm, or 50 where the page is too small for it."""
    return 100.0 if room >= 100.0 else 50.0
