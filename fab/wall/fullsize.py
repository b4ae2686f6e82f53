"""The template in one piece, for a plotter, a laser or a print shop: open crosses, circles and outlines, 1:1."""

from __future__ import annotations

import math
from collections.abc import Mapping

from fab.layout.model import Layout
from fab.outlines.contour import Point, circle
from fab.outlines.drawing import Drawing, Layer
from fab.outlines.strokes import strokes
from fab.params.shop import WallType
from fab.parts.plan import Plan
from fab.units import fixed
from fab.wall.holes import datum_panel, holes
from fab.wall.marks import LEVEL, OUTLINE, SCREW, TICK_MM, arm, body_in_wall, multiples
from fab.wall.model import Hung

BORDER_MM = 30.0  # around the wall: room for the scale bars


def drawing_shift(layout: Layout) -> Point:
    """What is added to a point of the wall to get its place in the full-size drawing."""
    x0, y0, _, _ = layout.box
    return (BORDER_MM - x0, BORDER_MM - y0)


def full_size(layout: Layout, plans: Mapping[str, Plan], hung: Hung, wall: WallType, title: str = "") -> Drawing:
    """Front view, not mirrored, on layers TEMPLATE-OUTLINE, -SCREW, -LEVEL and -TEXT."""
    dx, dy = drawing_shift(layout)
    x0, y0, x1, y1 = layout.box
    wide, high = x1 - x0 + 2 * BORDER_MM, y1 - y0 + 2 * BORDER_MM
    first = hung.by_panel[datum_panel(hung)]
    datum = (first.x + dx, first.y + dy)
    bodies = tuple(body_in_wall(panel, plans[panel.design]).moved(dx, dy) for panel in layout.panels)
    reach = arm(wall)
    circles, crosses = [], []
    for _, (wx, wy) in hung.marks:
        x, y = wx + dx, wy + dy
        circles.append(circle((x, y), wall.drill / 2))
        crosses += [((x - reach, y), (x + reach, y)), ((x, y - reach), (x, y + reach))]
    layers = (
        Layer("TEMPLATE-OUTLINE", OUTLINE, 8, bodies),
        Layer("TEMPLATE-SCREW", SCREW, 30, tuple(circles), tuple(crosses)),
        Layer("TEMPLATE-LEVEL", LEVEL, 5, (), tuple(_levels(wide, high, datum))),
        Layer("TEMPLATE-TEXT", "#000000", 7, (), tuple(_words(layout, hung, wall, (wide, high), (dx, dy)))),
    )
    notes = (
        "full-size drilling template, FRONT view, not mirrored, up is up",
        f"datum hole {first.panel} at x {fixed(datum[0])} y {fixed(datum[1])} mm from the lower left corner",
        f"drill {fixed(wall.drill)} mm, {fixed(wall.depth)} mm deep; find cables and pipes with a detector first",
    )
    return Drawing(wide, high, layers, title or "drilling template", notes)


def _levels(wide: float, high: float, datum: Point) -> list[tuple[Point, ...]]:
    """Level and plumb line through the datum hole, ticks every 100 mm."""
    x, y = datum
    found: list[tuple[Point, ...]] = [((0.0, y), (wide, y)), ((x, 0.0), (x, high))]
    found += [((x + at, y - 2), (x + at, y + 2)) for at in multiples(0.0, wide, x) if abs(at) > 1]
    found += [((x - 2, y + at), (x + 2, y + at)) for at in multiples(0.0, high, y) if abs(at) > 1]
    return found


def _words(
    layout: Layout, hung: Hung, wall: WallType, size: tuple[float, float], shift: Point
) -> list[tuple[Point, ...]]:
    """Names, the holes' numbers, the two bars, and which way it goes."""
    found: list[tuple[Point, ...]] = []
    numbers = {hole.panel: hole.number for hole in holes(hung, wall)}
    for panel in layout.panels:
        tall = min(8.0, panel.cell.apothem / 4)
        at = (panel.x + shift[0], panel.y + shift[1] - tall * 2.2)
        found += strokes(panel.name, tall, "middle", at)
    for hanger in hung.hangers:
        at = (hanger.x + shift[0] + 2.0, hanger.y + shift[1] - arm(wall) - 4.0)
        found += strokes(f"{numbers[hanger.panel]} / {fixed(wall.drill)}", 3.0, "start", at)
    long = TICK_MM if min(size) > TICK_MM + 2 * 10.0 else 50.0
    found += _bar((12.0, 10.0), long, upright=False) + _bar((10.0, 12.0), long, upright=True)
    found += strokes(f"{fixed(long)} MM   FRONT VIEW, NOT MIRRORED, TOP ↑".replace(",", ""), 4.0, "start", (14.0, 15.0))
    return found


def _bar(at: Point, long: float, upright: bool) -> list[tuple[Point, ...]]:
    x, y = at
    turned = math.pi / 2 if upright else 0.0
    c, s = round(math.cos(turned)), round(math.sin(turned))
    ticks = [((0.0, 0.0), (long, 0.0))] + [((10.0 * k, 0.0), (10.0 * k, -2.0)) for k in range(round(long / 10) + 1)]
    if upright:
        ticks = [(a, (b[0], -b[1])) for a, b in ticks]
    return [tuple((x + px * c - py * s, y + px * s + py * c) for px, py in pair) for pair in ticks]
