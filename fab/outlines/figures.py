"""Figures that drawings repeat: widths of texts, arrows, dimension lines. Made of page items."""

from __future__ import annotations

import math

from fab.errors import BrokenGeometry
from fab.outlines.contour import Point, polygon
from fab.outlines.inks import BLACK
from fab.outlines.page import HAIR_MM, LINE_MM, Anchor, Fill, Group, Item, Text, line
from fab.units import JOIN_TOL_MM, fixed

# Advance widths of the characters space to ~ in the shipped font, in 1/2048 em; a test holds them
# against the file.
_ADVANCE = (
    651,
    821,
    942,
    1716,
    1303,
    1946,
    1597,
    563,
    799,
    799,
    1024,
    1716,
    651,
    739,
    651,
    690,
    1303,
    1303,
    1303,
    1303,
    1303,
    1303,
    1303,
    1303,
    1303,
    1303,
    690,
    690,
    1716,
    1716,
    1716,
    1087,
    2048,
    1401,
    1405,
    1430,
    1577,
    1294,
    1178,
    1587,
    1540,
    604,
    604,
    1343,
    1141,
    1767,
    1532,
    1612,
    1235,
    1612,
    1423,
    1300,
    1251,
    1499,
    1401,
    2025,
    1403,
    1251,
    1403,
    799,
    690,
    799,
    1716,
    1024,
    1024,
    1255,
    1300,
    1126,
    1300,
    1260,
    721,
    1300,
    1298,
    569,
    569,
    1186,
    569,
    1995,
    1298,
    1253,
    1300,
    1300,
    842,
    1067,
    803,
    1298,
    1212,
    1675,
    1212,
    1212,
    1075,
    1303,
    690,
    1303,
    1716,
)
_EM = 2048
_WIDEST = 2048  # what a character outside the table may take
_BOLD = 1.14  # width of a bold sentence over a plain one in DejaVu Sans; single words vary

CAP_HEIGHT = 1493 / _EM  # height of a capital as a share of the font size


def text_width_mm(text: str, size_mm: float) -> float:
    """Width of `text` as set; characters beyond ASCII count as a whole em, so the answer is never
    too small.
    """
    units = sum(_ADVANCE[ord(char) - 32] if 32 <= ord(char) < 127 else _WIDEST for char in text)
    return units * size_mm / _EM


def size_to_fit_mm(text: str, width_mm: float, most_mm: float, *, bold: bool = False) -> float:
    """The largest font size up to `most_mm` at which `text` is no wider than `width_mm`."""
    wide = text_width_mm(text, most_mm) * (_BOLD if bold else 1.0)
    return most_mm if wide <= width_mm else most_mm * width_mm / wide


def arrow_head(tip: Point, away: Point, length_mm: float = 2.5, colour: str = BLACK) -> Fill:
    """A filled head at `tip`, its back towards `away`."""
    reach = math.dist(tip, away)
    if reach <= JOIN_TOL_MM:
        raise BrokenGeometry(f"an arrow at {tip} points nowhere")
    ux, uy = (away[0] - tip[0]) / reach * length_mm, (away[1] - tip[1]) / reach * length_mm
    half = 0.17  # half width by length: a slender head, common practice
    left = (tip[0] + ux - uy * half, tip[1] + uy + ux * half)
    right = (tip[0] + ux + uy * half, tip[1] + uy - ux * half)
    return Fill((polygon([tip, left, right]),), colour)


def arrow(
    tail: Point, tip: Point, width_mm: float = LINE_MM, colour: str = BLACK, head_mm: float = 2.5
) -> Group:
    """A line from `tail` to `tip` with a head at `tip`; the line ends inside the head, so the tip
    stays sharp.
    """
    reach = math.dist(tail, tip)
    head = min(head_mm, reach)
    back = 1 - head * 0.8 / reach if reach > JOIN_TOL_MM else 0.0
    end = (tail[0] + (tip[0] - tail[0]) * back, tail[1] + (tip[1] - tail[1]) * back)
    filled = arrow_head(tip, tail, head, colour)
    return Group((line(tail, end, width_mm, colour), filled))


def dimension(
    a: Point,
    b: Point,
    offset_mm: float,
    label: str = "",
    *,
    size_mm: float = 3.5,
    colour: str = BLACK,
) -> Group:
    """A dimension line `offset_mm` to the left of the way from `a` to `b`, with its text (the
    length, when empty).

    The text reads from the bottom or from the right of the sheet (ISO 129-1's usual way).
    """
    length = math.dist(a, b)
    if length <= JOIN_TOL_MM:
        raise BrokenGeometry(f"a dimension at {a} has no length")
    ux, uy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
    nx, ny = -uy, ux
    side = math.copysign(1.0, offset_mm)
    c = (a[0] + nx * offset_mm, a[1] + ny * offset_mm)
    d = (b[0] + nx * offset_mm, b[1] + ny * offset_mm)
    items: list[Item] = []
    for foot, top in ((a, c), (b, d)):
        gap, over = 0.8 * side, 1.5 * side
        items.append(
            line(
                (foot[0] + nx * gap, foot[1] + ny * gap),
                (top[0] + nx * over, top[1] + ny * over),
                HAIR_MM,
                colour,
            )
        )
    items.append(line(c, d, HAIR_MM, colour))
    head = min(2.5, length / 3)
    items += [arrow_head(c, d, head, colour), arrow_head(d, c, head, colour)]
    angle = math.degrees(math.atan2(uy, ux))
    flipped = not -90.0 + 1e-9 < angle <= 90.0 + 1e-9
    up = -1.0 if flipped else 1.0  # the side on which the letters stand
    lift = 1.2 if side * up > 0 else 1.2 + size_mm * CAP_HEIGHT
    lift *= side
    middle = ((c[0] + d[0]) / 2 + nx * lift, (c[1] + d[1]) / 2 + ny * lift)
    anchor: Anchor = "middle"
    items.append(
        Text(
            *middle,
            label or fixed(length, 2),
            size_mm,
            anchor,
            angle + (180.0 if flipped else 0.0),
            colour,
        )
    )
    return Group(tuple(items))
