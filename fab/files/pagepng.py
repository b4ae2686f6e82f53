"""PNG of one page or picture, for whoever has no program that shows SVG: the same items, painted on white points.

Lines get round corners and blunt ends; titles and links are left out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from fab.files.letters import letter
from fab.files.png import png
from fab.files.words import writable
from fab.outlines.contour import Arc, Point, Segment
from fab.outlines.page import BLACK, Fill, Group, Item, Page, Stroke, Text

if TYPE_CHECKING:
    from fab.files.raster import Canvas, Clip

POINTS_PER_MM = 8.0
MOST_BYTES = 200_000
_COARSER = (POINTS_PER_MM, 5.0, 3.0)
_CHORD_MM = 0.02  # a fifth of a point
_BOLD_SHARE = 0.035  # bold is the same letter this much thicker, as in the PDF: laid down a little to each side
_DISC = [(math.cos(k * math.pi / 4), math.sin(k * math.pi / 4)) for k in range(8)]  # at a corner of a line
_SMOOTH = math.cos(0.3)  # lines that turn by less need none


def page_png(page: Page, points_per_mm: float = POINTS_PER_MM) -> bytes:
    """The page as a file of its own, its size in mm said in it. The same page gives the same bytes."""
    from fab.files.raster import Canvas

    canvas = Canvas(math.ceil(page.height * points_per_mm), math.ceil(page.width * points_per_mm))
    painter = _Painter(canvas, page.height, points_per_mm)
    painter.draw(page.items, (0.0, 0.0), None)
    painter.flush()
    indexed = canvas.indexed()
    if indexed is None:
        return png(canvas.pixels, points_per_mm)
    return png(indexed[0], points_per_mm, indexed[1])


def small_png(page: Page, most_bytes: int = MOST_BYTES) -> bytes:
    """The page as finely as it goes into so many bytes, or at the coarsest: a crowded picture takes fewer points."""
    for points_per_mm in _COARSER:
        data = page_png(page, points_per_mm)
        if len(data) <= most_bytes:
            break
    return data


@dataclass(frozen=True)
class _Paint:
    """How rings are filled."""

    colour: str
    even_odd: bool = False
    opacity: float = 1.0
    clip: Clip | None = None


class _Painter:
    """Items on a canvas. Neighbours that are painted alike wait for each other: a hundred at once cost little more
    than one."""

    def __init__(self, canvas: Canvas, height: float, scale: float) -> None:
        self.canvas, self.height, self.scale = canvas, height, scale
        self._paint = _Paint(BLACK)
        self._rings: list[Sequence[Point]] = []

    def draw(self, items: Sequence[Item], shift: Point, clip: Clip | None) -> None:
        """Take items up; what waits at the end is painted by `flush`."""
        for item in items:
            match item:
                case Stroke():
                    points = _chorded(item.segments)
                    runs = _dashes(points, item.dash) if item.dash else [points]
                    self._take(_Paint(item.colour, clip=clip), _ribbon(runs, item.width_mm), shift)
                case Fill():
                    rings = [_chorded(contour.segments)[:-1] for contour in item.contours]
                    areas = [contour.area_mm2 for contour in item.contours]
                    if len(rings) == 1 and areas[0] < 0:
                        rings[0].reverse()
                    nested = len(rings) > 1 and not (areas[0] > 0 and all(area < 0 for area in areas[1:]))
                    self._take(_Paint(item.colour, nested, item.opacity, clip), rings, shift)
                case Text():
                    self._take(_Paint(item.colour, clip=clip), _text(item), shift)
                case Group():
                    moved = (shift[0] + item.shift[0], shift[1] + item.shift[1])
                    self.draw(item.items, moved, self._clip(item, moved, clip))

    def _take(self, paint: _Paint, rings: list[list[Point]], shift: Point) -> None:
        if paint != self._paint or paint.opacity < 1 or paint.even_odd:
            self.flush()
        self._paint = paint
        self._rings += rings if shift == (0.0, 0.0) else [[(x + shift[0], y + shift[1]) for x, y in r] for r in rings]

    def flush(self) -> None:
        """Paint what waits."""
        import numpy as np

        rings, self._rings = [ring for ring in self._rings if len(ring) > 2], []
        if not rings:
            return
        corners = np.array([point for ring in rings for point in ring], float)
        corners = (corners - np.array([0.0, self.height])) * np.array([self.scale, -self.scale])
        paint = self._paint
        red, green, blue = (int(paint.colour[k : k + 2], 16) for k in (1, 3, 5))
        counts = [len(ring) for ring in rings]
        self.canvas.paint(
            corners, counts, (red, green, blue), even_odd=paint.even_odd, opacity=paint.opacity, clip=paint.clip
        )

    def _clip(self, group: Group, shift: Point, clip: Clip | None) -> Clip | None:
        """Points whose middle lies in the group's box, and in the box round it."""
        if group.clip is None:
            return clip
        left, low, right, top = group.clip
        own = (
            round((left + shift[0]) * self.scale), round((self.height - top - shift[1]) * self.scale),
            round((right + shift[0]) * self.scale), round((self.height - low - shift[1]) * self.scale),
        )  # fmt: skip
        if clip is None:
            return own
        return (max(own[0], clip[0]), max(own[1], clip[1]), min(own[2], clip[2]), min(own[3], clip[3]))


