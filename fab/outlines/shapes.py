"""Contours that panels are made of: regular polygons, cut corners, rounded corners, slots."""

from __future__ import annotations

import math
from collections.abc import Sequence

from fab.errors import BrokenGeometry
from fab.outlines.contour import Arc, Contour, Line, Point, Segment, polygon, turn
from fab.units import JOIN_TOL_MM


def regular(sides: int, apothem_mm: float, corner_radius_mm: float = 0.0) -> Contour:
    """A regular polygon about the origin whose edge 0 faces +X; `apothem_mm` is centre to flat."""
    half = math.pi / sides
    radius = apothem_mm / math.cos(half)
    points = [turn((radius, 0.0), (2 * k - 1) * half) for k in range(sides)]
    return rounded(points, corner_radius_mm)


def cut_corner_points(sides: int, apothem_mm: float, facet_mm: float) -> list[Point]:
    """The corners of a regular polygon whose corners are cut off square at `facet_mm` from the
    centre.

    2 n points, anticlockwise from the low end of edge 0; the plain n corners when the cut misses
    them.
    """
    half = math.pi / sides
    if facet_mm >= apothem_mm / math.cos(half) - JOIN_TOL_MM:
        return [turn((apothem_mm / math.cos(half), 0.0), (2 * k - 1) * half) for k in range(sides)]
    along = (facet_mm - apothem_mm * math.cos(half)) / math.sin(half)
    if along <= JOIN_TOL_MM:
        raise BrokenGeometry(
            f"corners cut at {facet_mm:.3f} mm leave no edge at {apothem_mm:.3f} mm"
        )
    return [turn((apothem_mm, t), 2 * k * half) for k in range(sides) for t in (-along, along)]


def cut_corner(
    sides: int, apothem_mm: float, facet_mm: float, corner_radius_mm: float = 0.0
) -> Contour:
    """Contour of `cut_corner_points`, its corners rounded."""
    return rounded(cut_corner_points(sides, apothem_mm, facet_mm), corner_radius_mm)


def rounded(points: Sequence[Point], radius_mm: float) -> Contour:
    """The closed polygon through `points` with every corner rounded by a tangent arc of
    `radius_mm`.

    Refuses a radius that eats a whole edge.
    """
    if radius_mm <= JOIN_TOL_MM:
        return polygon(points)
    count = len(points)
    segments: list[Segment] = []
    trims: list[float] = []
    arcs: list[Arc | None] = []
    for k, here in enumerate(points):
        before, after = points[k - 1], points[(k + 1) % count]
        ux, uy = _unit(before, here)
        vx, vy = _unit(here, after)
        sweep = math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)
        trim = radius_mm * math.tan(abs(sweep) / 2)
        trims.append(trim)
        if abs(sweep) < 1e-9:
            arcs.append(None)
            continue
        side = math.copysign(1.0, sweep)
        start = (here[0] - ux * trim, here[1] - uy * trim)
        arcs.append(
            Arc(start, (start[0] - uy * radius_mm * side, start[1] + ux * radius_mm * side), sweep)
        )
    for k, here in enumerate(points):
        there = points[(k + 1) % count]
        rest = math.dist(here, there) - trims[k] - trims[(k + 1) % count]
        if rest < -JOIN_TOL_MM:
            raise BrokenGeometry(
                f"a corner radius of {radius_mm:.3f} mm does not fit an edge of"
                f" {math.dist(here, there):.3f} mm"
            )
        arc, following = arcs[k], arcs[(k + 1) % count]
        if arc is not None:
            segments.append(arc)
        if rest > JOIN_TOL_MM:
            segments.append(Line(arc.end if arc else here, following.start if following else there))
    return Contour(tuple(segments))


def rectangle(
    width_mm: float, height_mm: float, centre: Point = (0.0, 0.0), radius_mm: float = 0.0
) -> Contour:
    """An upright rectangle about `centre`."""
    (x, y), w, h = centre, width_mm / 2, height_mm / 2
    return rounded([(x - w, y - h), (x + w, y - h), (x + w, y + h), (x - w, y + h)], radius_mm)


def slot(start: Point, end: Point, width_mm: float) -> Contour:
    """A slot with round ends; `start` and `end` are the centres of the ends."""
    r = width_mm / 2
    ux, uy = _unit(start, end)
    nx, ny = -uy * r, ux * r
    a, b = (start[0] - nx, start[1] - ny), (end[0] - nx, end[1] - ny)
    c, d = (end[0] + nx, end[1] + ny), (start[0] + nx, start[1] + ny)
    return Contour((Line(a, b), Arc(b, end, math.pi), Line(c, d), Arc(d, start, math.pi)))


def keyhole(entry: Point, rest: Point, entry_d_mm: float, slot_w_mm: float) -> Contour:
    """A keyhole: round entry about `entry`, slot that ends round about `rest`."""
    big, small = entry_d_mm / 2, slot_w_mm / 2
    length = math.dist(entry, rest)
    if small >= big or length + small <= big:
        raise BrokenGeometry("a keyhole's slot must be narrower than its entry and reach out of it")
    ux, uy = _unit(entry, rest)
    foot = math.sqrt(big**2 - small**2)
    right = (entry[0] + ux * foot + uy * small, entry[1] + uy * foot - ux * small)
    left = (entry[0] + ux * foot - uy * small, entry[1] + uy * foot + ux * small)
    right_end = (rest[0] + uy * small, rest[1] - ux * small)
    left_end = (rest[0] - uy * small, rest[1] + ux * small)
    sweep = 2 * math.pi - 2 * math.asin(small / big)
    first = Arc(left, entry, sweep / 2)
    return Contour(
        (
            Line(right, right_end),
            Arc(right_end, rest, math.pi),
            Line(left_end, left),
            first,
            Arc(first.end, entry, sweep / 2),
        )
    )


def _unit(a: Point, b: Point) -> Point:
    length = math.dist(a, b)
    if length <= JOIN_TOL_MM:
        raise BrokenGeometry(f"two corners fall on one point at {a}")
    return ((b[0] - a[0]) / length, (b[1] - a[1]) / length)
