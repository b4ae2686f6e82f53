"""Offset of outlines: material grows (or shrinks) by one distance on every side.

Exact; arcs stay arcs.

Material lies to the left of every contour (an edge runs anticlockwise, a hole clockwise), so
growing moves every segment to its right: a line shifts, an anticlockwise arc gains radius, a
clockwise one loses it. Neighbours are then joined where they meet: tangent ones at once, corners at
the intersection of the moved curves (a mitre outside, a trim inside). Nothing may get lost on the
way: an edge that vanishes, an arc without radius or two cuts that cross are refused, because the
beam would take away something that the maker drew.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from fab.errors import BrokenGeometry, InputError
from fab.outlines.contour import Arc, Contour, Line, Outline, Point, Segment
from fab.outlines.crossings import crossing, inside, meetings
from fab.remembered import remembering
from fab.units import JOIN_TOL_MM, fixed

# neighbours that turn by less are tangent: their mitre would be shorter than any tolerance
_TANGENT_RAD = 1e-5
_NOISE_MM = 1e-11  # what floating point does to a coordinate of some metres


class _Lost(Exception):
    """A feature of a contour would be lost; the text names it."""


# nest, order of cutting, rests, checks and pictures ask for the same path
@remembering(32)
def kerf_compensated(outline: Outline, kerf_mm: float) -> Outline:
    """The path of the beam's middle, so that the part comes out as drawn.

    `kerf_mm` is the whole width removed.
    """
    if not 0.0 <= kerf_mm < math.inf:
        raise InputError(
            f"a kerf of {kerf_mm} mm is out of range. Measure it with the kerf coupon; 0.1 to 0.3"
            " mm is usual"
        )
    try:
        return _grown(outline, kerf_mm / 2)
    except _Lost as lost:
        most = 2 * _largest(outline, kerf_mm / 2)
        raise InputError(
            f"{lost}: a kerf of {fixed(kerf_mm)} mm is too wide. This outline can be cut with a"
            f" kerf of up to {_floor(most)} mm; else make the feature larger or leave it out"
        ) from None


def grown(outline: Outline, by_mm: float) -> Outline:
    """`outline` with `by_mm` more material on every side, holes included; negative takes material
    away.

    Every contour keeps its number of corners and its sense. Raises InputError, with the feature and
    what would work, when something would be lost.
    """
    if not math.isfinite(by_mm):
        raise InputError(f"an outline cannot grow by {by_mm} mm")
    try:
        return _grown(outline, by_mm)
    except _Lost as lost:
        most = _largest(outline, by_mm)
        way = "grow" if by_mm > 0 else "shrink"
        raise InputError(
            f"{lost}: it cannot {way} by {fixed(abs(by_mm))} mm. Up to {_floor(abs(most))} mm"
            " works; else make the feature larger"
        ) from None


def _grown(outline: Outline, by_mm: float) -> Outline:
    if by_mm == 0.0:
        return outline
    moved = []
    for index, contour in enumerate(outline.contours):
        hole = index < len(outline.holes)
        try:
            moved.append(_moved_contour(contour, by_mm))
        except _Lost as lost:
            raise _Lost(f"{_name(contour, index if hole else None)}: {lost}") from None
    # each contour alone is sound by now; together they may still meet
    crossed = crossing(moved)
    if crossed:
        both, at = crossed
        names = [
            _name(outline.contours[k], k if k < len(outline.holes) else None)
            for k in sorted(set(both))
        ]
        who = names[0] if len(names) == 1 else f"{names[0]} and {names[1]}"
        what = "its cuts would cross" if len(names) == 1 else "their cuts would cross"
        raise _Lost(f"{who}: {what} at x {fixed(at[0], 2)}, y {fixed(at[1], 2)} mm")
    *holes, edge = moved
    for index, grown_hole in enumerate(holes):
        if by_mm < 0 and not inside(edge, grown_hole.segments[0].start):
            raise _Lost(
                f"{_name(outline.holes[index], index)}: the hole would be as large as the part"
            )
    return Outline(edge, tuple(holes))


def _moved_contour(contour: Contour, by_mm: float) -> Contour:
    rails = [_rail(seg, by_mm) for seg in contour.segments]
    count = len(rails)
    joints = [
        _joint(rails[k - 1], rails[k], contour.segments[k].start, by_mm) for k in range(count)
    ]
    segments: list[Segment] = []
    for k, rail in enumerate(rails):
        segments += _trimmed(rail, joints[k], joints[(k + 1) % count])
    moved = Contour(tuple(segments))
    # a contour moved past its own middle comes out the other way round
    if moved.is_hole != contour.is_hole:
        raise _Lost("nothing of it would be left")
    return moved


@dataclass(frozen=True)
class _Rail:
    """A segment moved sideways, its ends not yet joined to its neighbours."""

    was: Segment
    start: Point
    end: Point
    radius_mm: float = 0.0  # of an arc


def _rail(seg: Segment, by_mm: float) -> _Rail:
    if isinstance(seg, Line):
        length = seg.length_mm
        nx, ny = (
            (seg.end[1] - seg.start[1]) / length * by_mm,
            (seg.start[0] - seg.end[0]) / length * by_mm,
        )
        return _Rail(
            seg, (seg.start[0] + nx, seg.start[1] + ny), (seg.end[0] + nx, seg.end[1] + ny)
        )
    # material lies on the left: an arc that turns left bulges out and grows with the outline
    radius = seg.radius_mm + by_mm * math.copysign(1.0, seg.sweep_rad)
    if radius <= JOIN_TOL_MM:
        raise _Lost(
            f"the {fixed(seg.radius_mm)} mm radius at x {fixed(seg.centre[0], 2)}, y"
            f" {fixed(seg.centre[1], 2)} mm would be lost"
        )
    share = radius / seg.radius_mm
    (cx, cy), start, end = seg.centre, seg.start, seg.end
    return _Rail(
        seg,
        (cx + (start[0] - cx) * share, cy + (start[1] - cy) * share),
        (cx + (end[0] - cx) * share, cy + (end[1] - cy) * share),
        radius,
    )


def _joint(before: _Rail, after: _Rail, corner: Point, by_mm: float) -> Point:
    """The corner where two moved neighbours meet; raises _Lost where they do not."""
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = (
        before.end,
        after.start,
        before.was.end,
        after.was.start,
    )
    if math.hypot(ax - bx - cx + dx, ay - by - cy + dy) <= abs(by_mm) * _TANGENT_RAD + _NOISE_MM:
        return before.end if isinstance(before.was, Arc) else after.start
    found = meetings(_carrier(before), _carrier(after))
    if not found:
        raise _Lost(
            f"the corner at x {fixed(corner[0], 2)}, y {fixed(corner[1], 2)} mm would be lost"
        )
    return min(found, key=lambda point: math.dist(point, corner))


def _carrier(rail: _Rail) -> tuple[Point, Point] | tuple[Point, float]:
    """The endless line, or the whole circle, that a rail lies on."""
    return (
        (rail.was.centre, rail.radius_mm) if isinstance(rail.was, Arc) else (rail.start, rail.end)
    )


def _trimmed(rail: _Rail, start: Point, end: Point) -> list[Segment]:
    """The rail between its joints: one segment, or two arcs when a corner's mitre takes it past a
    half turn.
    """
    if isinstance(rail.was, Line):
        (ax, ay), (bx, by) = rail.was.start, rail.was.end
        forward = (end[0] - start[0]) * (bx - ax) + (end[1] - start[1]) * (by - ay)
        if forward <= JOIN_TOL_MM * rail.was.length_mm:
            raise _Lost(
                f"the {fixed(rail.was.length_mm)} mm edge at x {fixed((ax + bx) / 2, 2)}, y"
                f" {fixed((ay + by) / 2, 2)} mm would be lost"
            )
        return [Line(start, end)]
    arc = rail.was
    sense = math.copysign(1.0, arc.sweep_rad)
    begin, finish = _between(arc.centre, rail.start, start), _between(arc.centre, rail.end, end)
    sweep = abs(arc.sweep_rad) + sense * (finish - begin)
    if sweep * rail.radius_mm <= JOIN_TOL_MM:
        raise _Lost(
            f"the {fixed(arc.radius_mm)} mm radius at x {fixed(arc.centre[0], 2)}, y"
            f" {fixed(arc.centre[1], 2)} mm would be lost"
        )
    if sweep >= 2 * math.pi:
        raise _Lost(f"the {fixed(arc.radius_mm)} mm radius at {arc.centre} would close on itself")
    if sweep <= math.pi + 1e-12:
        return [Arc(start, arc.centre, sense * sweep)]
    half = Arc(start, arc.centre, sense * sweep / 2)
    return [half, Arc(half.end, arc.centre, sense * sweep / 2)]


def _between(centre: Point, a: Point, b: Point) -> float:
    """Signed angle from `a` to `b` about `centre`, in (-pi, pi]."""
    ax, ay, bx, by = a[0] - centre[0], a[1] - centre[1], b[0] - centre[0], b[1] - centre[1]
    return math.atan2(ax * by - ay * bx, ax * bx + ay * by)


def _largest(outline: Outline, by_mm: float) -> float:
    """The largest offset towards `by_mm` that keeps everything, by bisection."""
    low, high = 0.0, by_mm
    for _ in range(30):
        middle = (low + high) / 2
        try:
            _grown(outline, middle)
            low = middle
        except (_Lost, BrokenGeometry):
            high = middle
    return low


def _floor(value_mm: float) -> str:
    """Rounded down to 1/1000 mm: what we say works must work."""
    return fixed(math.floor(value_mm * 1000) / 1000)


def _name(contour: Contour, hole: int | None) -> str:
    """The word a maker would use for it."""
    box = contour.box
    round_one = contour.circle()
    size = (
        f"{fixed(2 * round_one[1])} mm round"
        if round_one
        else f"{fixed(narrowest_mm(contour))} mm wide"
    )
    place = f"at x {fixed((box[0] + box[2]) / 2, 2)}, y {fixed((box[1] + box[3]) / 2, 2)} mm"
    return f"the outer edge ({size})" if hole is None else f"hole {hole + 1} ({size}, {place})"


def narrowest_mm(contour: Contour) -> float:
    """The least width of a contour's hull, measured square to each of its straight sides (to x and
    y without any).
    """
    turns = [0.0, math.pi / 2]
    turns += [
        math.pi / 2 - math.atan2(seg.end[1] - seg.start[1], seg.end[0] - seg.start[0])
        for seg in contour.segments
        if isinstance(seg, Line)
    ]
    boxes = [contour.turned(angle).box for angle in turns]
    return min(box[2] - box[0] for box in boxes)
