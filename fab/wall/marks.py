"""All that is drawn in the wall frame: outlines, names, screw marks, level and plumb lines.

Each page cuts its part out.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from fab.layout.model import Layout, PlacedPanel
from fab.outlines.contour import Box, Contour, Point, circle
from fab.outlines.inks import BLUE, VERMILION
from fab.outlines.page import CHAIN, HAIR_MM, Group, Item, Text, line, polyline, ring
from fab.params.shop import WallType
from fab.parts.plan import Plan
from fab.units import fixed, inches, tool_size
from fab.wall.holes import Hole

SCREW = VERMILION  # Okabe-Ito palette
LEVEL = BLUE
OUTLINE = "#555555"
TICK_MM = 100.0
SQUARE_MM = 200.0  # grid that panels are looked up in


def arm(drill: float) -> float:
    """Half the length of a screw mark's cross."""
    return drill / 2 + 5.0


def body_in_wall(panel: PlacedPanel, plan: Plan) -> Contour:
    """Outline of a panel's body in the wall frame."""
    return plan.rings.body.turned(math.radians(panel.turn_deg)).moved(panel.x, panel.y)


def edge_mark(panel: PlacedPanel, plan: Plan) -> tuple[Point, ...]:
    """The arrow head that points to edge 0 of a panel with a board, in the wall frame; empty for a
    blank cover.
    """
    if plan.params.board.none:
        return ()
    far, tall = panel.cell.apothem * 0.9, min(5.0, panel.cell.apothem / 6)
    corners = ((far, 0.0), (far - tall, tall / 2), (far - tall, -tall / 2))
    return tuple(panel.to_wall(corner) for corner in corners)


def screw_mark(at: Point, wall: WallType) -> tuple[Item, ...]:
    """A cross through the rest of the shank and the circle of the drill."""
    (x, y), reach = at, arm(wall.drill)
    return (
        line((x - reach, y), (x + reach, y), HAIR_MM, SCREW),
        line((x, y - reach), (x, y + reach), HAIR_MM, SCREW),
        ring(circle(at, wall.drill / 2), 0.3, SCREW),
    )


@dataclass(frozen=True)
class WallPicture:
    """All of the wall that a page may show."""

    panels: tuple[tuple[Box, tuple[Item, ...]], ...]  # a box that holds the items, and the items
    marks: tuple[tuple[str, Point, tuple[Item, ...]], ...]  # panel, rest of the shank, items
    datum: Point

    def within(self, seen: Box, own: Box, shared: Collection[str] = ()) -> tuple[Item, ...]:
        """Return what a page that shows `seen` draws: panels, and the marks whose screw is in its
        `own` part of the wall.

        A mark is drawn on one page only, so that nobody drills twice; those `shared` by a seam on
        every page.
        """
        near = sorted({k for square in squares_of(seen) for k in self._grid.get(square, ())})
        hulls = [(self.panels[k][0], self.panels[k][1]) for k in near]
        found = [
            item
            for hull, items in hulls
            if hull[0] < seen[2] and hull[2] > seen[0] and hull[1] < seen[3] and hull[3] > seen[1]
            for item in items
        ]
        everywhere = [k for name in shared for k in self._numbers.get(name, ())]
        for k in sorted({*self._owned(own), *everywhere}):
            found += self.marks[k][2]
        return tuple(found)

    def spots(self, own: Box) -> list[Point]:
        """Screws in a page's own part of the wall."""
        return [self.marks[k][1] for k in self._owned(own)]

    def _owned(self, own: Box) -> list[int]:
        """Marks whose screw is in a part of the wall, by number."""
        near = {k for square in squares_of(own) for k in self._spots.get(square, ())}
        return sorted(k for k in near if holds(own, self.marks[k][1]))

    @cached_property
    def _spots(self) -> dict[tuple[int, int], list[int]]:
        """Marks by the square that their screw is in."""
        found: dict[tuple[int, int], list[int]] = {}
        for k, (_, (x, y), _) in enumerate(self.marks):
            found.setdefault((math.floor(x / SQUARE_MM), math.floor(y / SQUARE_MM)), []).append(k)
        return found

    @cached_property
    def _numbers(self) -> dict[str, list[int]]:
        """Marks by their panel."""
        found: dict[str, list[int]] = {}
        for k, (name, _, _) in enumerate(self.marks):
            found.setdefault(name, []).append(k)
        return found

    @cached_property
    def _grid(self) -> dict[tuple[int, int], list[int]]:
        """Panels by the squares that their boxes touch."""
        found: dict[tuple[int, int], list[int]] = {}
        for k, (hull, _) in enumerate(self.panels):
            for square in squares_of(hull):
                found.setdefault(square, []).append(k)
        return found


def holds(own: Box, at: Point) -> bool:
    """True when a part of the wall owns this point. Left and lower edges belong to it."""
    return own[0] <= at[0] < own[2] and own[1] <= at[1] < own[3]


def squares_of(box: Box, side_mm: float = SQUARE_MM) -> Iterator[tuple[int, int]]:
    """Return the squares of a grid that a box touches, each by its column and row."""
    x0, y0, x1, y1 = (math.floor(value / side_mm) for value in box)
    return ((i, j) for i in range(x0, x1 + 1) for j in range(y0, y1 + 1))


