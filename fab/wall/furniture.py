"""All that a template page carries beside the wall: scale bars, card outline, the word FRONT,
crosses, map.

True mm, page frame.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from fab.outlines.contour import Box, Point, around, polygon
from fab.outlines.figures import CAP_HEIGHT, text_width_mm
from fab.outlines.inks import BLACK
from fab.outlines.page import DASHED, HAIR_MM, Fill, Group, Item, Text, line, polyline, ring
from fab.outlines.shapes import rectangle
from fab.units import fixed
from fab.wall.tiling import Tile

CARD_MM = (85.60, 53.98)  # ISO/IEC 7810 ID-1
CARD_RADIUS_MM = 3.18  # middle of 2.88 to 3.48
CUT = "#555555"
CROSS_MM = 4.0
MAP_TILES = 60
FRONT = "FRONT"
FRONT_MM = 4.0  # height of its letters


def bar(at: Point, length: float, *, upright: bool = False) -> Group:
    """A scale bar from `at` to the right (or upwards), ticks every 10 mm, its length
    written on it.
    """
    x, y = at
    items: list[Item] = []

    def place(along: float, across: float) -> Point:
        return (x - across, y + along) if upright else (x + along, y + across)

    items.append(line(place(0, 0), place(length, 0), HAIR_MM))
    for k in range(round(length / 10) + 1):
        high = 3.0 if k % 5 == 0 else 1.8
        items.append(line(place(10.0 * k, 0), place(10.0 * k, high), HAIR_MM))
    words = f"{fixed(length)} mm {'upwards' if upright else 'across'}: measure it before you drill"
    spot = place(length / 2, 4.0)
    items.append(Text(spot[0], spot[1], words, 2.6, "middle", 90.0 if upright else 0.0))
    return Group(tuple(items))


def card(at: Point) -> Group:
    """Outline of a bank card (ID-1), lower left corner at `at`: lay a card on it."""
    wide, high = CARD_MM
    centre = (at[0] + wide / 2, at[1] + high / 2)
    return Group(
        (
            ring(rectangle(wide, high, centre, CARD_RADIUS_MM), HAIR_MM),
            Text(centre[0], centre[1] + 3.0, "A bank card must fill this outline", 3.2, "middle"),
            Text(centre[0], centre[1] - 2.0, "85.60 x 53.98 mm (ISO/IEC 7810 ID-1)", 2.8, "middle"),
        )
    )


def front_mark(at: Point, height: float) -> Group:
    """The word FRONT, its F a plain shape that is one only on a page which is neither mirrored nor
    upside down. A letter alone could be taken for a panel's name.
    """
    x, y, u = at[0], at[1], height / 5
    points = [(0, 0), (1, 0), (1, 2), (2.5, 2), (2.5, 3), (1, 3), (1, 4), (3, 4), (3, 5), (0, 5)]
    letter = Fill((polygon([(x + u * px, y + u * py) for px, py in points]),))
    return Group((letter, Text(x + 3.5 * u, y, FRONT[1:], height / CAP_HEIGHT, bold=True)))


def front_width(height: float) -> float:
    """The width of the word, mm."""
    return 3.5 * height / 5 + text_width_mm(FRONT[1:], height / CAP_HEIGHT)


def cross(at: Point, label: str) -> Group:
    """A registration cross with the names of the pages that share it."""
    (x, y), r = at, CROSS_MM
    return Group(
        (
            line((x - r, y), (x + r, y), 0.2, BLACK),
            line((x, y - r), (x, y + r), 0.2, BLACK),
            Text(x + 0.8, y + 0.8, label, 2.0),
        )
    )


def crosses(tiles: Sequence[Tile]) -> dict[str, list[tuple[Point, str]]]:
    """Registration crosses by page, wall frame: two on every shared edge, a third on a long one."""
    found: dict[str, list[tuple[Point, str]]] = {tile.name: [] for tile in tiles}
    rows: dict[float, list[Tile]] = {}
    for tile in tiles:
        rows.setdefault(round(tile.box[1], 6), []).append(tile)
    for k, a in enumerate(tiles):
        above = rows.get(round(a.box[3], 6), [])
        for b, axis in [*((b, 0) for b in tiles[k + 1 : k + 2]), *((b, 1) for b in above)]:
            edge = _shared(a.box, b.box, axis)
            if edge is None:
                continue
            (x0, y0), (x1, y1) = edge
            shares = (0.15, 0.5, 0.85) if max(x1 - x0, y1 - y0) > 120 else (0.2, 0.8)
            for share in shares:
                at = (x0 + (x1 - x0) * share, y0 + (y1 - y0) * share)
                found[a.name].append((at, f"{a.name}/{b.name}"))
                found[b.name].append((at, f"{a.name}/{b.name}"))
    return found


def _shared(first: Box, second: Box, axis: int) -> tuple[Point, Point] | None:
    """The edge where `second` follows `first` on the right (axis 0) or above (axis 1); None when it
    does not.
    """
    if abs(first[axis + 2] - second[axis]) > 1e-6:
        return None
    other = 1 - axis
    low, high = max(first[other], second[other]), min(first[other + 2], second[other + 2])
    if high - low < 4 * CROSS_MM:
        return None
    at = second[axis]
    return ((at, low), (at, high)) if axis == 0 else ((low, at), (high, at))


def cut_line(a: Point, b: Point) -> Item:
    """The way of the scissors."""
    return line(a, b, 0.2, CUT, DASHED)


@dataclass(frozen=True)
class PageMap:
    """All pages small. Beyond `MAP_TILES` pages it shows rows only, and the present page."""

    tiles: tuple[Tile, ...]

    @cached_property
    def box(self) -> Box:
        """The wall that all pages show."""
        return around(spot for tile in self.tiles for spot in (tile.box[:2], tile.box[2:]))

    @cached_property
    def drawn(self) -> tuple[Box, ...]:
        """Boxes of the map: one a page, or one a row of pages beyond MAP_TILES."""
        return (
            tuple(tile.box for tile in self.tiles)
            if len(self.tiles) <= MAP_TILES
            else tuple(_rows(self.tiles))
        )

    def placed(self, room: Box) -> tuple[float, Point]:
        """Scale, and where the wall's lower left corner lies, for the map to fill `room`."""
        x0, y0, x1, y1 = self.box
        scale = min((room[2] - room[0]) / (x1 - x0), (room[3] - room[1]) / (y1 - y0))
        left = room[0] + (room[2] - room[0] - (x1 - x0) * scale) / 2
        return scale, (left, room[1] + (room[3] - room[1] - (y1 - y0) * scale) / 2)

    def shown(self, room: Box, here: Tile | None = None) -> Group:
        """The map in `room`, the present page filled."""
        if room not in self._outlines:  # on most pages the map has the same room
            self._outlines[room] = tuple(self._outline(box, room) for box in self.drawn)
        return Group((*self._fills(room, here), *self._outlines[room]))

    @cached_property
    def _outlines(self) -> dict[Box, tuple[Item, ...]]:
        return {}

    def _fills(self, room: Box, here: Tile | None) -> tuple[Item, ...]:
        return (Fill((polygon(self._corners(here.box, room)),), "#bbbbbb"),) if here else ()

    def _outline(self, box: Box, room: Box) -> Item:
        return polyline(self._corners(box, room), HAIR_MM, closed=True)

    def small(self, box: Box, room: Box) -> Box:
        """Return where a part of the wall lies on the map in `room`."""
        scale, (left, low) = self.placed(room)
        ax, ay = left + (box[0] - self.box[0]) * scale, low + (box[1] - self.box[1]) * scale
        bx, by = left + (box[2] - self.box[0]) * scale, low + (box[3] - self.box[1]) * scale
        return (ax, ay, bx, by)

    def _corners(self, box: Box, room: Box) -> list[Point]:
        ax, ay, bx, by = self.small(box, room)
        return [(ax, ay), (bx, ay), (bx, by), (ax, by)]


def _rows(tiles: Sequence[Tile]) -> list[Box]:
    """One box around each row of pages."""
    found: dict[tuple[float, float], Box] = {}
    for tile in tiles:
        x0, y0, x1, y1 = tile.box
        before = found.get((y0, y1), tile.box)
        found[(y0, y1)] = (min(before[0], x0), y0, max(before[2], x1), y1)
    return list(found.values())
