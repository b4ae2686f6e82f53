"""The one picture vocabulary: a page of strokes, fills, texts and groups, in mm, x right, y up,
origin lower left.

Template pages, plans, nest pictures and the book's figures are `Page` values; `files/pdf.py` and
`files/pagesvg.py` write them. Items are painted in order, the last on top. A colour is "#rrggbb".
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from fab.errors import BrokenGeometry
from fab.outlines.contour import Box, Contour, Line, Point, Segment
from fab.outlines.inks import BLACK
from fab.units import JOIN_TOL_MM

Anchor = Literal["start", "middle", "end"]

HAIR_MM = 0.13  # thinnest line that any office printer shows, common practice
LINE_MM = 0.25  # ISO 128 line group 0.25: narrow lines
DASHED = (2.0, 1.0)  # hidden edges
DOTTED = (0.3, 1.0)
CHAIN = (6.0, 1.0, 0.8, 1.0)  # centre lines, level and plumb lines

_COLOUR = re.compile(r"#[0-9a-fA-F]{6}")


@dataclass(frozen=True)
class Stroke:
    """A drawn line: touching segments, one after the other.

    Closed when the last ends where the first starts.
    """

    segments: tuple[Segment, ...]
    width_mm: float = LINE_MM
    colour: str = BLACK
    dash: tuple[float, ...] = ()  # mm on, mm off, ...

    def __post_init__(self) -> None:
        _colour(self.colour)
        if not self.segments:
            raise BrokenGeometry("a stroke has no segments")
        if not self.width_mm > 0 or any(not part > 0 for part in self.dash):
            raise BrokenGeometry("a stroke's width and dashes must be over 0 mm")
        for here, there in pairwise(self.segments):
            if not math.dist(here.end, there.start) <= JOIN_TOL_MM:
                raise BrokenGeometry(f"a stroke is torn at {here.end}")

    @property
    def closed(self) -> bool:
        """True when the last segment ends where the first begins, within JOIN_TOL_MM."""
        return (
            len(self.segments) > 1
            and math.dist(self.segments[-1].end, self.segments[0].start) <= JOIN_TOL_MM
        )


@dataclass(frozen=True)
class Fill:
    """A filled region: contours by the even-odd rule, so a contour in a contour is a hole."""

    contours: tuple[Contour, ...]
    colour: str = BLACK
    opacity: float = 1.0

    def __post_init__(self) -> None:
        _colour(self.colour)
        if not self.contours:
            raise BrokenGeometry("a fill has no contours")
        if not 0.0 <= self.opacity <= 1.0:
            raise BrokenGeometry(f"an opacity of {self.opacity} is not in 0..1")


@dataclass(frozen=True)
class Text:
    """One line of text.

    `size_mm` is the font size (em); (x, y) is on the baseline, at the `anchor` of the line.
    """

    x: float
    y: float
    text: str
    size_mm: float
    anchor: Anchor = "start"
    turn_deg: float = 0.0  # anticlockwise about (x, y)
    colour: str = BLACK
    bold: bool = False

    def __post_init__(self) -> None:
        _colour(self.colour)
        if not (math.isfinite(self.x) and math.isfinite(self.y) and math.isfinite(self.turn_deg)):
            raise BrokenGeometry(f"text {self.text!r} has no place")
        if not 0 < self.size_mm < math.inf:
            raise BrokenGeometry(f"text {self.text!r} has no size")
        if self.anchor not in ("start", "middle", "end"):
            raise BrokenGeometry(f"text {self.text!r} has an unknown anchor {self.anchor!r}")


@dataclass(frozen=True)
class Group:
    """Items that belong together: moved by `shift`, seen only inside `clip` (a box in the group's
    own frame).

    `id`, `css`, `title` (shown on hover, read by screen readers) and `href` (a file beside the
    page, or "#id") reach SVG; PDF ignores them.
    """

    items: tuple[Item, ...]
    shift: Point = (0.0, 0.0)
    clip: Box | None = None
    id: str = ""
    css: str = ""
    title: str = ""
    href: str = ""


@dataclass(frozen=True)
class Image:
    """A picture of points, as PNG bytes, in the box from (x, y), its lower left corner."""

    x: float
    y: float
    width: float
    height: float
    png: bytes


Item = Stroke | Fill | Text | Group | Image


@dataclass(frozen=True)
class Page:
    """A sheet of paper or a picture.

    `title` and `says` are its words for those who can't see it.
    """

    width: float
    height: float
    items: tuple[Item, ...] = ()
    title: str = ""
    says: str = ""

    def __post_init__(self) -> None:
        if not (0 < self.width < math.inf and 0 < self.height < math.inf):
            raise BrokenGeometry(f"a page of {self.width} x {self.height} mm cannot be")


def line(
    a: Point, b: Point, width_mm: float = LINE_MM, colour: str = BLACK, dash: tuple[float, ...] = ()
) -> Stroke:
    """A straight stroke."""
    return Stroke((Line(a, b),), width_mm, colour, dash)


def polyline(
    points: Iterable[Point],
    width_mm: float = LINE_MM,
    colour: str = BLACK,
    dash: tuple[float, ...] = (),
    *,
    closed: bool = False,
) -> Stroke:
    """A stroke through `points`; points that fall on their neighbour are left out."""
    kept: list[Point] = []
    for point in points:
        if not kept or math.dist(kept[-1], point) > JOIN_TOL_MM:
            kept.append(point)
    if closed and math.dist(kept[-1], kept[0]) > JOIN_TOL_MM:
        kept.append(kept[0])
    return Stroke(tuple(Line(a, b) for a, b in pairwise(kept)), width_mm, colour, dash)


def ring(
    contour: Contour, width_mm: float = LINE_MM, colour: str = BLACK, dash: tuple[float, ...] = ()
) -> Stroke:
    """The line round a contour."""
    return Stroke(contour.segments, width_mm, colour, dash)


def _colour(text: str) -> None:
    if not _COLOUR.fullmatch(text):
        raise BrokenGeometry(f"colour {text!r} is not #rrggbb")
