"""Where the LEDs sit on the board: one grid for board, light, power and lists.

The grid is centred on the panel and its lines run along edge 0 (parallel to Y), so that on triangles, squares and
hexagons the outer lines follow the edges:

        y                 edge 0 is at the right, lines are x = const
        |   .  3  2  .    LED 0: on the line nearest to edge 0, its low end (least y);
        |  6   4   1      up that line, down the next one, and so on (serpentine).
        |   5  .  0       Rings: the outermost first, from +X on, anticlockwise, the next one clockwise.
        +------------> x

The panel's centre holds an LED or the middle of a cell of the grid: as symmetric as the board where the pattern can
be, then whichever has room for more LEDs. `led.at` places them one by one instead, in its own order. An LED's
centre keeps `led.margin` from the board's edge, and its body keeps clear of the heads of board screws and of edge
switches, whichever way it is turned.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import combinations

from fab.errors import Fault, InputError
from fab.outlines.contour import Point, turn
from fab.outlines.crossings import inside
from fab.outlines.curves import contour_of
from fab.outlines.distance import distance_mm
from fab.params.panel import LedParams
from fab.parts.given import given, on_grid
from fab.parts.ledspread import EVEN, middle_spread
from fab.parts.plan import Plan
from fab.parts.rings import Ring
from fab.units import JOIN_TOL_MM, fixed

AIR_MM = 0.5  # kept free round an LED's body; common practice for hand-placed parts
HALF_DIAGONAL = 0.71  # of a square body of side 1, rounded up
FOLD = {("triangular", "site"): 6, ("triangular", "cell"): 3, ("square", "site"): 4, ("square", "cell"): 4}
THIN_MM = 1e-4
MOST_PITCH_MM = 15.0
MARGINS_MM = (7.0, 5.5, 4.0)
STEP_MM = 0.001  # a solved pitch is a whole number of these where the count allows


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
        if any(p[0] * nx + p[1] * ny > far + tol for nx, ny, far in _planes(self.ring)):
            return False
        if any(math.dist(p, screw) < self.screw_r - tol for screw in self.screws):
            return False
        return not any(low < 1.0 < high for low, high in _switch_spans(self, p))


def led_grid(plan: Plan) -> tuple[Point, ...]:
    """LED centres in the panel frame, mm, in the order of the data line (see the module's picture).

    Empty when `led.margin` leaves no room. Raises InputError when `led.count` can't be had with this pattern on
    this board (it tells the nearest counts) or when the bodies of two LEDs would overlap.
    """
    if plan.params.board.none:
        return ()
    led = led_values(plan)
    rows = given(plan.params, "led")
    if rows:  # they sit where they sit; the checks say whether that is well
        return tuple((row.x, row.y) for row in rows)
    free = free_area(plan)
    points = _given(free, led.at, led.size) if led.at else _grid(free, led.pattern, led.pitch, led.count, led.size)
    return _on_given_board(plan, tuple(on_grid(point) for point in points))


def led_pitch(plan: Plan) -> float:
    """Distance of neighbours in mm: `led.pitch`, the one that `led.count` asks for, or the least of `led.at`."""
    led = led_values(plan)
    at = tuple((row.x, row.y) for row in given(plan.params, "led")) or led.at
    if len(at) > 1:
        return _nearest(at)
    return _solved(free_area(plan), led.pattern, led.count, led.size)[0] if led.count else led.pitch


def led_values(plan: Plan) -> LedParams:
    """The LED values of a design with pitch and margin, derived where they are left out: the widest pitch, up to the
    throw, at which `middle_spread` of the grid is small enough; else the one with the least."""
    led = plan.params.led
    if led.pitch is not None and led.margin is not None:
        return led
    body = math.ceil(led.size * HALF_DIAGONAL * 10) / 10
    margins = tuple(max(m, body) for m in MARGINS_MM) if led.margin is None else (led.margin,)
    if led.at or led.count or given(plan.params, "led") or plan.heights.throw <= 0:  # pitch follows from those
        return replace(led, pitch=led.pitch or MOST_PITCH_MM, margin=margins[0])
    frees = tuple(_free(plan, margin) for margin in margins)
    pitch, k = _evenest(frees, led.pattern, led.pitch, led.size, plan.heights.throw, plan.rings.ledge_apothem)
    return replace(led, pitch=pitch, margin=margins[k])


@lru_cache(maxsize=256)
def _evenest(
    frees: tuple[Free, ...], pattern: str, pitch: float | None, size: float, throw: float, window: float
) -> tuple[float, int]:
    """The pitch, and the index of the free area."""
    most = min(math.floor(2 * throw + 1e-6) / 2, MOST_PITCH_MM)
    least = max(math.ceil(2 * (size + 1.0)) / 2, 2.0)
    steps = max(round(2 * (most - least)), 0)
    tried = (pitch,) if pitch is not None else tuple(max(most, least) - k / 2 for k in range(steps + 1))
    best = (math.inf, tried[0], 0)
    for k, free in enumerate(frees):
        for one in tried:
            try:
                grid = _grid(free, pattern, one, None, size)
            except InputError:
                continue
            spread = middle_spread(grid, free.ring.sides, window, throw)
            if spread <= EVEN:
                return one, k
            best = min(best, (round(spread, 4), one, k))
    return best[1], best[2]


@lru_cache(maxsize=64)
def _nearest(points: tuple[Point, ...]) -> float:
    """Least distance of two of the points: a sweep along x."""
    least, ordered = math.inf, sorted(points)
    for k, a in enumerate(ordered):
        for b in ordered[k + 1 :]:
            if b[0] - a[0] >= least:
                break
            least = min(least, math.dist(a, b))
    return least


def _on_given_board(plan: Plan, points: tuple[Point, ...]) -> tuple[Point, ...]:
    """Of LEDs that we place on a board with an outline of its own, those clear of its edge and its cut-outs."""
    curves = plan.params.board.outline
    if not curves:
        return points
    edge, *cut = (contour_of(curve) for curve in curves)
    led = led_values(plan)
    least = led.margin - JOIN_TOL_MM
    kept = tuple(
        point
        for point in points
        if inside(edge, point)
        and distance_mm(edge, point) >= least
        and all(not inside(hole, point) and distance_mm(hole, point) >= led.size * HALF_DIAGONAL for hole in cut)
    )
    if led.at and len(kept) < len(points):
        gone = next(k for k, point in enumerate(points) if point not in kept)
        says = "is too near to the given board's edge or one of its cut-outs."
        raise InputError([Fault("", f"panel.led.at[{gone}]", says)])
    if led.count and len(kept) < led.count:
        says = f"the given board has room for {len(kept)} of the {led.count} LEDs of this grid."
        works = "Give the LEDs' places: panel.board.positions or panel.led.at."
        raise InputError([Fault("", "panel.led.count", says, works)])
    return kept


def free_area(plan: Plan) -> Free:
    """Where an LED's centre may lie on this board."""
    return _free(plan, led_values(plan).margin)


def _free(plan: Plan, margin_mm: float) -> Free:
    led, switch = plan.params.led, plan.params.switch
    body = led.size * HALF_DIAGONAL + AIR_MM
    return Free(
        plan.rings.board.inset(margin_mm),
        plan.fixings.clear_of_leds,
        plan.params.screw_head_d / 2 + body,
        plan.cell.apothem - plan.press.switch_u,
        switch.size / 2 + body if switch.on else 0.0,
    )


@lru_cache(maxsize=256)
def _given(free: Free, at: tuple[Point, ...], size: float) -> tuple[Point, ...]:
    """LEDs placed one by one, as they stand in the file, or InputError with every one that can't be there."""
    near = "is too near to the board's edge, a screw or a switch."
    faults = [
        Fault("", f"panel.led.at[{k}]", f"({fixed(x)}, {fixed(y)}) {near}")
        for k, (x, y) in enumerate(at)
        if (x, y) not in free
    ]
    faults += [
        Fault("", f"panel.led.at[{j}]", f"is {fixed(math.dist(at[i], at[j]))} mm from at[{i}]: their bodies overlap.")
        for i, j in combinations(range(len(at)), 2)
        if math.dist(at[i], at[j]) < size - JOIN_TOL_MM
    ]
    if faults:
        raise InputError(faults)
    return tuple((p[0], p[1]) for p in at)


@lru_cache(maxsize=256)
def _grid(free: Free, pattern: str, pitch: float, count: int | None, size: float) -> tuple[Point, ...]:
    phases: tuple[str, ...] = ("site", "cell")
    if count:
        pitch, phase = _solved(free, pattern, count, size)
        phases = (phase,)
    elif pattern == "rings" or any(FOLD[pattern, phase] % free.ring.sides == 0 for phase in phases):
        phases = tuple(p for p in phases if pattern != "rings" and FOLD[pattern, p] % free.ring.sides == 0) or ("site",)
    if pitch < size - JOIN_TOL_MM:
        says = f"LEDs of {fixed(size)} mm would sit {fixed(pitch)} mm apart: their bodies overlap."
        raise InputError([Fault("", "panel.led.pitch", says, f"A pitch of {fixed(size)} mm or more works.")])
    if free.ring.apothem <= 0:
        return ()
    tried = [_placed(free, pattern, phase, pitch) for phase in phases]
    points = max(tried, key=len)  # the first of equals: an LED in the centre
    return tuple((x + 0.0, y + 0.0) for x, y in (_rings(points) if pattern == "rings" else _serpentine(points, pitch)))


def _placed(free: Free, pattern: str, phase: str, pitch: float) -> list[Point]:
    unit = _unit_grid(free.ring.sides, pattern, phase, _reach(free.ring) / pitch + 1e-9)
    return [p for p in ((x * pitch, y * pitch) for x, y in unit) if p in free]


# -- grids of pitch 1, centred -----------------------------------------------------------------------------


def _unit_grid(sides: int, pattern: str, phase: str, reach: float) -> list[Point]:
    """Grid points of pitch 1 within `reach` of the centre.

    `phase` says what lies in the centre: "site" an LED, "cell" the middle of a cell, "bond" the middle between two.
    """
    if pattern == "rings":
        return _unit_rings(sides, phase, reach)
    line = math.sqrt(0.75) if pattern == "triangular" else 1.0
    dx, dy = {
        ("triangular", "cell"): (line * 2 / 3, 0.0),
        ("square", "cell"): (0.5, 0.5),
    }.get((pattern, phase), (0.0, 0.5) if phase == "bond" else (0.0, 0.0))
    found = []
    most = math.ceil(reach / line) + 1
    for i in range(-most, most + 1):
        x = i * line + dx
        shift = dy + (0.5 * (i % 2) if pattern == "triangular" else 0.0)
        if abs(x) > reach:
            continue
        half = math.sqrt(reach * reach - x * x)
        for j in range(math.ceil(-half - shift), math.floor(half - shift) + 1):
            found.append((x, j + shift))
    return found


def _unit_rings(sides: int, phase: str, reach: float) -> list[Point]:
    """Rings of radius 0, 1, 2 ... ("site") or 1/2, 3/2 ... ("cell"), LEDs about 1 apart and never closer.

    A ring holds a whole multiple of the panel's sides where it holds as many, so the grid is as symmetric.
    """
    found: list[Point] = []
    first = {"site": 0.0, "cell": 0.5}.get(phase)
    if first is None:
        return found
    for k in range(math.floor(reach - first) + 1):
        radius = first + k
        if radius == 0:
            found.append((0.0, 0.0))
            continue
        most = math.floor(math.pi / math.asin(0.5 / radius) + 1e-9)  # more would sit closer than 1
        many = most // sides * sides or most
        found += [turn((radius, 0.0), 2 * math.pi * j / many) for j in range(many)]
    return found


# -- the pitch that gives a wanted number --------------------------------------------------------------------


@lru_cache(maxsize=256)
def _solved(free: Free, pattern: str, count: int, size: float) -> tuple[float, str]:
    """Largest pitch, and what lies in the centre, for exactly `count` LEDs of this size.

    Exact: every grid point is inside for known spans of the pitch, so the number of points is a step function of
    the pitch whose steps are all known; no trial and error.
    """
    below, above, tight, least = 0, 0, 0.0, size - JOIN_TOL_MM
    for phase in ("site", "cell", "bond"):
        steps = _steps(free, pattern, phase, count)
        for low, high, number in steps:
            if number == count and high >= least:
                neat = math.floor(high / STEP_MM + 1e-6) * STEP_MM
                return (round(neat, 3) if neat > low and neat >= least else high), phase
            if number == count:
                tight = max(tight, high)
            elif number < count and high >= least:
                below = max(below, number)
            elif high >= least and (above == 0 or number < above):
                above = number
    near = " or ".join(str(n) for n in (below, above) if n)
    if tight:
        says = f"{count} LEDs of {fixed(size)} mm would sit {fixed(tight)} mm apart: their bodies overlap."
        raise InputError([Fault("", "panel.led.count", says, f"The nearest counts that work: {near}." if near else "Make panel.led.size smaller.")])
    if not near:
        says = "no LED has room on this board: margin, screws and switches leave no place for its centre."
        raise InputError([Fault("", "panel.led.count", says, "Make panel.led.margin or panel.led.size smaller.")])
    says = f"no centred {pattern} grid on this board has {count} LEDs."
    raise InputError([Fault("", "panel.led.count", says, f"The nearest counts that work: {near}.")])


def _steps(free: Free, pattern: str, phase: str, count: int) -> list[tuple[float, float, int]]:
    """(low, high, number) of LEDs for pitches low < pitch <= high, the largest pitch first.

    Points that enter or leave within `THIN_MM` of pitch do so together: places are only known to so many decimals.
    """
    ring = free.ring
    if ring.apothem <= 0:
        return []
    cell = math.sqrt(0.75) if pattern == "triangular" else 1.0
    least = 0.6 * math.sqrt(_area(ring) / (cell * (count + 1)))  # dense enough: about 2.7 times the wanted number
    events: list[tuple[float, int]] = []
    always = 0
    for v in _unit_grid(ring.sides, pattern, phase, _reach(ring) / least):
        if v == (0.0, 0.0):
            always += v in free
            continue
        most = min(far / (v[0] * nx + v[1] * ny) for nx, ny, far in _planes(ring) if v[0] * nx + v[1] * ny > 1e-12)
        for low, high in _outside(_blocked(free, v), least, most):
            events += [(high, 1), (low, -1)]
    events.sort(key=lambda e: (-e[0], -e[1]))
    steps: list[tuple[float, float, int]] = []
    number, at = always, 4 * _reach(ring)
    for pitch, change in events:
        if at - pitch > THIN_MM:
            steps.append((pitch, at - THIN_MM, number))
            at = pitch
        number += change
    return steps


def _blocked(free: Free, v: Point) -> list[tuple[float, float]]:
    """Spans of the pitch for which the grid point `v` would sit on a screw or a switch."""
    spans = []
    vv = v[0] * v[0] + v[1] * v[1]
    for sx, sy in free.screws:
        along = (v[0] * sx + v[1] * sy) / vv
        root = along * along - (sx * sx + sy * sy - free.screw_r**2) / vv
        if root > 0:
            spans.append((along - math.sqrt(root), along + math.sqrt(root)))
    return spans + _switch_spans(free, v)


def _switch_spans(free: Free, v: Point) -> list[tuple[float, float]]:
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


def _outside(blocked: list[tuple[float, float]], low: float, high: float) -> list[tuple[float, float]]:
    """What is left of low..high outside the blocked spans."""
    left = []
    for begin, end in sorted(blocked):
        if begin > low:
            left.append((low, min(begin, high)))
        low = max(low, end)
        if low >= high:
            return left
    return [*left, (low, high)] if high > low else left


# -- order -----------------------------------------------------------------------------------------------------


def _serpentine(points: list[Point], pitch: float) -> list[Point]:
    lines: dict[int, list[Point]] = defaultdict(list)
    for p in points:
        lines[round(p[0] / pitch * 1000)].append(p)
    ordered: list[Point] = []
    for index, key in enumerate(sorted(lines, reverse=True)):
        ordered += sorted(lines[key], key=lambda p: p[1], reverse=index % 2 == 1)
    return ordered


def _rings(points: list[Point]) -> list[Point]:
    rings: dict[int, list[Point]] = defaultdict(list)
    for p in points:
        rings[round(math.hypot(*p) * 1000)].append(p)
    ordered: list[Point] = []
    for index, key in enumerate(sorted(rings, reverse=True)):
        ordered += sorted(rings[key], key=_bearing, reverse=index % 2 == 1)
    return ordered


def _bearing(p: Point) -> float:
    """Angle from +X, anticlockwise, 0 <= angle < 2 pi; a hair below +X counts as +X."""
    return (math.atan2(p[1], p[0]) + 1e-9) % (2 * math.pi)


# -- the ring as half-planes ---------------------------------------------------------------------------------------


@lru_cache(maxsize=256)
def _planes(ring: Ring) -> tuple[tuple[float, float, float], ...]:
    """(nx, ny, distance) of every side and cut corner."""
    half = math.pi / ring.sides
    planes = [(*turn((1.0, 0.0), 2 * k * half), ring.apothem) for k in range(ring.sides)]
    if ring.facet < ring.apothem / math.cos(half):
        planes += [(*turn((1.0, 0.0), (2 * k + 1) * half), ring.facet) for k in range(ring.sides)]
    return tuple(planes)


def _reach(ring: Ring) -> float:
    """Centre to the furthest corner."""
    whole = ring.apothem / math.cos(math.pi / ring.sides)
    return min(whole, math.hypot(ring.apothem, ring.half_edge))


def _area(ring: Ring) -> float:
    return ring.sides * (ring.half_edge * ring.apothem + ring.half_facet * min(ring.facet, _reach(ring)))
