"""Circles that came as polygons, splines or many arcs: found again."""

from __future__ import annotations

import math

from fab.outlines.contour import Arc, Contour, Point

LEAST_CORNERS = 8  # fewer are meant as a polygon: a hexagon is no hole for a screw
WIDEST_STEP = math.radians(50.0)


def as_circle(contour: Contour, tol_mm: float) -> tuple[Point, float] | None:
    """Centre and radius of the circle that all corners (and bellies of arcs) lie on within
    `tol_mm`, else None.
    """
    whole = contour.circle()
    if whole is not None:
        return whole
    points = [seg.start for seg in contour.segments]
    points += [seg.at(0.5) for seg in contour.segments if isinstance(seg, Arc)]
    if len(points) < LEAST_CORNERS:
        return None
    found = _fitted(points)
    if found is None:
        return None
    centre, radius = found
    if any(abs(math.dist(point, centre) - radius) > tol_mm for point in points):
        return None
    angles = sorted(math.atan2(y - centre[1], x - centre[0]) for x, y in points)
    steps = [b - a for a, b in zip(angles, [*angles[1:], angles[0] + 2 * math.pi], strict=True)]
    return (centre, radius) if max(steps) <= WIDEST_STEP else None


def _fitted(points: list[Point]) -> tuple[Point, float] | None:
    """The circle of least squares (Kasa): x^2 + y^2 = 2 a x + 2 b y + c is linear in a, b, c."""
    mx, my = (math.fsum(axis) / len(points) for axis in zip(*points, strict=True))
    sxx = syy = sxy = sxz = syz = 0.0
    for x, y in ((x - mx, y - my) for x, y in points):
        z = x * x + y * y
        sxx, syy, sxy, sxz, syz = sxx + x * x, syy + y * y, sxy + x * y, sxz + x * z, syz + y * z
    det = sxx * syy - sxy * sxy
    if det <= 1e-12 * (sxx + syy) ** 2:
        return None
    a, b = (sxz * syy - syz * sxy) / det / 2, (syz * sxx - sxz * sxy) / det / 2
    radius = math.sqrt(a * a + b * b + (sxx + syy) / len(points))
    return (mx + a, my + b), radius
