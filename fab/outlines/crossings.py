"""Points where lines and circles meet; contours that cross themselves or each other."""

from __future__ import annotations

import math
from collections.abc import Sequence

from fab.outlines.contour import Arc, Box, Contour, Line, Point, Segment
from fab.units import JOIN_TOL_MM

# an endless line through two points, or a circle
Carrier = tuple[Point, Point] | tuple[Point, float]

_PARALLEL_RAD = 1e-12  # sine of the angle below which two lines never meet
_GRAZE = 1e-12  # share of the squared radius by which rounding may make a tangent miss its circle


def meetings(a: Carrier, b: Carrier) -> list[Point]:
    """Every point where two endless carriers meet: none, one or two; none for parallel or
    coincident ones.
    """
    (p, q), (r, s) = a, b
    if isinstance(q, tuple):
        return _line_line(p, q, r, s) if isinstance(s, tuple) else _line_circle(p, q, r, s)
    return _line_circle(r, s, p, q) if isinstance(s, tuple) else _circle_circle(p, q, r, s)


def _line_line(p: Point, q: Point, r: Point, s: Point) -> list[Point]:
    ux, uy, vx, vy = q[0] - p[0], q[1] - p[1], s[0] - r[0], s[1] - r[1]
    cross = ux * vy - uy * vx
    if abs(cross) <= _PARALLEL_RAD * math.hypot(ux, uy) * math.hypot(vx, vy):
        return []
    t = ((r[0] - p[0]) * vy - (r[1] - p[1]) * vx) / cross
    return [(p[0] + ux * t, p[1] + uy * t)]


def _line_circle(p: Point, q: Point, centre: Point, radius_mm: float) -> list[Point]:
    length = math.dist(p, q)
    ux, uy = (q[0] - p[0]) / length, (q[1] - p[1]) / length
    along = (centre[0] - p[0]) * ux + (centre[1] - p[1]) * uy
    foot = (p[0] + ux * along, p[1] + uy * along)
    under = radius_mm**2 - math.dist(foot, centre) ** 2
    if under < -_GRAZE * radius_mm**2:
        return []
    half = math.sqrt(max(under, 0.0))
    return [(foot[0] - ux * half, foot[1] - uy * half), (foot[0] + ux * half, foot[1] + uy * half)]


def _circle_circle(c: Point, r: float, d: Point, s: float) -> list[Point]:
    apart = math.dist(c, d)
    if apart <= JOIN_TOL_MM:
        return []
    along = (r * r - s * s + apart * apart) / (2 * apart)
    under = r * r - along * along
    if under < -_GRAZE * r * r:
        return []
    ux, uy, half = (d[0] - c[0]) / apart, (d[1] - c[1]) / apart, math.sqrt(max(under, 0.0))
    foot = (c[0] + ux * along, c[1] + uy * along)
    return [(foot[0] - uy * half, foot[1] + ux * half), (foot[0] + uy * half, foot[1] - ux * half)]


def crossing(contours: Sequence[Contour]) -> tuple[tuple[int, int], Point] | None:
    """The first place found where the contours touch or cross, with the numbers of the two; None
    when clean.

    A sweep along x over the segments' boxes, so plates with hundreds of holes stay quick.
    """
    pieces = [
        (_box(seg), index, place, seg)
        for index, contour in enumerate(contours)
        for place, seg in enumerate(contour.segments)
    ]
    pieces.sort(key=lambda piece: piece[0][0])
    open_ones: list[tuple[Box, int, int, Segment]] = []
    for piece in pieces:
        box, index, place, seg = piece
        open_ones = [other for other in open_ones if other[0][2] >= box[0]]
        for other_box, other_index, other_place, other in open_ones:
            if other_box[3] < box[1] or box[3] < other_box[1]:
                continue
            shared: list[Point] = []
            if index == other_index:
                count = len(contours[index].segments)
                if (place - other_place) % count == 1:
                    shared.append(seg.start)
                if (other_place - place) % count == 1:
                    shared.append(seg.end)
            at = _touch(seg, other, shared)
            if at:
                return (index, other_index), at
        open_ones.append(piece)
    return None


