"""The one flat vocabulary: points, lines, true arcs, closed contours, outlines with holes.

Millimetres, x right, y up. A contour that runs anticlockwise encloses material, clockwise a hole;
an `Outline` holds one of the first and any number of the second. Shapes are checked when made: who
holds one holds a good one.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from fab.errors import BrokenGeometry
from fab.units import JOIN_TOL_MM

Point = tuple[float, float]
Box = tuple[float, float, float, float]  # x least, y least, x most, y most


@dataclass(frozen=True)
class Line:
    """A straight cut from `start` to `end`."""

    start: Point
    end: Point

    @property
    def length_mm(self) -> float:
        """Distance of the ends."""
        return math.dist(self.start, self.end)

    def moved(self, dx: float, dy: float) -> Line:
        """The line shifted by (dx, dy) mm."""
        return Line((self.start[0] + dx, self.start[1] + dy), (self.end[0] + dx, self.end[1] + dy))

    def turned(self, angle_rad: float) -> Line:
        """The line turned about the origin, counter-clockwise."""
        return Line(turn(self.start, angle_rad), turn(self.end, angle_rad))

    def mirrored(self) -> Line:
        """The line mirrored at the y axis, left to right."""
        return Line((-self.start[0], self.start[1]), (-self.end[0], self.end[1]))

    def reversed(self) -> Line:
        """The same line run the other way."""
        return Line(self.end, self.start)


@dataclass(frozen=True)
class Arc:
    """A round cut from `start` about `centre` by `sweep_rad` (positive = anticlockwise, 0 < |sweep|
    <= pi).

    A full circle is two half turns, so that a DXF bulge never exceeds 1.
    """

    start: Point
    centre: Point
    sweep_rad: float

    def __post_init__(self) -> None:
        if not 0.0 < abs(self.sweep_rad) <= math.pi + 1e-12:
            raise BrokenGeometry(f"an arc sweeps {self.sweep_rad:.6g} rad; it must be in (0, pi]")
        if self.radius_mm <= JOIN_TOL_MM:
            raise BrokenGeometry(f"an arc at {self.centre} has no radius")

    @property
    def radius_mm(self) -> float:
        """Distance from the start to the centre."""
        return math.dist(self.start, self.centre)

    @cached_property
    def end(self) -> Point:
        """The far end: the start turned about the centre by the sweep.

        It is derived, so an arc can never disagree with its end; neighbours join within
        JOIN_TOL_MM.
        """
        dx, dy = self.start[0] - self.centre[0], self.start[1] - self.centre[1]
        px, py = turn((dx, dy), self.sweep_rad)
        return (self.centre[0] + px, self.centre[1] + py)

    @property
    def length_mm(self) -> float:
        """Length along the arc."""
        return self.radius_mm * abs(self.sweep_rad)

    @property
    def bulge(self) -> float:
        """DXF bulge: tan(sweep / 4), positive anticlockwise (DXF reference, group code 42)."""
        return math.tan(self.sweep_rad / 4)

    def at(self, share: float) -> Point:
        """The point at `share` (0..1) of the sweep."""
        dx, dy = self.start[0] - self.centre[0], self.start[1] - self.centre[1]
        px, py = turn((dx, dy), self.sweep_rad * share)
        return (self.centre[0] + px, self.centre[1] + py)

    def moved(self, dx: float, dy: float) -> Arc:
        """The arc shifted by (dx, dy) mm."""
        return Arc(
            (self.start[0] + dx, self.start[1] + dy),
            (self.centre[0] + dx, self.centre[1] + dy),
            self.sweep_rad,
        )

    def turned(self, angle_rad: float) -> Arc:
        """The arc turned about the origin, counter-clockwise."""
        return Arc(turn(self.start, angle_rad), turn(self.centre, angle_rad), self.sweep_rad)

    def mirrored(self) -> Arc:
        """The arc mirrored at the y axis: it sweeps the other way then."""
        return Arc(
            (-self.start[0], self.start[1]), (-self.centre[0], self.centre[1]), -self.sweep_rad
        )

    def reversed(self) -> Arc:
        """The same arc run from its end to its start."""
        return Arc(self.end, self.centre, -self.sweep_rad)


Segment = Line | Arc


def turn(point: Point, angle_rad: float) -> Point:
    """`point` turned about the origin, anticlockwise."""
    cos, sin = math.cos(angle_rad), math.sin(angle_rad)
    return (point[0] * cos - point[1] * sin, point[0] * sin + point[1] * cos)


@dataclass(frozen=True)
class Contour:
    """A closed loop of segments; anticlockwise is an edge of material, clockwise a hole."""

    segments: tuple[Segment, ...]

    def __post_init__(self) -> None:
        if not self.segments:
            raise BrokenGeometry("a contour has no segments")
        for here, there in pairwise((*self.segments, self.segments[0])):
            gap = math.dist(here.end, there.start)
            if not gap <= JOIN_TOL_MM:  # NaN fails here too
                raise BrokenGeometry(f"a contour is open by {gap:.3g} mm at {here.end}")
            if here.length_mm <= JOIN_TOL_MM:
                raise BrokenGeometry(f"a contour has a segment without length at {here.start}")

    @cached_property
    def area_mm2(self) -> float:
        """Signed area: positive when anticlockwise. Green's theorem, arcs exact."""
        twice = 0.0
        for seg in self.segments:
            (x0, y0), (x1, y1) = seg.start, seg.end
            twice += x0 * y1 - x1 * y0
            if isinstance(seg, Arc):
                twice += seg.radius_mm**2 * (seg.sweep_rad - math.sin(seg.sweep_rad))
        return twice / 2

    @cached_property
    def length_mm(self) -> float:
        """Length along all segments."""
        return math.fsum(seg.length_mm for seg in self.segments)

    @property
    def is_hole(self) -> bool:
        """True when it runs clockwise: material lies on the left of the way round."""
        return self.area_mm2 < 0

    @cached_property
    def box(self) -> Box:
        """The exact bounding box, bellies of arcs included."""
        return box_of(self.segments)

    def moved(self, dx: float, dy: float) -> Contour:
        """The contour shifted by (dx, dy) mm."""
        return Contour(tuple(seg.moved(dx, dy) for seg in self.segments))

    def turned(self, angle_rad: float) -> Contour:
        """The contour turned about the origin, counter-clockwise."""
        return Contour(tuple(seg.turned(angle_rad) for seg in self.segments))

    def mirrored(self) -> Contour:
        """Left to right about x = 0; the direction of running is kept."""
        return Contour(tuple(seg.mirrored() for seg in self.segments)).reversed()

    def reversed(self) -> Contour:
        """The same line run the other way: an edge becomes a hole."""
        return Contour(tuple(seg.reversed() for seg in reversed(self.segments)))

    def started_straight(self) -> Contour:
        """The same loop, started so that its closing segment is a line where it has one.

        Some readers misread a bulge on the closing segment of a polyline.
        """
        for index, seg in enumerate(self.segments):
            if isinstance(seg, Line):
                return Contour(self.segments[index + 1 :] + self.segments[: index + 1])
        return self

    def circle(self) -> tuple[Point, float] | None:
        """Centre and radius when the whole loop is one circle, else None."""
        first = self.segments[0]
        if not all(isinstance(seg, Arc) for seg in self.segments) or not isinstance(first, Arc):
            return None
        same = all(
            isinstance(seg, Arc)
            and math.dist(seg.centre, first.centre) < JOIN_TOL_MM
            and abs(seg.radius_mm - first.radius_mm) < JOIN_TOL_MM
            for seg in self.segments
        )
        return (first.centre, first.radius_mm) if same else None


