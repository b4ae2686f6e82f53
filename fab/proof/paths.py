"""The contents of a drawing, whichever format it came from: paths of straight lines and arcs on
layers, in mm, y up.

A segment is (x0, y0, x1, y1, bulge); the bulge is the tangent of a quarter of the arc's sweep,
positive counter-clockwise, 0 for a line (DXF reference, LWPOLYLINE group 42).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

Point = tuple[float, float]
Segment = tuple[float, float, float, float, float]

CHORD_MM = 0.0005  # a chord stays this near to its arc
JOIN_MM = 0.002  # ends this near are one


@dataclass(frozen=True)
class CutPath:
    """Connected segments on a layer. `closed`: the last ends where the first begins."""

    layer: str
    segments: tuple[Segment, ...]
    closed: bool

    @cached_property
    def points(self) -> tuple[Point, ...]:
        """The path as points, arcs as chords; a closed path ends with its first point."""
        found = [self.segments[0][:2]]
        for segment in self.segments:
            found += _chords(segment)
        return tuple(found)

    @cached_property
    def box(self) -> tuple[float, float, float, float]:
        """The least and greatest x and y of its points, mm."""
        xs, ys = zip(*self.points, strict=True)
        return (min(xs), min(ys), max(xs), max(ys))

    @cached_property
    def circle(self) -> tuple[float, float, float] | None:
        """Centre and radius when the path is one full circle."""
        if not self.closed or any(segment[4] == 0.0 for segment in self.segments):
            return None
        x0, y0, x1, y1 = self.box
        x, y, radius = (x0 + x1) / 2, (y0 + y1) / 2, (x1 - x0) / 2
        off = max(abs(math.hypot(px - x, py - y) - radius) for px, py in self.points)
        return (x, y, radius) if off < 0.01 else None

    @property
    def centre(self) -> Point:
        """The middle of the box."""
        x0, y0, x1, y1 = self.box
        return ((x0 + x1) / 2, (y0 + y1) / 2)


def closed_if_it_is(layer: str, segments: list[Segment], *, said: bool = False) -> CutPath:
    """A path that is closed when the file says so or when its ends meet."""
    first, last = segments[0], segments[-1]
    meets = math.dist(first[:2], last[2:4]) <= JOIN_MM
    if said and not meets:
        segments = [*segments, (last[2], last[3], first[0], first[1], 0.0)]
    return CutPath(layer, tuple(segments), said or (meets and len(segments) > 1))


def round_path(layer: str, x: float, y: float, radius: float) -> CutPath:
    """A circle as two half turns."""
    right, left = x + radius, x - radius
    return CutPath(layer, ((right, y, left, y, 1.0), (left, y, right, y, 1.0)), True)


def _chords(segment: Segment) -> list[Point]:
    x0, y0, x1, y1, bulge = segment
    if bulge == 0.0 or (x0 == x1 and y0 == y1):
        return [(x1, y1)]
    sweep = 4.0 * math.atan(bulge)
    chord = math.hypot(x1 - x0, y1 - y0)
    radius = abs(chord / (2.0 * math.sin(sweep / 2.0)))
    step = 2.0 * math.acos(max(1.0 - CHORD_MM / radius, -1.0)) if radius > CHORD_MM else math.pi
    count = min(max(2, math.ceil(abs(sweep) / step)), 4000)
    off = (1.0 - bulge * bulge) / (4.0 * bulge)
    cx, cy = (x0 + x1) / 2 - (y1 - y0) * off, (y0 + y1) / 2 + (x1 - x0) * off
    found = []
    for k in range(1, count):
        cos, sin = math.cos(sweep * k / count), math.sin(sweep * k / count)
        dx, dy = x0 - cx, y0 - cy
        found.append((cx + dx * cos - dy * sin, cy + dx * sin + dy * cos))
    return [*found, (x1, y1)]
