"""Pages drawn in true millimetres, made to come out true on a printer that is off."""

from __future__ import annotations

import math
from dataclasses import replace

from fab.outlines.contour import Arc, Line, Point, polygon
from fab.outlines.page import Fill, Group, Item, Page, Stroke, Text, polyline

CHORD_MM = 0.002  # a chord strays this far from its arc


def corrected(page: Page, true_x: float, true_y: float) -> Page:
    """A page drawn in true mm as it must stand in the PDF, for a printer that makes `true` mm of
    one.
    """
    if true_x == 1.0 and true_y == 1.0:
        return page
    items = tuple(_scaled(item, 1 / true_x, 1 / true_y) for item in page.items)
    return replace(page, width=page.width / true_x, height=page.height / true_y, items=items)


def _scaled(item: Item, sx: float, sy: float) -> Item:
    """An item with its points scaled; line widths and letters are left as they are.

    Arcs become chords.
    """
    if isinstance(item, Group):
        inner = tuple(_scaled(part, sx, sy) for part in item.items)
        x0, y0, x1, y1 = item.clip or (0.0, 0.0, 0.0, 0.0)
        clip = (x0 * sx, y0 * sy, x1 * sx, y1 * sy) if item.clip else None
        return replace(item, items=inner, shift=(item.shift[0] * sx, item.shift[1] * sy), clip=clip)
    if isinstance(item, Text):
        return replace(item, x=item.x * sx, y=item.y * sy)
    if isinstance(item, Stroke):
        points = [item.segments[0].start]
        for seg in item.segments:
            points += _ends(seg)
        return polyline(
            [(x * sx, y * sy) for x, y in points], item.width_mm, item.colour, item.dash
        )
    if isinstance(item, Fill):
        rings = [[end for seg in ring.segments for end in _ends(seg)] for ring in item.contours]
        contours = tuple(polygon([(x * sx, y * sy) for x, y in points]) for points in rings)
        return replace(item, contours=contours)
    return replace(
        item, x=item.x * sx, y=item.y * sy, width=item.width * sx, height=item.height * sy
    )


def _ends(seg: Line | Arc) -> list[Point]:
    if isinstance(seg, Line):
        return [seg.end]
    step = 2 * math.acos(max(1 - CHORD_MM / seg.radius_mm, 0.0))
    count = max(2, math.ceil(abs(seg.sweep_rad) / step))
    return [seg.at(k / count) for k in range(1, count)] + [seg.end]