def _passes(arc: Arc, angle_rad: float) -> bool:
    begin = math.atan2(arc.start[1] - arc.centre[1], arc.start[0] - arc.centre[0])
    offset = (angle_rad - begin) if arc.sweep_rad > 0 else (begin - angle_rad)
    return offset % (2 * math.pi) <= abs(arc.sweep_rad)


@dataclass(frozen=True)
class Outline:
    """One flat part: its edge and its holes. The sense of each contour is put right when made."""

    edge: Contour
    holes: tuple[Contour, ...] = ()

    def __post_init__(self) -> None:
        if abs(self.edge.area_mm2) <= JOIN_TOL_MM:
            raise BrokenGeometry("an outline has no area")
        if self.edge.is_hole:
            object.__setattr__(self, "edge", self.edge.reversed())
        object.__setattr__(
            self, "holes", tuple(hole if hole.is_hole else hole.reversed() for hole in self.holes)
        )

    @property
    def contours(self) -> tuple[Contour, ...]:
        """Holes first, then the edge: the order of cutting."""
        return (*self.holes, self.edge)

    @property
    def area_mm2(self) -> float:
        """Area of the material: holes run clockwise and count negative."""
        return math.fsum(contour.area_mm2 for contour in self.contours)

    @property
    def length_mm(self) -> float:
        """Length of all cuts, holes included."""
        return math.fsum(contour.length_mm for contour in self.contours)

    @property
    def box(self) -> Box:
        """Box of the outer edge: holes lie inside it."""
        return self.edge.box

    def moved(self, dx: float, dy: float) -> Outline:
        """The outline shifted by (dx, dy) mm."""
        return Outline(self.edge.moved(dx, dy), tuple(hole.moved(dx, dy) for hole in self.holes))

    def turned(self, angle_rad: float) -> Outline:
        """The outline turned about the origin, counter-clockwise."""
        return Outline(
            self.edge.turned(angle_rad), tuple(hole.turned(angle_rad) for hole in self.holes)
        )

    def mirrored(self) -> Outline:
        """The outline mirrored at the y axis; each contour keeps its sense, so material stays
        material.
        """
        return Outline(self.edge.mirrored(), tuple(hole.mirrored() for hole in self.holes))


