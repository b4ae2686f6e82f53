"""A small single-stroke alphabet of our own: one pass of a beam or one printed bar draws a letter.

Capitals, figures and a few signs on a grid four wide and six high; lower case is drawn as capitals,
an unknown character as a box. A glyph is written as strokes parted by blanks; a stroke is grid
points "xy" (or "x,y" off the grid), joined by "-"; a point marked "o" is rounded off, by half its
shorter neighbour at most. No piece of a line is drawn twice: a beam would burn it deeper.
"""

from __future__ import annotations

import math
from functools import cache
from itertools import pairwise
from typing import Literal

from fab.errors import BrokenGeometry
from fab.outlines.contour import Point, turn

Anchor = Literal["start", "middle", "end"]
Strokes = tuple[tuple[Point, ...], ...]

UP_ARROW = "\u2191"
_CAP = 6.0  # grid height of a capital
_SPACE = 1.6  # grid units between two glyphs
_BLANK = 2.4  # width of a space
_ROUND = 2.0  # largest radius of a rounded point
# chords per rounded quarter turn: straight enough for a beam, few enough for a small file
_CHORDS = 4

_GLYPHS = {
    "A": "00-04-26-44-40 02-42",
    "B": "00-06-46o-43o-03 2.5,3-43o-40o-00",
    "C": "45-46o-06o-00o-40o-41",
    "D": "00-06-46o-40o-00",
    "E": "40-00-06-46 03-33",
    "F": "00-06-46 03-33",
    "G": "45-46o-06o-00o-40o-43-23",
    "H": "00-06 40-46 03-43",
    "I": "00-06",
    "J": "46-40o-00o-01",
    "K": "00-06 46-02 13-40",
    "L": "06-00-40",
    "M": "00-06-23-46-40",
    "N": "00-06-40-46",
    "O": "03-00o-40o-46o-06o-03",
    "P": "00-06-46o-42o-02",
    "Q": "03-00o-40o-46o-06o-03 22-40",
    "R": "00-06-46o-42o-02 22-40",
    "S": "45-46o-06o-03o-43o-40o-00o-01",
    "T": "20-26 06-46",
    "U": "06-00o-40o-46",
    "V": "06-20-46",
    "W": "06-10-24-30-46",
    "X": "00-46 06-40",
    "Y": "20-23-06 23-46",
    "Z": "06-46-00-40",
    "0": "03-00o-40o-46o-06o-03 11-35",
    "1": "04-26-20 00-40",
    "2": "05-06o-46o-43-00-40",
    "3": "05-06o-46o-43o-1.5,3 2.5,3-43o-40o-00o-01",
    "4": "30-36-02-42",
    "5": "46-06-04-44o-40o-00o-01",
    "6": "45-46o-06o-00o-40o-4,3.5o-0,3.5",
    "7": "06-46-10",
    "8": "23-03o-06o-46o-43o-23 1.5,3-03o-00o-40o-43o-2.5,3",
    "9": "01-00o-40o-46o-06o-0,2.5o-4,2.5",
    "-": "03-33",
    ".": "00-01",
    "/": "00-36",
    "_": "00-40",
    ":": "01-02 04-05",
    "+": "03-43 21-25",
    "#": "10-16 30-36 02-42 04-44",
    "'": "04-06",
    "(": "16-05o-01o-10",
    ")": "06-15o-11o-00",
    UP_ARROW: "20-26 04-26-44",
}
_BOX = "00-40-46-06-00"


def strokes(
    text: str,
    height_mm: float,
    anchor: Anchor = "start",
    at: Point = (0.0, 0.0),
    turn_deg: float = 0.0,
) -> Strokes:
    """Open polylines that draw one line of `text`, its capitals `height_mm` high, standing on y =
    `at[1]`.

    `anchor` says which point of the line lies at `at`: its left end, its middle or its right end;
    the line is turned anticlockwise about `at`.
    """
    if not 0 < height_mm < math.inf:
        raise BrokenGeometry(f"letters of {height_mm} mm cannot be drawn")
    scale = height_mm / _CAP
    x = {"start": 0.0, "middle": -0.5, "end": -1.0}[anchor] * width_mm(text, height_mm)
    out: list[tuple[Point, ...]] = []
    angle = math.radians(turn_deg)
    for char in text.upper():
        lines, wide = _glyph(char)
        for path in lines:
            turned = [turn((x + px * scale, py * scale), angle) for px, py in path]
            out.append(tuple((at[0] + px, at[1] + py) for px, py in turned))
        x += (wide + _SPACE) * scale
    return tuple(out)


def known(text: str) -> bool:
    """True when the alphabet has every letter of the text."""
    return all(char == " " or char in _GLYPHS for char in text.upper())


def width_mm(text: str, height_mm: float) -> float:
    """Width of one line from its first stroke to its last, without the width of the stroke."""
    wide = sum(_glyph(char)[1] + _SPACE for char in text.upper())
    return max(wide - _SPACE, 0.0) * height_mm / _CAP


@cache
def _glyph(char: str) -> tuple[Strokes, float]:
    """Strokes of one glyph in grid units, moved to x = 0, and its width."""
    if char == " ":
        return (), _BLANK
    lines = [_rounded(stroke) for stroke in _GLYPHS.get(char, _BOX).split()]
    left = min(x for path in lines for x, _ in path)
    right = max(x for path in lines for x, _ in path)
    return tuple(tuple((x - left, y) for x, y in path) for path in lines), right - left


def _point(mark: str) -> Point:
    x, y = mark.split(",") if "," in mark else list(mark)
    return (float(x), float(y))


def _rounded(stroke: str) -> tuple[Point, ...]:
    """The points of one stroke, marked corners replaced by chords of an arc."""
    marks = stroke.split("-")
    points = [_point(mark.rstrip("o")) for mark in marks]
    out: list[Point] = [points[0]]
    for k in range(1, len(points) - 1):
        here, before, after = points[k], points[k - 1], points[k + 1]
        if not marks[k].endswith("o"):
            out.append(here)
            continue
        reach_in, reach_out = math.dist(before, here), math.dist(here, after)
        # Half of a neighbour that is rounded too, all of one that is not.
        reach_in *= 0.5 if marks[k - 1].endswith("o") else 1.0
        reach_out *= 0.5 if marks[k + 1].endswith("o") else 1.0
        ux, uy = (
            (here[0] - before[0]) / math.dist(before, here),
            (here[1] - before[1]) / math.dist(before, here),
        )
        vx, vy = (
            (after[0] - here[0]) / math.dist(here, after),
            (after[1] - here[1]) / math.dist(here, after),
        )
        sweep = math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)
        trim = min(reach_in, reach_out, _ROUND * math.tan(abs(sweep) / 2))
        radius = math.copysign(trim / math.tan(abs(sweep) / 2), sweep)
        start = (here[0] - ux * trim, here[1] - uy * trim)
        centre = (start[0] - uy * radius, start[1] + ux * radius)
        count = max(1, math.ceil(abs(sweep) / (math.pi / 2) * _CHORDS - 1e-9))
        for step in range(count + 1):
            dx, dy = turn((start[0] - centre[0], start[1] - centre[1]), sweep * step / count)
            out.append((centre[0] + dx, centre[1] + dy))
    out.append(points[-1])
    kept = [out[0]]
    kept += [point for before, point in pairwise(out) if math.dist(before, point) > 1e-9]
    return tuple(kept)
