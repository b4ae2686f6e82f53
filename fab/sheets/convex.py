"""Convex cut paths as a polygon swollen by a disk, and the exact room that two of them need.

A regular polygon with equally rounded corners is `core + disk(radius)`: the core runs through the
centres of its corner arcs. Two bodies A (at the origin) and B (at v) keep a gap g exactly while v
lies outside the open region A + (-B) + disk(g) (Minkowski sums), which is again a swollen polygon.
All row packing is asked of its upper edge.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from fab.outlines.contour import Arc, Contour, Line, Point, turn
from fab.outlines.facets import facets, without_repeats
from fab.outlines.hull import hull

FINE_TOL_MM = 1e-3  # facets of convex paths whose corner radii differ
# drawing programs round to 0.01; a bridged dent costs no more than a gap that is wider by this
_DENT_MM = 0.02
_SAME_MM = 1e-7  # radii and tangents that agree better than this are equal
_UPRIGHT_MM = 1e-9  # an edge that leans by less stands upright
_FLAT = 1e-9  # cross product per length squared below which three points are in line


@dataclass(frozen=True)
class Swollen:
    """A convex polygon (or point, or segment) `core`, anticlockwise, swollen by a disk of
    `radius`.
    """

    core: tuple[Point, ...]
    radius: float

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Box of the body, disk included: (x0, y0, x1, y1), mm."""
        xs, ys = [x for x, _ in self.core], [y for _, y in self.core]
        return (
            min(xs) - self.radius,
            min(ys) - self.radius,
            max(xs) + self.radius,
            max(ys) + self.radius,
        )

    @property
    def area(self) -> float:
        """Steiner's formula; exact."""
        core = self.core
        twice = sum(
            a[0] * b[1] - b[0] * a[1] for a, b in zip(core, (*core[1:], core[0]), strict=True)
        )
        around = sum(math.dist(a, b) for a, b in zip(core, (*core[1:], core[0]), strict=True))
        return abs(twice) / 2 + around * self.radius + math.pi * self.radius**2

    def turned(self, deg: float) -> Swollen:
        """The body turned about the origin, counter-clockwise."""
        if deg == 0:
            return self
        return Swollen(tuple(turn(point, math.radians(deg)) for point in self.core), self.radius)

    def moved(self, dx: float, dy: float) -> Swollen:
        """The body shifted by (dx, dy) mm."""
        return Swollen(tuple((x + dx, y + dy) for x, y in self.core), self.radius)

    def opposite(self) -> Swollen:
        """Mirrored through the origin."""
        return Swollen(tuple((-x, -y) for x, y in self.core), self.radius)

    def swollen(self, by_mm: float) -> Swollen:
        """The Minkowski sum with a disk of radius `by_mm`."""
        return Swollen(self.core, self.radius + by_mm)

    def cornered(self) -> Swollen:
        """Moved so that its box begins at (0, 0)."""
        left, low, _, _ = self.box
        return self.moved(-left, -low)

    def quarter(self) -> Upper:
        """Its right edge as a function: `quarter()(-y)` is how far it reaches to the right at
        height y.
        """
        return Upper(Swollen(tuple((-y, x) for x, y in self.core), self.radius))

    def reach(self) -> float:
        """Reach to the right of the origin along y = 0."""
        return self.quarter()(0.0)

    @property
    def incircle(self) -> float:
        """Radius of the largest circle about the centroid of the core that fits in: a lower bound
        of the inradius.
        """
        if len(self.core) < 3:
            return self.radius
        cx, cy = (math.fsum(v) / len(self.core) for v in zip(*self.core, strict=True))
        least = math.inf
        for (ax, ay), (bx, by) in zip(self.core, (*self.core[1:], self.core[0]), strict=True):
            least = min(
                least,
                ((bx - ax) * (cy - ay) - (by - ay) * (cx - ax)) / math.dist((ax, ay), (bx, by)),
            )
        return least + self.radius


def swollen(contour: Contour) -> Swollen | None:
    """The contour as a swollen polygon, or None when it is not convex.

    Exact for straight edges and for equal corner radii at every corner; otherwise the facets lie
    outside the true curve by at most `FINE_TOL_MM`. Dents of up to `_DENT_MM`, as loose lines of
    drawings leave them, are bridged.
    """
    arcs = [seg for seg in contour.segments if isinstance(seg, Arc)]
    if arcs and all(arc.sweep_rad > 0 for arc in arcs) and _evenly_round(contour, arcs):
        core = hull([arc.centre for arc in arcs], _FLAT)
        return Swollen(core, arcs[0].radius_mm)
    points = without_repeats(facets(contour, FINE_TOL_MM, outside=True))
    around = hull(points, _FLAT)
    return Swollen(around, 0.0) if is_convex(points) or _nearly(points, around) else None


def _nearly(points: Sequence[Point], around: Sequence[Point]) -> bool:
    """True when no corner lies deeper inside the hull than a dent that may be bridged."""
    import shapely

    if len(around) < 3:
        return False
    return bool(
        (shapely.distance(shapely.LinearRing(around), shapely.points(points)) <= _DENT_MM).all()
    )


def hull_of(contour: Contour) -> Swollen:
    """The convex hull of a contour's outside facets."""
    return Swollen(hull(facets(contour, FINE_TOL_MM, outside=True), _FLAT), 0.0)


def _evenly_round(contour: Contour, arcs: Sequence[Arc]) -> bool:
    """All corners are tangent arcs of one radius: lines never meet lines, and joints are
    tangent.
    """
    if any(abs(arc.radius_mm - arcs[0].radius_mm) > _SAME_MM for arc in arcs):
        return False
    segments = contour.segments
    for here, there in zip(segments, (*segments[1:], segments[0]), strict=True):
        if isinstance(here, Line) and isinstance(there, Line):
            return False
        (ux, uy), (vx, vy) = _heading(here, 1.0), _heading(there, 0.0)
        if abs(ux * vy - uy * vx) > 1e-6 or ux * vx + uy * vy < 0:
            return False
    return True


