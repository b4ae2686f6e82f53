"""Distance of a point from a contour, arcs exact."""

from __future__ import annotations

import math

from fab.outlines.contour import Arc, Contour, Point, Segment


def distance_mm(contour: Contour, point: Point) -> float:
    """Least distance from a point to the line that a contour draws, inside or outside."""
    return min(segment_mm(seg, point) for seg in contour.segments)


def segment_mm(seg: Segment, point: Point) -> float:
    """Least distance from a point to one segment."""
    if isinstance(seg, Arc):
        return _arc_mm(seg, point)
    (ax, ay), (bx, by) = seg.start, seg.end
    dx, dy = bx - ax, by - ay
    along = ((point[0] - ax) * dx + (point[1] - ay) * dy) / (dx * dx + dy * dy)
    along = min(max(along, 0.0), 1.0)
    return math.hypot(point[0] - ax - along * dx, point[1] - ay - along * dy)


def _arc_mm(arc: Arc, point: Point) -> float:
    px, py = point[0] - arc.centre[0], point[1] - arc.centre[1]
    sx, sy = arc.start[0] - arc.centre[0], arc.start[1] - arc.centre[1]
    away = math.hypot(px, py)
    if away > 0:
        turned = math.atan2(sx * py - sy * px, sx * px + sy * py) * math.copysign(
            1.0, arc.sweep_rad
        )
        if turned % (2 * math.pi) <= abs(arc.sweep_rad):
            return abs(away - arc.radius_mm)
    return min(math.dist(point, arc.start), math.dist(point, arc.end))
