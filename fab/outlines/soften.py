"""Sharp inner corners rounded: a beam leaves half its width there anyway, and a notch is where a
sheet cracks.
"""

from __future__ import annotations

import math

from fab.outlines.contour import Arc, Contour, Line, Point, Segment
from fab.units import JOIN_TOL_MM

SHARP_DEG = 30.0  # chords of a curve turn by less
ROOM = 0.45  # share of a line that a rounding may take at each end


def rounded_inner(contour: Contour, radius_mm: float) -> Contour:
    """A contour of lines with every corner rounded where it turns to the right (material lies left)
    by more than 30 degrees.

    Where a line is too short for the radius it is rounded by as much as there is room for.
    """
    corners = [seg.start for seg in contour.segments]
    if any(isinstance(seg, Arc) for seg in contour.segments) or len(corners) < 3:
        return contour
    segments: list[Segment] = []
    at: Point | None = None
    first: Point | None = None
    for k, here in enumerate(corners):
        arc = _rounding(corners[k - 1], here, corners[(k + 1) % len(corners)], radius_mm)
        start, end = (arc.start, arc.end) if arc is not None else (here, here)
        if at is not None and math.dist(at, start) > JOIN_TOL_MM:
            segments.append(Line(at, start))
        if arc is not None:
            segments.append(arc)
        first = start if first is None else first
        at = end
    assert at is not None
    assert first is not None
    if math.dist(at, first) > JOIN_TOL_MM:
        segments.append(Line(at, first))
    return Contour(tuple(segments))


def _rounding(before: Point, here: Point, after: Point, radius_mm: float) -> Arc | None:
    ux, uy, vx, vy = (
        here[0] - before[0],
        here[1] - before[1],
        after[0] - here[0],
        after[1] - here[1],
    )
    long_in, long_out = math.hypot(ux, uy), math.hypot(vx, vy)
    turn_rad = math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)
    if turn_rad > -math.radians(SHARP_DEG) or turn_rad < -math.radians(179.0):
        return None
    half = math.tan(-turn_rad / 2)
    radius = min(radius_mm, ROOM * min(long_in, long_out) / half)
    if radius < 10 * JOIN_TOL_MM:
        return None
    ux, uy, trim = ux / long_in, uy / long_in, radius * half
    start = (here[0] - ux * trim, here[1] - uy * trim)
    return Arc(start, (start[0] + uy * radius, start[1] - ux * radius), turn_rad)