def _touch(a: Segment, b: Segment, shared: list[Point]) -> Point | None:
    """A point that both segments hold, apart from the ends that neighbours share."""
    radii = [seg.radius_mm for seg in (a, b) if isinstance(seg, Arc)]
    # A tangent join whose ends miss by JOIN_TOL crosses itself as far away as the sagitta formula
    # says.
    blind = (
        max(10 * JOIN_TOL_MM, *(2 * math.sqrt(2 * r * JOIN_TOL_MM) for r in radii))
        if radii
        else 10 * JOIN_TOL_MM
    )
    for point in (*meetings(_carrier(a), _carrier(b)), *_overlap(a, b)):
        if (
            _holds(a, point)
            and _holds(b, point)
            and all(math.dist(point, end) > blind for end in shared)
        ):
            return point
    return None


def _overlap(a: Segment, b: Segment) -> list[Point]:
    """Candidates on segments that lie on one carrier: middles and ends."""
    if isinstance(a, Line) and isinstance(b, Line):
        return [_middle(a), _middle(b), a.start, a.end, b.start, b.end]
    if isinstance(a, Arc) and isinstance(b, Arc) and math.dist(a.centre, b.centre) <= JOIN_TOL_MM:
        return [a.at(0.5), b.at(0.5), a.start, a.end, b.start, b.end]
    return []


def _middle(seg: Line) -> Point:
    return ((seg.start[0] + seg.end[0]) / 2, (seg.start[1] + seg.end[1]) / 2)


def _carrier(seg: Segment) -> Carrier:
    return (seg.centre, seg.radius_mm) if isinstance(seg, Arc) else (seg.start, seg.end)


def _holds(seg: Segment, point: Point) -> bool:
    """True when a point lies on the segment, ends included, within the join tolerance."""
    if isinstance(seg, Line):
        length = seg.length_mm
        ux, uy = (seg.end[0] - seg.start[0]) / length, (seg.end[1] - seg.start[1]) / length
        dx, dy = point[0] - seg.start[0], point[1] - seg.start[1]
        return (
            abs(ux * dy - uy * dx) <= JOIN_TOL_MM
            and -JOIN_TOL_MM <= ux * dx + uy * dy <= length + JOIN_TOL_MM
        )
    if abs(math.dist(point, seg.centre) - seg.radius_mm) > JOIN_TOL_MM:
        return False
    slack = JOIN_TOL_MM / seg.radius_mm
    sx, sy = seg.start[0] - seg.centre[0], seg.start[1] - seg.centre[1]
    px, py = point[0] - seg.centre[0], point[1] - seg.centre[1]
    turned = math.atan2(sx * py - sy * px, sx * px + sy * py) * math.copysign(1.0, seg.sweep_rad)
    return (turned + slack) % (2 * math.pi) <= abs(seg.sweep_rad) + 2 * slack


def _box(seg: Segment) -> Box:
    """A box that surely holds the segment."""
    (ax, ay), (bx, by) = seg.start, seg.end
    grow = JOIN_TOL_MM
    if isinstance(seg, Arc):
        # No point of an arc of half a turn or less is further from its chord than the sagitta.
        grow += seg.radius_mm * (1 - math.cos(seg.sweep_rad / 2))
    return (min(ax, bx) - grow, min(ay, by) - grow, max(ax, bx) + grow, max(ay, by) + grow)


def inside(contour: Contour, point: Point) -> bool:
    """True when a point lies in the region that a contour goes round, by its winding number; arcs
    exact.
    """
    turned = 0.0
    for seg in contour.segments:
        ax, ay = seg.start[0] - point[0], seg.start[1] - point[1]
        bx, by = seg.end[0] - point[0], seg.end[1] - point[1]
        cross, dot = ax * by - ay * bx, ax * bx + ay * by
        seen = math.atan2(cross, dot)
        if isinstance(seg, Arc) and math.dist(point, seg.centre) < seg.radius_mm:
            sense = math.copysign(1.0, seg.sweep_rad)
            if cross == 0 and dot < 0:
                seen = math.pi * sense  # on the chord itself the arc goes half round
            elif cross * sense < 0:
                # between chord and arc the arc goes round the other way
                seen += 2 * math.pi * sense
        turned += seen
    return abs(turned) > math.pi
