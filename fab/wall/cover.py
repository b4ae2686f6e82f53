"""The template's first page: print it alone, check the printer with it, read how to go on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from fab.layout.model import Layout
from fab.outlines.contour import Box
from fab.outlines.figures import size_to_fit_mm, text_width_mm
from fab.outlines.page import HAIR_MM, Item, Page, Text, line, polyline
from fab.params.shop import WallType
from fab.units import fixed, inches, some, tool_size
from fab.wall.furniture import CARD_MM, PageMap, bar, card, front_mark, front_width
from fab.wall.holes import Hole
from fab.wall.marks import SCREW
from fab.wall.model import Hung
from fab.wall.overview import overview
from fab.wall.tiling import Tiling

MARK_MM = 4.5  # height of the word FRONT
MOST_HOLES = 14  # rows of the table beside the card
TABLE_MM = 75.0  # its width on a wide page
CAUTION = (
    "Before you drill: find cables, pipes and studs with a detector. Never drill above, below or"
    " beside a socket, a switch or a tap. Use a wall plug that suits the wall and the load, and"
    " wear eye protection. Local codes come first. In doubt, and for all work on the mains, ask a"
    " licensed tradesperson."
)
STEPS = (
    '1  Print this page alone, at 100 % ("actual size", not "fit to page").',
    (
        "2  Measure both bars and lay a bank card on its outline. If a bar is wrong by more than"
        " 0.5 mm, write the measured lengths into shop.paper.bar_x and shop.paper.bar_y and build"
        " again."
    ),
    (
        "3  Print the rest on the same printer and paper. Cut each page along its dashed lines, on"
        " the left and below."
    ),
    (
        "4  Page p2.1 is the first page of the second row from above. Start at the lower left. Lay"
        " each page over its neighbour, cut edge on the thin line, crosses on crosses."
    ),
    (
        "5  Check the whole template: ticks continue from page to page, and two far marks are as"
        " far apart as in the table of holes."
    ),
    (
        "6  Tape it to the wall, FRONT towards you, a spirit level on a LEVEL line. Punch every"
        " cross, take the template down, and drill."
    ),
)


@dataclass(frozen=True)
class AllPages:
    """What all pages of a template share."""

    tiling: Tiling
    wall: WallType
    title: str
    in_inches: bool  # the shop's unit

    @cached_property
    def maps(self) -> PageMap:
        """The small map of all pages."""
        return PageMap(self.tiling.tiles)

    @property
    def page_count(self) -> int:
        """The number of pages, the first one among them."""
        return 1 + len(self.tiling.tiles)

    @property
    def drill(self) -> tuple[str, str]:
        """Diameter and depth of a hole in words."""
        wide, deep = self.wall.drill, self.wall.depth
        in_inches = self.in_inches
        return tool_size(wide, in_inches=in_inches), tool_size(deep, in_inches=in_inches)


def cover(known: AllPages, layout: Layout, hung: Hung, table: Sequence[Hole]) -> Page:
    """The page, upright, on the sheet of the others; what does not fit on small paper is left out,
    never the bars.
    """
    tiling, title = known.tiling, known.title
    sheet = tiling.sheet
    wide, high = sheet.page
    if sheet.name == "roll":
        high = min(high, max(297.0, wide))
    x0, y0, x1, _ = sheet.printable
    top = high - y0
    room = x1 - x0
    items: list[Item] = []
    head = f"{title}: drilling template" if title else "Drilling template"
    top -= 7.0
    mark_w = front_width(MARK_MM)
    size = size_to_fit_mm(head, room - mark_w - 5.0, 6.5, bold=True)
    items.append(Text(x0, top, head, size, bold=True))
    items.append(front_mark((x1 - mark_w, top), MARK_MM))
    top -= 6.0
    count = (
        f"{some(len(layout.panels), 'panel')}, {some(len(table), 'screw')},"
        f" {some(len(tiling.tiles), 'page')} of {sheet.name} after this one"
    )
    view = f"1:1, FRONT view, not mirrored, top ↑.  {count}."
    items.append(Text(x0, top, view, size_to_fit_mm(view, room, 3.4)))
    if sheet.true_x != 1.0 or sheet.true_y != 1.0:
        top -= 4.5
        came = f"{fixed(sheet.true_x * 100)} across and {fixed(sheet.true_y * 100)} upwards"
        says = f"Drawn for a printer whose 100 mm bars measure {came}."
        items.append(Text(x0, top, says, size_to_fit_mm(says, room, 3.0)))
    top -= 3.0
    top = _box(items, (x0, top, x1), wrapped(CAUTION, room - 6.0, 3.2), 3.2)
    top -= 2.0
    floor = y0 + 64.0 + 10.0  # bars of 50 mm and the line about the drill always fit
    for step in STEPS:
        lines = wrapped(step, room - 4.0, 3.0)
        if top - 4.2 * len(lines) < floor:
            break
        for k, text in enumerate(lines):
            top -= 4.2
            items.append(Text(x0 + (4.0 if k else 0.0), top, text, 3.0))
    bit, depth = known.drill
    drill = f"Drill {bit}, {depth} deep. {known.wall.note}".rstrip()
    top -= 6.0
    items.append(Text(x0, top, drill, size_to_fit_mm(drill, room, 4.0, bold=True), bold=True))
    top -= 4.0
    beside = wide > high  # on a wide page the map stands beside the table, not below
    split = x0 + 115.0 + TABLE_MM if beside else x1
    low = _scales(items, (x0, y0, min(split, x1), top), table, in_inches=known.in_inches)
    if beside and x1 - split > 40.0:
        items += overview((split + 6.0, y0, x1, top - 2.0), known.maps, layout, hung)
    elif not beside and low - y0 > 30.0:
        items += overview((x0, y0, x1, low - 3.0), known.maps, layout, hung)
    return Page(
        wide,
        high,
        tuple(items),
        "Start here",
        f"{head}. Check the printer, then {some(len(tiling.tiles), 'page')}.",
    )


def wrapped(text: str, width: float, size: float) -> list[str]:
    """Lines of `text` no wider than `width`."""
    lines, now = [], ""
    for word in text.split(" "):
        longer = f"{now} {word}" if now else word
        if now and text_width_mm(longer, size) > width:
            lines.append(now)
            longer = word
        now = longer
    return [*lines, now]


def _box(
    items: list[Item], at: tuple[float, float, float], lines: Sequence[str], size: float
) -> float:
    """A framed paragraph under `top`; where it ends."""
    x0, top, x1 = at
    low = top - len(lines) * size * 1.4 - 3.5
    items.append(polyline([(x0, low), (x1, low), (x1, top), (x0, top)], 0.5, SCREW, closed=True))
    items += [
        Text(x0 + 3.0, top - 1.5 - size * (1 + 1.4 * k), text, size) for k, text in enumerate(lines)
    ]
    return low


def _scales(items: list[Item], room: Box, table: Sequence[Hole], *, in_inches: bool) -> float:
    """Bars and card at the top of `room`, the holes beside the card where there is space; where
    they end.
    """
    x0, y0, x1, top = room
    wide = 100.0 if x1 - x0 >= 110.0 else 50.0
    tall = 100.0 if top - y0 >= 118.0 else 50.0
    items.append(bar((x0 + 9.0, top - 9.0), wide))
    items.append(bar((x0 + 7.0, top - 9.0 - tall), tall, upright=True))
    if x1 - x0 >= CARD_MM[0] + 12.0 and top - y0 >= CARD_MM[1] + 16.0:
        items.append(card((x0 + 12.0, top - 15.0 - CARD_MM[1])))
    left = x0 + 9.0 + wide + 6.0
    if x1 - left >= 55.0:
        _table(items, (left, top - 3.0, x1), table, in_inches=in_inches)
    return top - 12.0 - tall


def _table(
    items: list[Item], at: tuple[float, float, float], table: Sequence[Hole], *, in_inches: bool
) -> None:
    left, top, right = at
    columns = (0.0, 0.42, 0.70, 1.0)
    places = [left + (right - left) * share for share in columns]
    unit = "in" if in_inches else "mm"
    head = ("hole", f"x {unit}", f"y {unit}", "to datum")
    rows: list[tuple[str, ...]] = [head]
    for hole in table[:MOST_HOLES]:
        numbers = [hole.x, hole.y, hole.from_datum]
        shown = [fixed(inches(v), 3) if in_inches else fixed(v, 1) for v in numbers]
        rows.append(
            (f"{hole.number}  {hole.panel}" + ("  datum" if hole.number == 1 else ""), *shown)
        )
    for k, row in enumerate(rows):
        y = top - 4.6 * (k + 1)
        items.append(Text(places[0], y, row[0], 2.8, bold=k == 0))
        items += [Text(places[c], y, row[c], 2.8, "end", bold=k == 0) for c in (1, 2, 3)]
        if k == 0:
            items.append(line((left, y - 1.2), (right, y - 1.2), HAIR_MM))
    more = len(table) - MOST_HOLES
    if more > 0:
        items.append(
            Text(left, top - 4.6 * (len(rows) + 1), f"and {more} more: see wall/holes.csv", 2.8)
        )