def _heading(seg: Line | Arc, share: float) -> Point:
    if isinstance(seg, Line):
        length = seg.length_mm
        return ((seg.end[0] - seg.start[0]) / length, (seg.end[1] - seg.start[1]) / length)
    x, y = seg.at(share)
    side = math.copysign(1.0, seg.sweep_rad) / seg.radius_mm
    return (-(y - seg.centre[1]) * side, (x - seg.centre[0]) * side)


def is_convex(points: Sequence[Point]) -> bool:
    """True when a loop of points turns left everywhere; points in line are allowed."""
    count = len(points)
    for k in range(count):
        (ax, ay), (bx, by), (cx, cy) = points[k - 2], points[k - 1], points[k]
        cross = (bx - ax) * (cy - by) - (by - ay) * (cx - bx)
        if cross < -_FLAT * max(math.dist((ax, ay), (bx, by)) * math.dist((bx, by), (cx, cy)), 1.0):
            return False
    return True


def minkowski(a: Sequence[Point], b: Sequence[Point]) -> tuple[Point, ...]:
    """Sum of two convex polygons given anticlockwise; points and segments are allowed."""
    if len(a) < 3 or len(b) < 3:
        return hull([(x + u, y + v) for x, y in a for u, v in b], _FLAT)
    merged = sorted(_edges(a) + _edges(b))
    out: list[Point] = []
    x = y = 0.0
    last = -1.0
    for angle, dx, dy in merged:
        if angle - last > 1e-10:
            out.append((x, y))
        x, y, last = x + dx, y + dy, angle
    # the walk began anywhere; the least x and y of a sum are the sums of the least
    left = min(p[0] for p in a) + min(p[0] for p in b) - min(p[0] for p in out)
    low = min(p[1] for p in a) + min(p[1] for p in b) - min(p[1] for p in out)
    return tuple((px + left, py + low) for px, py in out)


def _edges(points: Sequence[Point]) -> list[tuple[float, float, float]]:
    """Edges as (angle in [0, 2 pi), dx, dy)."""
    out = []
    for (ax, ay), (bx, by) in zip(points, (*points[1:], points[0]), strict=True):
        out.append((math.atan2(by - ay, bx - ax) % (2 * math.pi), bx - ax, by - ay))
    return out


def forbidden(a: Swollen, b: Swollen, gap_mm: float) -> Swollen:
    """Open region that b's origin must avoid when a's origin is at (0, 0)."""
    return Swollen(minkowski(a.core, b.opposite().core), a.radius + b.radius + gap_mm)


class Upper:
    """The upper edge of a swollen polygon as a concave function: `Upper(s)(x)` is its height over
    x.

    Outside its width the answer is minus infinity: nothing is in the way there.
    """

    def __init__(self, body: Swollen) -> None:
        self.least, _, self.most, self.top = body.box
        self._starts: list[float] = []
        # x, y, slope of a line; or the centre of an arc
        self._runs: list[tuple[float, float, float | None]] = []
        self._radius = body.radius
        for corner, before, after in _upper_chain(body.core):
            if body.radius > 0:
                begin = corner[0] + body.radius * before[0] if before else self.least
                self._add(begin, corner[0], corner[1], None)
            if after:
                (nx, ny), slope = after
                x, y = corner[0] + body.radius * nx, corner[1] + body.radius * ny
                self._add(x, x, y, slope)

    def _add(self, begin: float, x: float, y: float, slope: float | None) -> None:
        self._starts.append(begin)
        self._runs.append((x, y, slope))

    def __call__(self, x: float) -> float:
        if x <= self.least or x >= self.most:
            return -math.inf
        at_x, at_y, slope = self._runs[max(bisect_right(self._starts, x) - 1, 0)]
        if slope is not None:  # a straight run
            return at_y + (x - at_x) * slope
        return at_y + math.sqrt(max(self._radius**2 - (x - at_x) ** 2, 0.0))


def _upper_chain(
    core: Sequence[Point],
) -> list[tuple[Point, Point | None, tuple[Point, float] | None]]:
    """Corners of the upper edge from left to right, each with the outward normal before it and,
    after it, the normal and the slope.
    """
    if len(core) == 1:
        return [(core[0], None, None)]
    left = min(core, key=lambda p: (p[0], -p[1]))
    right = max(core, key=lambda p: (p[0], p[1]))
    begin, end = core.index(right), core.index(left)
    # left to right
    chain = [core[(begin + k) % len(core)] for k in range((end - begin) % len(core) + 1)][::-1]
    # upright but for rounding: its upper end counts
    while len(chain) > 1 and chain[1][0] - chain[0][0] < _UPRIGHT_MM:
        chain = [max(chain[:2], key=lambda p: p[1]), *chain[2:]]
    while len(chain) > 1 and chain[-1][0] - chain[-2][0] < _UPRIGHT_MM:
        chain = [*chain[:-2], max(chain[-2:], key=lambda p: p[1])]
    out: list[tuple[Point, Point | None, tuple[Point, float] | None]] = []
    normal: Point | None = None
    for k, corner in enumerate(chain):
        after = None
        if k + 1 < len(chain):
            (ax, ay), (bx, by) = corner, chain[k + 1]
            length = math.dist(corner, chain[k + 1])
            after = ((-(by - ay) / length, (bx - ax) / length), (by - ay) / (bx - ax))
        out.append((corner, normal, after))
        normal = after[0] if after else None
    return out
