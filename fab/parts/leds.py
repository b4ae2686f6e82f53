"""Where the LEDs sit on the board: one grid for board, light, power and lists.

The grid is centred on the panel and its lines run along edge 0 (parallel to Y), so that on
triangles, squares and hexagons the outer lines follow the edges:

        y                 edge 0 is at the right, lines are x = const
        |   .  3  2  .    LED 0: on the line nearest to edge 0, its low end (least y);
        |  6   4   1      up that line, down the next one, and so on (serpentine).
        |   5  .  0       Rings: the outermost first, from +X on, anticlockwise, the next one clockwise.
        +------------> x

The panel's centre holds an LED or the middle of a cell of the grid: as symmetric as the board where
the pattern can be, then whichever has room for more LEDs. `led.at` places them one by one instead,
in its own order. An LED's centre keeps `led.margin` from the board's edge, and its body keeps clear
of the heads of board screws and of edge switches, whichever way it is turned.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache
from itertools import combinations

from fab.errors import Fault, InputError
from fab.outlines.contour import Point
from fab.outlines.crossings import inside
from fab.outlines.curves import contour_of
from fab.outlines.distance import distance_mm
from fab.params.panel import LedParams
from fab.parts.given import given, on_grid
from fab.parts.ledcount import solved_pitch
from fab.parts.ledfree import Free, reach_of
from fab.parts.ledgrids import rings, serpentine, unit_grid
from fab.parts.ledspread import EVEN, middle_spread
from fab.parts.plan import Plan
from fab.units import JOIN_TOL_MM, fixed

AIR_MM = 0.5  # kept free round an LED's body; common practice for hand-placed parts
HALF_DIAGONAL = 0.71  # of a square body of side 1, rounded up
FOLD = {
    ("triangular", "site"): 6,
    ("triangular", "cell"): 3,
    ("square", "site"): 4,
    ("square", "cell"): 4,
}
MOST_PITCH_MM = 15.0
MARGINS_MM = (7.0, 5.5, 4.0)


def led_grid(plan: Plan) -> tuple[Point, ...]:
    """LED centres in the panel frame, mm, in the order of the data line (see the module's picture).

    Empty when `led.margin` leaves no room. Raises InputError when `led.count` can't be had with
    this pattern on this board (it tells the nearest counts) or when the bodies of two LEDs would
    overlap.
    """
    if plan.params.board.none:
        return ()
    led = led_values(plan)
    rows = given(plan.params, "led")
    if rows:  # they sit where they sit; the checks say whether that is well
        return tuple((row.x, row.y) for row in rows)
    free = free_area(plan)
    points = (
        _given(free, led.at, led.size)
        if led.at
        else _grid(free, led.pattern, led.pitch, led.count, led.size)
    )
    return _on_given_board(plan, tuple(on_grid(point) for point in points))


def led_pitch(plan: Plan) -> float:
    """Distance of neighbours in mm: `led.pitch`, the one that `led.count` asks for, or the least of
    `led.at`.
    """
    led = led_values(plan)
    at = tuple((row.x, row.y) for row in given(plan.params, "led")) or led.at
    if len(at) > 1:
        return _nearest(at)
    return (
        solved_pitch(free_area(plan), led.pattern, led.count, led.size)[0]
        if led.count
        else led.pitch
    )


def led_values(plan: Plan) -> LedParams:
    """The LED values of a design with pitch and margin, derived where they are left out: the widest
    pitch, up to the throw, at which `middle_spread` of the grid is small enough; else the one with
    the least.
    """
    led = plan.params.led
    if led.pitch is not None and led.margin is not None:
        return led
    body = math.ceil(led.size * HALF_DIAGONAL * 10) / 10
    margins = tuple(max(m, body) for m in MARGINS_MM) if led.margin is None else (led.margin,)
    if (
        led.at or led.count or given(plan.params, "led") or plan.heights.throw <= 0
    ):  # pitch follows from those
        return replace(led, pitch=led.pitch or MOST_PITCH_MM, margin=margins[0])
    frees = tuple(_free(plan, margin) for margin in margins)
    pitch, k = _evenest(
        frees, led.pattern, led.pitch, led.size, plan.heights.throw, plan.rings.ledge_apothem
    )
    return replace(led, pitch=pitch, margin=margins[k])


@lru_cache(maxsize=256)
def _evenest(
    frees: tuple[Free, ...],
    pattern: str,
    pitch: float | None,
    size: float,
    throw: float,
    window: float,
) -> tuple[float, int]:
    """The pitch, and the index of the free area."""
    most = min(math.floor(2 * throw + 1e-6) / 2, MOST_PITCH_MM)
    least = max(math.ceil(2 * (size + 1.0)) / 2, 2.0)
    steps = max(round(2 * (most - least)), 0)
    tried = (
        (pitch,) if pitch is not None else tuple(max(most, least) - k / 2 for k in range(steps + 1))
    )
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
    """Of LEDs that we place on a board with an outline of its own, those clear of its edge and its
    cut-outs.
    """
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
        and all(
            not inside(hole, point) and distance_mm(hole, point) >= led.size * HALF_DIAGONAL
            for hole in cut
        )
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
    """LEDs placed one by one, as they stand in the file, or InputError with every one that can't be
    there.
    """
    near = "is too near to the board's edge, a screw or a switch."
    faults = [
        Fault("", f"panel.led.at[{k}]", f"({fixed(x)}, {fixed(y)}) {near}")
        for k, (x, y) in enumerate(at)
        if (x, y) not in free
    ]
    faults += [
        Fault(
            "",
            f"panel.led.at[{j}]",
            f"is {fixed(math.dist(at[i], at[j]))} mm from at[{i}]: their bodies overlap.",
        )
        for i, j in combinations(range(len(at)), 2)
        if math.dist(at[i], at[j]) < size - JOIN_TOL_MM
    ]
    if faults:
        raise InputError(faults)
    return tuple((p[0], p[1]) for p in at)


@lru_cache(maxsize=256)
def _grid(
    free: Free, pattern: str, pitch: float, count: int | None, size: float
) -> tuple[Point, ...]:
    phases: tuple[str, ...] = ("site", "cell")
    if count:
        pitch, phase = solved_pitch(free, pattern, count, size)
        phases = (phase,)
    elif pattern == "rings" or any(FOLD[pattern, phase] % free.ring.sides == 0 for phase in phases):
        phases = tuple(
            p for p in phases if pattern != "rings" and FOLD[pattern, p] % free.ring.sides == 0
        ) or ("site",)
    if pitch < size - JOIN_TOL_MM:
        says = f"LEDs of {fixed(size)} mm would sit {fixed(pitch)} mm apart: their bodies overlap."
        raise InputError(
            [Fault("", "panel.led.pitch", says, f"A pitch of {fixed(size)} mm or more works.")]
        )
    if free.ring.apothem <= 0:
        return ()
    tried = [_placed(free, pattern, phase, pitch) for phase in phases]
    points = max(tried, key=len)  # the first of equals: an LED in the centre
    return tuple(
        (x + 0.0, y + 0.0)
        for x, y in (rings(points) if pattern == "rings" else serpentine(points, pitch))
    )


def _placed(free: Free, pattern: str, phase: str, pitch: float) -> list[Point]:
    unit = unit_grid(free.ring.sides, pattern, phase, reach_of(free.ring) / pitch + 1e-9)
    return [p for p in ((x * pitch, y * pitch) for x, y in unit) if p in free]
