"""The template in one piece, for a plotter, a laser or a print shop: open crosses, circles and
outlines, 1:1.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from fab.layout.model import Layout
from fab.outlines.contour import Point, circle
from fab.outlines.drawing import Drawing, Layer
from fab.outlines.inks import BLACK
from fab.outlines.strokes import strokes, width_mm
from fab.parts.plan import Plan
from fab.units import fixed
from fab.wall.holes import Hole
from fab.wall.marks import LEVEL, OUTLINE, SCREW, TICK_MM, arm, body_in_wall, edge_mark, multiples

BORDER_MM = 30.0  # around the wall: room for the scale bars


def drawing_shift(layout: Layout) -> Point:
    """Return what is added to a point of the wall to get its place in the full-size drawing."""
    x0, y0, _, _ = layout.box
    return (BORDER_MM - x0, BORDER_MM - y0)


def full_size(
    layout: Layout, plans: Mapping[str, Plan], table: Sequence[Hole], datum: Point, title: str = ""
) -> Drawing:
    """Front view, not mirrored, on layers TEMPLATE-OUTLINE, -SCREW, -LEVEL and -TEXT.

    `table`: the holes, right and up of `datum`, a point of the wall frame.
    """
    dx, dy = drawing_shift(layout)
    x0, y0, x1, y1 = layout.box
    wide, high = x1 - x0 + 2 * BORDER_MM, y1 - y0 + 2 * BORDER_MM
    origin = (datum[0] + dx, datum[1] + dy)
    bodies = tuple(
        body_in_wall(panel, plans[panel.design]).moved(dx, dy) for panel in layout.panels
    )
    circles, crosses = [], []
    for hole in table:
        x, y, reach = origin[0] + hole.x, origin[1] + hole.y, arm(hole.drill)
        circles.append(circle((x, y), hole.drill / 2))
        crosses += [((x - reach, y), (x + reach, y)), ((x, y - reach), (x, y + reach))]
    heads = [edge_mark(panel, plans[panel.design]) for panel in layout.panels]
    arrows = [tuple((x + dx, y + dy) for x, y in (*head, head[0])) for head in heads if head]
    clear = max((arm(hole.drill) for hole in table), default=0.0) + 1.0
    layers = (
        Layer("TEMPLATE-OUTLINE", OUTLINE, 8, bodies),
        Layer("TEMPLATE-SCREW", SCREW, 30, tuple(circles), tuple(crosses)),
        Layer("TEMPLATE-LEVEL", LEVEL, 5, (), tuple(_levels(wide, high, origin, clear))),
        Layer(
            "TEMPLATE-TEXT",
            BLACK,
            7,
            (),
            tuple(_words(layout, table, (wide, high), (dx, dy), origin)) + tuple(arrows),
        ),
    )
    first = table[0]
    notes = (
        "full-size drilling template, FRONT view, not mirrored, up is up",
        (
            f"datum hole {first.panel} at x {fixed(origin[0])} y {fixed(origin[1])} mm from the"
            " lower left corner"
        ),
        (
            f"drill {fixed(first.drill)} mm, {fixed(first.depth)} mm deep; find cables and pipes"
            " with a detector first"
        ),
    )
    return Drawing(wide, high, layers, title or "drilling template", notes)


def _levels(wide: float, high: float, datum: Point, clear: float) -> list[tuple[Point, ...]]:
    """Level and plumb line through the datum hole, broken at its mark; ticks every 100 mm."""
    x, y = datum
    found: list[tuple[Point, ...]] = [((0.0, y), (x - clear, y)), ((x + clear, y), (wide, y))]
    found += [((x, 0.0), (x, y - clear)), ((x, y + clear), (x, high))]
    found += [((x + at, y - 2), (x + at, y + 2)) for at in multiples(0.0, wide, x) if abs(at) > 1]
    found += [((x - 2, y + at), (x + 2, y + at)) for at in multiples(0.0, high, y) if abs(at) > 1]
    return found


def _words(
    layout: Layout, table: Sequence[Hole], size: tuple[float, float], shift: Point, origin: Point
) -> list[tuple[Point, ...]]:
    """Names, the holes' numbers and drill, the two bars, and which way it goes."""
    found: list[tuple[Point, ...]] = []
    for panel in layout.panels:
        tall = _fitting(panel.name, min(8.0, panel.cell.apothem / 4), room=2 * panel.cell.apothem)
        found += strokes(
            panel.name, tall, "middle", (panel.x + shift[0], panel.y + shift[1] - tall * 2.2)
        )
    for hole in table:
        at = (origin[0] + hole.x + 2.0, origin[1] + hole.y - arm(hole.drill) - 4.0)
        found += strokes(f"{hole.number} / {fixed(hole.drill)}", 3.0, "start", at)
    long = TICK_MM if min(size) > TICK_MM + 2 * 10.0 else 50.0
    found += _bar((12.0, 10.0), long, upright=False) + _bar((10.0, 12.0), long, upright=True)
    said = f"{fixed(long)} MM   FRONT VIEW - NOT MIRRORED - TOP ↑"
    found += strokes(said, _fitting(said, 4.0, room=size[0] - 2 * 14.0), "start", (14.0, 15.0))
    return found


def _fitting(said: str, tall: float, *, room: float) -> float:
    """Return the height of letters, mm: `tall`, or lower where a line is longer than its room."""
    wide = width_mm(said, tall)
    return tall * room / wide if wide > room else tall


def _bar(at: Point, long: float, *, upright: bool) -> list[tuple[Point, ...]]:
    x, y = at
    turned = math.pi / 2 if upright else 0.0
    c, s = round(math.cos(turned)), round(math.sin(turned))
    ticks = [((0.0, 0.0), (long, 0.0))] + [
        ((10.0 * k, 0.0), (10.0 * k, -2.0)) for k in range(round(long / 10) + 1)
    ]
    if upright:
        ticks = [(a, (b[0], -b[1])) for a, b in ticks]
    return [tuple((x + px * c - py * s, y + px * s + py * c) for px, py in pair) for pair in ticks]
