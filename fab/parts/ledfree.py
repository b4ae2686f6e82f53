"""The region of a board in which the centre of an LED may lie: inside the margin, clear of screws
and edge switches.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from fab.outlines.contour import Point, turn
from fab.parts.rings import Ring
from fab.units import JOIN_TOL_MM


@dataclass(frozen=True)
class Free:
    """The part of a board where an LED's centre may lie."""

    ring: Ring
    screws: tuple[Point, ...]
    screw_r: float  # kept free round a screw
    switch_u: float  # centre of an edge switch from the board's centre
    switch_half: float  # half the square kept free round an edge switch; 0: no switches

    def __contains__(self, p: Point) -> bool:
        tol = JOIN_TOL_MM
        if any(p[0] * nx + p[1] * ny > far + tol for nx, ny, far in planes(self.ring)):
            return False
        if any(math.dist(p, screw) < self.screw_r - tol for screw in self.screws):
            return False
        return not any(low < 1.0 < high for low, high in switch_spans(self, p))


def switch_spans(free: Free, v: Point) -> list[tuple[float, float]]:
    """Spans of a factor by which `v` would be inside the square kept free round an edge switch."""
    spans: list[tuple[float, float]] = []
    half = free.switch_half
    if half <= 0:
        return spans
    for k in range(free.ring.sides):
        u, t = turn(v, -2 * math.pi * k / free.ring.sides)
        if u <= 1e-12:
            continue
        low, high = (free.switch_u - half) / u, (free.switch_u + half) / u
        if abs(t) > 1e-12:
            high = min(high, half / abs(t))
        if low < high:
            spans.append((low, high))
    return spans


@lru_cache(maxsize=256)
def planes(ring: Ring) -> tuple[tuple[float, float, float], ...]:
    """(nx, ny, distance) of every side and cut corner."""
    half = math.pi / ring.sides
    planes = [(*turn((1.0, 0.0), 2 * k * half), ring.apothem) for k in range(ring.sides)]
    if ring.facet < ring.apothem / math.cos(half):
        planes += [(*turn((1.0, 0.0), (2 * k + 1) * half), ring.facet) for k in range(ring.sides)]
    return tuple(planes)


def reach_of(ring: Ring) -> float:
    """Centre to the furthest corner."""
    whole = ring.apothem / math.cos(math.pi / ring.sides)
    return min(whole, math.hypot(ring.apothem, ring.half_edge))


def area_of(ring: Ring) -> float:
    """Area inside a polygon with cut corners, mm2: triangles from the centre to sides and cuts."""
    return ring.sides * (
        ring.half_edge * ring.apothem + ring.half_facet * min(ring.facet, reach_of(ring))
    )