def _chorded(segments: Sequence[Segment]) -> list[Point]:
    """The corners of a run of segments, arcs as chords, from its start to its end."""
    points = [segments[0].start]
    for seg in segments:
        if isinstance(seg, Arc):
            step = 2 * math.acos(max(1 - _CHORD_MM / seg.radius_mm, 0.5))
            count = math.ceil(abs(seg.sweep_rad) / step)
            points += [seg.at(k / count) for k in range(1, count)]
        points.append(seg.end)
    return points


def _dashes(points: Sequence[Point], dash: Sequence[float]) -> list[list[Point]]:
    """The parts of a run that a pattern of mm on, mm off, ... leaves."""
    import numpy as np

    if len(dash) % 2:
        dash = (*dash, *dash)  # as SVG has it
    corners = np.asarray(points, float)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(corners, axis=0).T))])
    marks = np.concatenate([[0.0], np.cumsum(dash)])
    begins = np.arange(0.0, along[-1], marks[-1])
    runs: list[list[Point]] = []
    for low, high in zip(marks[0:-1:2], marks[1::2], strict=True):
        for a, b in zip(begins + low, np.minimum(begins + high, along[-1]), strict=True):
            if b > a:
                at = [a, *along[(along > a) & (along < b)], b]
                runs.append(
                    list(zip(np.interp(at, along, corners[:, 0]), np.interp(at, along, corners[:, 1]), strict=True))
                )
    return runs


def _ribbon(runs: Sequence[Sequence[Point]], width_mm: float) -> list[list[Point]]:
    """Rings that together are the runs `width_mm` wide, all anticlockwise: a strip a chord, a disc a corner."""
    half = width_mm / 2
    rings: list[list[Point]] = []
    for run in runs:
        closed = len(run) > 2 and math.dist(run[0], run[-1]) < 1e-9
        before: Point | None = _way(run[-2], run[-1]) if closed else None
        for (ax, ay), (bx, by) in pairwise(run):
            ux, uy = way = _way((ax, ay), (bx, by))
            nx, ny = uy * half, -ux * half
            rings.append([(ax + nx, ay + ny), (bx + nx, by + ny), (bx - nx, by - ny), (ax - nx, ay - ny)])
            if before is not None and ux * before[0] + uy * before[1] < _SMOOTH:
                rings.append([(ax + half * x, ay + half * y) for x, y in _DISC])
            before = way
    return rings


def _way(a: Point, b: Point) -> Point:
    """From one point to another, one long."""
    far = math.dist(a, b) or 1.0
    return ((b[0] - a[0]) / far, (b[1] - a[1]) / far)


def _text(item: Text) -> list[list[Point]]:
    """Rings of a line of text at its place."""
    rings: list[list[Point]] = []
    x = 0.0
    for char in " ".join(writable(item.text).split()):
        advance, own = letter(char)
        rings += [[(px + x, py) for px, py in ring] for ring in own]
        x += advance
    back = {"start": 0.0, "middle": 0.5, "end": 1.0}[item.anchor] * x
    angle = math.radians(item.turn_deg)
    cos, sin = math.cos(angle) * item.size_mm, math.sin(angle) * item.size_mm
    thick = _BOLD_SHARE / 2
    shifts = ((-thick, 0.0), (thick, 0.0), (0.0, -thick), (0.0, thick)) if item.bold else ((0.0, 0.0),)
    return [
        [(item.x + (px + sx) * cos - (py + sy) * sin, item.y + (px + sx) * sin + (py + sy) * cos) for px, py in ring]
        for sx, sy in ((sx - back, sy) for sx, sy in shifts)
        for ring in rings
    ]
