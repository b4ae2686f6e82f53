"""A pen for `fontTools` that follows a path under a transform and leaves segments in mm.

Circular arcs stay arcs while the transform keeps circles round; everything else that is curved
becomes chords.
"""

from __future__ import annotations

import math

from fab.files.line_count import too_many
from fab.outlines.contour import Arc, Line, Point, Segment
from fab.units import JOIN_TOL_MM

Matrix = tuple[float, float, float, float, float, float]  # x' = a x + c y + e, y' = b x + d y + f

_MOST_CHORDS = 4096  # of one curve


class NotFinite(ValueError):
    """A coordinate that overflows or is none."""


class Turtle:
    """A pen: its place in user units, and the lines that it has drawn, in mm."""

    def __init__(self, matrix: Matrix, flat_mm: float, most: int) -> None:
        self.matrix, self.flat, self.most = matrix, flat_mm, most
        self.segments: list[Segment] = []
        self.at: Point = (0.0, 0.0)
        self.first: Point = (0.0, 0.0)
        self.placed: Point = (0.0, 0.0)  # the end of the last segment, in mm

    def place(self, point: Point) -> Point:
        """A point of user units in mm: the affine map (a, b, c, d, e, f) of SVG 2, section 8.5."""
        a, b, c, d, e, f = self.matrix
        return (a * point[0] + c * point[1] + e, b * point[0] + d * point[1] + f)

    def moveTo(self, to: Point) -> None:
        """Begin a subpath: draws nothing."""
        self.at = self.first = to
        self.placed = self._placed(to)

    def lineTo(self, to: Point) -> None:
        """Draw a straight line. Raises NotFinite for a coordinate that overflows."""
        self._chord(to)
        self.at = to

    def closePath(self) -> None:
        """Draw back to where the subpath began."""
        self.lineTo(self.first)

    def endPath(self) -> None:
        """An open path ends: nothing to draw."""

    def curveTo(self, one: Point, two: Point, to: Point) -> None:
        """Draw a cubic Bezier curve as chords that stray at most `flat` mm from it.

        The number of chords follows from the bound on the curve's second derivative, in mm.
        """
        start = self.at
        scale = max(math.hypot(*self.matrix[:2]), math.hypot(*self.matrix[2:4]))
        # chords of a cubic stray at most sqrt(3)/18 of its second differences over n^2 (bound of
        # its second derivative)
        bend = max(
            math.dist((start[0] + two[0], start[1] + two[1]), (2 * one[0], 2 * one[1])),
            math.dist((one[0] + to[0], one[1] + to[1]), (2 * two[0], 2 * two[1])),
        )
        count = min(max(1, math.ceil(math.sqrt(0.75 * bend * scale / self.flat))), _MOST_CHORDS)
        self._room(count)
        for k in range(1, count + 1):
            t = k / count
            u = 1 - t
            w = (u**3, 3 * u * u * t, 3 * u * t * t, t**3)
            point = (
                w[0] * start[0] + w[1] * one[0] + w[2] * two[0] + w[3] * to[0],
                w[0] * start[1] + w[1] * one[1] + w[2] * two[1] + w[3] * to[1],
            )
            self._chord(point)
        self.at = to

    def qCurveTo(self, one: Point, to: Point) -> None:
        """Draw a quadratic Bezier curve as the cubic that is the same (degree elevation)."""
        s = self.at
        self.curveTo(
            (s[0] + (one[0] - s[0]) * 2 / 3, s[1] + (one[1] - s[1]) * 2 / 3),
            (to[0] + (one[0] - to[0]) * 2 / 3, to[1] + (one[1] - to[1]) * 2 / 3),
            to,
        )

    def arcTo(
        self, rx: float, ry: float, turn_deg: float, large: bool, sweep: bool, to: Point
    ) -> None:
        """An elliptical arc, SVG 1.1 appendix F.6; equal radii stay an arc where they can."""
        rx, ry = abs(rx), abs(ry)
        if rx == 0 or ry == 0 or math.dist(self.at, to) < 1e-12:
            self.lineTo(to)
            return
        tilt = math.radians(turn_deg)
        centre, (rx, ry), begin, extent = _centre_form(
            self.at, to, (rx, ry), tilt, large=large, sweep=sweep
        )
        if abs(rx - ry) < 1e-9 * rx and self._keeps_circles():
            self._round(centre, extent)
        else:
            self._ellipse(centre, (rx, ry), tilt, (begin, extent), to)
        self.at = to

    def _keeps_circles(self) -> bool:
        a, b, c, d, _, _ = self.matrix
        return abs(a * c + b * d) < 1e-9 * (a * a + b * b) and abs(
            a * a + b * b - c * c - d * d
        ) < 1e-9 * (a * a + b * b)

    def _round(self, centre: Point, extent: float) -> None:
        a, b, c, d, _, _ = self.matrix
        mirrored = a * d - b * c < 0
        start, middle = self.placed, self._placed(centre)
        if math.dist(start, middle) <= JOIN_TOL_MM or abs(extent) < 1e-9:
            return
        total = -extent if mirrored else extent
        parts = 1 if abs(total) <= math.pi else 2
        for _ in range(parts):
            piece = Arc(start, middle, total / parts)
            self.segments.append(piece)
            start = self.placed = piece.end

    def _ellipse(
        self, centre: Point, radii: Point, tilt: float, span: tuple[float, float], to: Point
    ) -> None:
        (rx, ry), (begin, extent) = radii, span
        scale = max(math.hypot(*self.matrix[:2]), math.hypot(*self.matrix[2:4])) * max(rx, ry)
        step = 2 * math.acos(max(1 - self.flat / max(scale, self.flat), 0.0)) or math.pi / 4
        count = min(max(2, math.ceil(abs(extent) / step)), _MOST_CHORDS)
        self._room(count)
        cos, sin = math.cos(tilt), math.sin(tilt)
        for k in range(1, count + 1):
            angle = begin + extent * k / count
            x, y = rx * math.cos(angle), ry * math.sin(angle)
            point = (
                to if k == count else (centre[0] + x * cos - y * sin, centre[1] + x * sin + y * cos)
            )
            self._chord(point)

    def _room(self, chords: int) -> None:
        """Stop before a curve that makes one path longer than a whole drawing may be."""
        if len(self.segments) + chords > self.most:
            raise too_many(len(self.segments) + chords, self.most, at_least=True)

    def _chord(self, to: Point) -> None:
        start, end = self.placed, self._placed(to)
        if math.dist(start, end) > JOIN_TOL_MM:
            self.segments.append(Line(start, end))
            self.placed = end

    def _placed(self, point: Point) -> Point:
        x, y = self.place(point)
        if not (math.isfinite(x) and math.isfinite(y)):
            raise NotFinite(f"a coordinate at {point} is not a number")
        return x, y


