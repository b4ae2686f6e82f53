"""A coupon's sheet as a page: pictures, steps, blanks to write in, what to type, cautions."""

from __future__ import annotations

from collections.abc import Sequence

from fab.outlines.contour import Point
from fab.outlines.figures import text_width_mm
from fab.outlines.inks import BLACK, BLUE, VERMILION
from fab.outlines.page import HAIR_MM, Group, Item, Page, Text, line, polyline
from fab.parts.coupons.howto import HowTo

WIDE = 190.0  # prints on A4 and Letter alike
EDGE = 8.0
BODY_MM, TITLE_MM, LEAD = 3.6, 7.0, 1.5
RED = VERMILION

Picture = tuple[str, Item, Point]  # caption, drawing with its lower left corner at (0, 0), size


def page(howto: HowTo, pictures: Sequence[Picture]) -> Page:
    """The sheet; its height follows what stands on it. Drawn from the top down, then moved up."""
    items: list[Item] = []
    y = -EDGE - TITLE_MM
    items.append(Text(EDGE, y, howto.title, TITLE_MM, bold=True))
    y -= 3.0
    y = _paragraph(items, howto.purpose, y)
    if pictures:
        y = _row(items, pictures, y - 4.0)
    for number, step in enumerate(howto.steps, 1):
        items.append(Text(EDGE, y - BODY_MM * LEAD, f"{number}.", BODY_MM, bold=True))
        y = _paragraph(items, step, y, EDGE + 7.0) - 1.2
    y -= 2.0
    for blank in howto.blanks:
        y -= 8.0
        items.append(Text(EDGE, y, blank.strip(), BODY_MM))
        for k in range(5):
            left = EDGE + 34.0 + k * 28.0
            items.append(line((left, y - 0.8), (left + 23.0, y - 0.8), HAIR_MM))
    y -= 4.0
    for command in howto.types:
        y -= BODY_MM * LEAD
        size = min(
            BODY_MM, BODY_MM * (WIDE - 2 * EDGE) / max(text_width_mm(command, BODY_MM), 1e-9)
        )
        items.append(Text(EDGE, y, command, size, colour=BLUE))
    y -= 4.0
    top = y
    y = y - 1.5
    for caution in howto.cautions:
        y = _paragraph(items, caution, y, EDGE + 3.0, RED) - 0.8
    y -= 2.0
    right = WIDE - EDGE
    items.append(
        polyline([(EDGE, top), (right, top), (right, y), (EDGE, y)], 0.4, RED, closed=True)
    )
    high = -y + EDGE
    says = " ".join([howto.purpose, *howto.steps, *howto.cautions])
    return Page(WIDE, high, (Group(tuple(items), shift=(0.0, high)),), howto.title, says)


def _paragraph(
    items: list[Item], text: str, y: float, left: float = EDGE, colour: str = BLACK
) -> float:
    """Text broken to the page's width; returns the height of its last line."""
    room = WIDE - EDGE - left - 2.0
    rows = [""]
    for word in text.split():
        longer = f"{rows[-1]} {word}".strip()
        if rows[-1] and text_width_mm(longer, BODY_MM) > room:
            rows.append(word)
        else:
            rows[-1] = longer
    for row in rows:
        y -= BODY_MM * LEAD
        items.append(Text(left, y, row, BODY_MM, colour=colour))
    return y


def _row(items: list[Item], pictures: Sequence[Picture], y: float) -> float:
    """Pictures side by side, standing on one line, captions below."""
    high = max(size[1] for _, _, size in pictures)
    room = (WIDE - 2 * EDGE) / len(pictures)
    for k, (caption, drawing, size) in enumerate(pictures):
        left = EDGE + k * room + (room - size[0]) / 2
        items.append(Group((drawing,), shift=(left, y - high)))
        items.append(
            Text(EDGE + (k + 0.5) * room, y - high - 6.0, caption, BODY_MM, "middle", bold=True)
        )
    return y - high - 9.0