def around(points: Iterable[Point]) -> Box:
    """The bounding box of points, at least one."""
    xs, ys = zip(*points, strict=True)
    return (min(xs), min(ys), max(xs), max(ys))


def box_of(segments: Sequence[Segment]) -> Box:
    """The exact bounding box of a run of segments, closed or not; bellies of arcs included."""
    ends = [*(seg.start for seg in segments), segments[-1].end]
    xs, ys = [x for x, _ in ends], [y for _, y in ends]
    for seg in segments:
        if isinstance(seg, Arc):
            for quarter in range(4):
                if _passes(seg, quarter * math.pi / 2):
                    xs.append(seg.centre[0] + seg.radius_mm * (1, 0, -1, 0)[quarter])
                    ys.append(seg.centre[1] + seg.radius_mm * (0, 1, 0, -1)[quarter])
    return (min(xs), min(ys), max(xs), max(ys))


def polygon(points: Iterable[Point]) -> Contour:
    """A closed contour of straight lines through `points` (at least three)."""
    corners = list(points)
    if len(corners) < 3:
        raise BrokenGeometry(f"a polygon needs three corners, got {len(corners)}")
    return Contour(tuple(Line(a, b) for a, b in pairwise((*corners, corners[0]))))


def circle(centre: Point, radius_mm: float) -> Contour:
    """A circle as two half turns, anticlockwise."""
    east, west = (centre[0] + radius_mm, centre[1]), (centre[0] - radius_mm, centre[1])
    return Contour((Arc(east, centre, math.pi), Arc(west, centre, math.pi)))


def corners(contour: Contour) -> Iterator[Point]:
    """The start point of every segment."""
    return (seg.start for seg in contour.segments)