def _centre_form(
    start: Point, end: Point, radii: Point, tilt: float, *, large: bool, sweep: bool
) -> tuple[Point, Point, float, float]:
    """Centre, radii (enlarged when too small), begin and extent in radians, in the SVG's sense."""
    rx, ry = radii
    cos, sin = math.cos(tilt), math.sin(tilt)
    dx, dy = (start[0] - end[0]) / 2, (start[1] - end[1]) / 2
    x, y = cos * dx + sin * dy, -sin * dx + cos * dy
    over = x * x / (rx * rx) + y * y / (ry * ry)
    if over > 1:
        rx, ry = rx * math.sqrt(over), ry * math.sqrt(over)
    below = rx * rx * y * y + ry * ry * x * x
    root = math.sqrt(max(rx * rx * ry * ry / below - 1, 0.0)) * (1 if large != sweep else -1)
    cx, cy = root * rx * y / ry, -root * ry * x / rx
    centre = (
        cos * cx - sin * cy + (start[0] + end[0]) / 2,
        sin * cx + cos * cy + (start[1] + end[1]) / 2,
    )
    begin = math.atan2((y - cy) / ry, (x - cx) / rx)
    extent = (math.atan2((-y - cy) / ry, (-x - cx) / rx) - begin) % (2 * math.pi)
    return centre, (rx, ry), begin, extent if sweep else extent - 2 * math.pi
