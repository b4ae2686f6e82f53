"""What lies on what in a picture: letters on letters, and lines of a colour through letters."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from fab.outlines.contour import Line
from fab.outlines.figures import CAP_HEIGHT, text_width_mm
from fab.outlines.page import Group, Item, Page, Stroke, Text

Corners = tuple[tuple[float, float], ...]


def _flat(
    items: Sequence[Item], shift: tuple[float, float] = (0.0, 0.0)
) -> Iterator[tuple[Stroke | Text, tuple[float, float]]]:
    for item in items:
        if isinstance(item, Group):
            yield from _flat(item.items, (shift[0] + item.shift[0], shift[1] + item.shift[1]))
        elif isinstance(item, Stroke | Text):
            yield item, shift


def _box(text: Text, shift: tuple[float, float]) -> Corners:
    """The corners of a text's capitals, turned as it is; its width after the font's own figures."""
    wide, high = text_width_mm(text.text, text.size_mm), text.size_mm * CAP_HEIGHT
    left = {"start": 0.0, "middle": -wide / 2, "end": -wide}[text.anchor]
    cos, sin = math.cos(math.radians(text.turn_deg)), math.sin(math.radians(text.turn_deg))
    x, y = text.x + shift[0], text.y + shift[1]
    corners = ((left, 0.0), (left + wide, 0.0), (left + wide, high), (left, high))
    return tuple((x + u * cos - v * sin, y + u * sin + v * cos) for u, v in corners)


def on_each_other(page: Page, least_mm2: float = 0.05) -> list[tuple[str, str]]:
    """Pairs of texts that share more than a hair of area."""
    import shapely

    drawn = [
        (item.text, shapely.Polygon(_box(item, shift)))
        for item, shift in _flat(page.items)
        if isinstance(item, Text) and item.text.strip()
    ]
    return [
        (a, b)
        for k, (a, one) in enumerate(drawn)
        for b, other in drawn[k + 1 :]
        if one.intersects(other) and one.intersection(other).area > least_mm2
    ]


def struck(page: Page, colour: str) -> list[str]:
    """Texts that a line of a colour runs through."""
    import shapely

    items = list(_flat(page.items))
    lines = [
        shapely.LineString([(x + dx, y + dy) for x, y in (seg.start, seg.end)])
        for item, (dx, dy) in items
        if isinstance(item, Stroke) and item.colour == colour
        for seg in item.segments
        if isinstance(seg, Line)
    ]
    boxes = [(i.text, shapely.Polygon(_box(i, at))) for i, at in items if isinstance(i, Text)]
    return [
        text
        for text, box in boxes
        if any(line.intersects(box) and line.intersection(box).length > 0.05 for line in lines)
    ]