def picture(
    layout: Layout,
    plans: Mapping[str, Plan],
    holes: Sequence[Hole],
    wall: WallType,
    datum: Point,
    *,
    in_inches: bool = False,
) -> WallPicture:
    """Panels and marks, ready to be cut into pages; the marks' words in inches where the shop
    thinks in them.
    """
    screws = {hole.panel: hole for hole in holes}
    panels, marks = [], []
    for panel in layout.panels:
        body = body_in_wall(panel, plans[panel.design])
        size = min(8.0, panel.cell.apothem / 4)
        below = panel.y - size * 2.2 if panel.name in screws else panel.y - size * 0.4
        name = Text(panel.x, below, panel.name, size, "middle", colour=OUTLINE)
        arrow = edge_mark(panel, plans[panel.design])
        drawn = (polyline(arrow, colour=OUTLINE, closed=True),) if arrow else ()
        panels.append((body.box, (ring(body, colour=OUTLINE), name, *drawn)))
    reach = arm(wall.drill)
    for hole in holes:
        x, y = hole.x + datum[0], hole.y + datum[1]
        drill, deep = (tool_size(size, in_inches=in_inches) for size in (hole.drill, hole.depth))
        words = f"{hole.panel}: drill {drill.removesuffix(' mm')}, {deep.removesuffix(' mm')} deep"
        across, up = (
            f"{fixed(inches(v), 3)} in" if in_inches else fixed(v, 1) for v in (hole.x, hole.y)
        )
        where = f"x {across}  y {up}" if hole.number > 1 else "datum: x 0  y 0"
        label = (
            Text(x + 2.0, y - reach - 1.0, words, 2.6, colour=SCREW),
            Text(x + 2.0, y - reach - 4.2, where, 2.6, colour=SCREW),
        )
        marks.append((hole.panel, (x, y), (*screw_mark((x, y), wall), *label)))
    return WallPicture(tuple(panels), tuple(marks), datum)


def multiples(low: float, high: float, datum: float, step: float = TICK_MM) -> Iterator[float]:
    """Offsets from the datum, whole steps, that lie between `low` and `high`."""
    first = math.ceil((low - datum) / step - 1e-9)
    while datum + first * step <= high + 1e-9:
        yield first * step
        first += 1


def level_lines(box: Box, datum: Point, spots: Sequence[Point] = ()) -> tuple[Item, ...]:
    """One level and one plumb line through a page's part of the wall, with ticks every 100 mm from
    the datum.

    The lines lie on whole hundreds from the datum hole where one passes, so that they run on from
    page to page; on a page too small for that, through its middle. Their names keep clear of the
    screws at `spots`.
    """
    x0, y0, x1, y1 = box
    across = list(multiples(y0 + 8.0, y1 - 8.0, datum[1]))
    upright = list(multiples(x0 + 8.0, x1 - 8.0, datum[0]))
    level = min(
        across, key=lambda v: abs(v + datum[1] - (y0 + y1) / 2), default=(y0 + y1) / 2 - datum[1]
    )
    plumb = min(
        upright, key=lambda v: abs(v + datum[0] - (x0 + x1) / 2), default=(x0 + x1) / 2 - datum[0]
    )
    y, x = datum[1] + level, datum[0] + plumb
    right, top = x1 - 2.0, y1 - 2.0
    level_word = f"LEVEL  y = {fixed(level, 1)} mm"
    plumb_word = f"PLUMB  x = {fixed(plumb, 1)} mm"
    items: list[Item] = [
        line((x0 - 5, y), (x1 + 100, y), HAIR_MM, LEVEL, CHAIN),
        line((x, y0 - 5), (x, y1 + 100), HAIR_MM, LEVEL, CHAIN),
        (
            Text(right, y + 1.0, level_word, 2.6, "end", colour=LEVEL)
            if any(abs(sy - y) < 12 and sx < x0 + 45 for sx, sy in spots)
            else Text(x0 + 2.0, y + 1.0, level_word, 2.6, colour=LEVEL)
        ),
        (
            Text(x - 1.0, top, plumb_word, 2.6, "end", 90.0, LEVEL)
            if any(abs(sx - x) < 12 and sy < y0 + 45 for sx, sy in spots)
            else Text(x - 1.0, y0 + 2.0, plumb_word, 2.6, "start", 90.0, LEVEL)
        ),
    ]
    for offset in multiples(x0, x1, datum[0]):
        at = datum[0] + offset
        items += [
            line((at, y - 2), (at, y + 2), HAIR_MM, LEVEL),
            Text(at + 0.7, y - 3.2, fixed(offset), 2.2, colour=LEVEL),
        ]
    for offset in multiples(y0, y1, datum[1]):
        at = datum[1] + offset
        items += [
            line((x - 2, at), (x + 2, at), HAIR_MM, LEVEL),
            Text(x + 2.5, at + 0.7, fixed(offset), 2.2, colour=LEVEL),
        ]
    return (Group(tuple(items)),)
