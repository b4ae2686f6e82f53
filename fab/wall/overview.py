"""The wall small on the template's first page: panels, pages laid over them, screws; no two names
on each other.

Page names come first, then the panels that have a screw, then the others: of those all or none, so
that nobody looks for a name that was dropped. What finds no free place is left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from fab.layout.model import Layout
from fab.outlines.contour import Box, Point, polygon
from fab.outlines.figures import CAP_HEIGHT, text_width_mm
from fab.outlines.inks import WHITE
from fab.outlines.page import HAIR_MM, Fill, Group, Item, Text, line, polyline
from fab.wall.furniture import PageMap
from fab.wall.marks import OUTLINE, SCREW, squares_of
from fab.wall.model import Hung

SCREW_MM = 1.2  # half a screw's cross
SMALLEST_MM = 1.5  # font size of 1 mm high capitals: the smallest that is read on paper
PAGE_MM = 3.6  # largest font size of a page's name
PANEL_MM = 3.5
PAGE_GREY = "#6b6b6b"
ROOM_MM = 0.25  # between two names
SQUARE_MM = 10.0  # of the grid that names are looked up in


def overview(room: Box, maps: PageMap, layout: Layout, hung: Hung) -> tuple[Item, ...]:
    """The wall in `room` (page frame): outlines, then names on white, then screws."""
    scale, (left, low) = maps.placed(room)
    x0, y0, _, _ = maps.box

    def small(x: float, y: float) -> Point:
        return (left + (x - x0) * scale, low + (y - y0) * scale)

    screws = {hanger.panel: small(hanger.x, hanger.y) for hanger in hung.hangers}
    outlines = [
        polyline([small(*corner) for corner in p.corners], HAIR_MM, OUTLINE, closed=True)
        for p in layout.panels
    ]
    names = _Names(
        [(x - SCREW_MM, y - SCREW_MM, x + SCREW_MM, y + SCREW_MM) for x, y in screws.values()]
    )
    pages = _page_names(maps, room, names)
    panels: list[Text] = []
    size = min(PANEL_MM, min(panel.cell.apothem for panel in layout.panels) * scale * 0.5)
    if size >= SMALLEST_MM:
        for panel in layout.panels:
            if panel.name in screws:
                panels += names.first(
                    _round(screws[panel.name], panel.name, size), panel.name, size, OUTLINE
                )
        others = [(small(p.x, p.y), p) for p in layout.panels if p.name not in screws]
        found = [names.first(_inside(at, size), p.name, size, OUTLINE) for at, p in others]
        if all(found):
            panels += [text for texts in found for text in texts]
    sheets = [
        polyline(_corners(maps.small(tile.box, room)), HAIR_MM, closed=True) for tile in maps.tiles
    ]
    plates = [Fill((polygon(_corners(_box(text))),), WHITE) for text in pages]
    crosses = [
        item
        for x, y in screws.values()
        for item in (
            line((x - SCREW_MM, y), (x + SCREW_MM, y), 0.25, SCREW),
            line((x, y - SCREW_MM), (x, y + SCREW_MM), 0.25, SCREW),
        )
    ]
    return (Group((*outlines, *sheets)), Group((*plates, *pages, *panels)), Group(tuple(crosses)))


def _page_names(maps: PageMap, room: Box, names: _Names) -> list[Text]:
    """A name on every page that has the room; those at the ends of the rows first."""
    boxes = [maps.small(tile.box, room) for tile in maps.tiles]
    ends = [k for k, tile in enumerate(maps.tiles) if not tile.left] + [
        k for k, tile in enumerate(maps.tiles) if not tile.right
    ]
    found: list[Text] = []
    for k in dict.fromkeys([*ends, *range(len(boxes))]):
        word, box = maps.tiles[k].name, boxes[k]
        wide, high = box[2] - box[0], box[3] - box[1]
        size = min(PAGE_MM, (wide - 2 * ROOM_MM) / text_width_mm(word, 1.0), high / 2.2)
        for less in (size, max(size * 0.7, SMALLEST_MM), SMALLEST_MM):
            if size >= SMALLEST_MM and (
                text := names.first(_on_page(box, word, less), word, less, PAGE_GREY)
            ):
                found += text
                break
    return found


class _Names:
    """Places that are taken."""

    def __init__(self, taken: Sequence[Box]) -> None:
        self._squares: dict[tuple[int, int], list[Box]] = {}
        for box in taken:
            self._take(box)

    def first(self, places: Iterator[Point], word: str, size: float, colour: str) -> list[Text]:
        """The name at the first free of the places (middle of its baseline), which is then taken;
        or nothing.
        """
        for x, y in places:
            text = Text(x, y, word, size, "middle", colour=colour)
            box = _box(text)
            near = (
                other
                for square in squares_of(box, SQUARE_MM)
                for other in self._squares.get(square, ())
            )
            if not any(_meet(box, other) for other in near):
                self._take(box)
                return [text]
        return []

    def _take(self, box: Box) -> None:
        for square in squares_of(box, SQUARE_MM):
            self._squares.setdefault(square, []).append(box)


def _meet(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _box(text: Text) -> Box:
    """Return what a name in the middle of its place covers, a hair of room included."""
    half = text_width_mm(text.text, text.size_mm) / 2 + ROOM_MM
    return (
        text.x - half,
        text.y - ROOM_MM,
        text.x + half,
        text.y + text.size_mm * CAP_HEIGHT + ROOM_MM,
    )


def _corners(box: Box) -> list[Point]:
    return [(box[0], box[1]), (box[2], box[1]), (box[2], box[3]), (box[0], box[3])]


def _on_page(box: Box, word: str, size: float) -> Iterator[Point]:
    """Baseline middles on a page: its corners, upper left first, then along its lines from
    above.
    """
    half, tall = text_width_mm(word, size) / 2 + 2 * ROOM_MM, size * CAP_HEIGHT + 2 * ROOM_MM
    left, right, low, high = box[0] + half, box[2] - half, box[1] + 2 * ROOM_MM, box[3] - tall
    for y in (high, low):
        yield (left, y)
        yield (right, y)
    for row in range(7):
        for column in range(7):
            yield (left + (right - left) * column / 6, high + (low - high) * row / 6)


def _round(at: Point, word: str, size: float) -> Iterator[Point]:
    """Right, left, below and above of a screw."""
    (x, y), away = at, SCREW_MM + text_width_mm(word, size) / 2 + 2 * ROOM_MM
    tall = size * CAP_HEIGHT
    yield (x + away, y - tall / 2)
    yield (x - away, y - tall / 2)
    yield (x, y - SCREW_MM - tall - 2 * ROOM_MM)
    yield (x, y + SCREW_MM + 2 * ROOM_MM)


def _inside(at: Point, size: float) -> Iterator[Point]:
    """The middle of a panel, then a bit below and above."""
    (x, y), tall = at, size * CAP_HEIGHT
    yield (x, y - tall / 2)
    yield (x, y - 1.6 * tall)
    yield (x, y + 0.6 * tall)
