"""Places of the LEDs on the board: one grid for board, light, power and lists.

The grid is centred on the panel and its lines run along edge 0 (parallel to Y), so that on
triangles, squares and hexagons the outer lines follow the edges:

        y                 edge 0 is at the right, lines are x = const
        |   .  3  2  .    LED 0: on the line nearest to edge 0, its low end (least y);
        |  6   4   1      up that line, down the next one, and so on (serpentine).
        |   5  .  0       Rings: the outermost first, from +X on, counter-clockwise, the next one
        +------------> x  clockwise.

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

from fab.errors import Fault, InputError, refused
from fab.outlines.contour import Point, turn
from fab.outlines.crossings import inside
from fab.outlines.curves import contour_of
from fab.outlines.distance import distance_mm
from fab.params.panel import LedParams
from fab.parts.given import given, on_grid
from fab.parts.ledcount import solved_pitch
from fab.parts.ledfree import Free, reach_of
from fab.parts.ledgrids import rings, serpentine, unit_grid
from fab.parts.plan import Plan
from fab.units import JOIN_TOL_MM, fixed, some

AIR_MM = 0.5  # kept free round an LED's body; common practice for hand-placed parts
HALF_DIAGONAL = 0.71  # of a square body of side 1, rounded up
FOLD = {
    ("triangular", "site"): 6,
    ("triangular", "cell"): 3,
    ("triangular", "turned"): 3,
    ("square", "site"): 4,
    ("square", "cell"): 4,
}
SHARE_OF_THROW = {"triangular": 1.0, "square": 0.88, "rings": 0.88}  # wider, and dots show
# Fitted to the light room's figures of designs over the sizes that the defaults are stated for:
THROW_MM, USUAL_SHEET_MM = 26.5, 3.0
SHEET_THROW = 5.0  # more for each mm that a sheet is thicker: it blurs its dark frame inwards
WIDE, DEEPER = 0.85, 1.35  # below this share of the pitch that could be, up to so much more throw
OTHERWISE_MM = 15.0  # a pitch where none puts LEDs into the corners
RAY_STEP_MM = 0.05


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
    """The LED values of a design with pitch and margin, derived where they are left out: LEDs as
    near to the edge as their bodies fit, and the largest pitch that puts one into every corner.
    """
    led = plan.params.led
    margin = math.ceil(led.size * HALF_DIAGONAL * 10) / 10 if led.margin is None else led.margin
    pitch = led.pitch
    if pitch is None:
        pitch = OTHERWISE_MM
        if not (led.at or led.count or given(plan.params, "led")):
            most = SHARE_OF_THROW[led.pattern] * plan.heights.throw
            pitch = _corner_pitch(_free(plan, margin), led.pattern, led.size, most)
    return replace(led, pitch=pitch, margin=margin)


def wanted_throw(plan: Plan) -> float:
    """Distance from LED to sheet at which a face is lit to its corners, mm, for a depth that is
    left out: more where the next larger pitch has far fewer LEDs in the middle, and where a sheet
    is thick.
    """
    led = led_values(plan)
    share, throw = SHARE_OF_THROW[led.pattern], THROW_MM
    throw += SHEET_THROW * max(plan.stock.thickness - USUAL_SHEET_MM, 0.0)
    if plan.params.led.pitch is not None:
        return max(throw, led.pitch / share)
    if led.at or led.count or given(plan.params, "led") or plan.params.board.none:
        return throw
    free, size = _free(plan, led.margin), led.size
    here = _corner_pitch(free, led.pattern, size, share * throw)
    larger = _corner_pitch(free, led.pattern, size, share * throw * DEEPER)
    return larger / share if here < WIDE * share * throw < larger else throw


@lru_cache(maxsize=256)
def _corner_pitch(free: Free, pattern: str, size: float, most: float) -> float:
    """The largest pitch up to `most`, mm, at which the grid has an LED in every corner, as far out
    as one has room; where a pattern has no corners, a row along every edge.

    Few LEDs light a corner: one that stands there gives it a quarter of the middle's light.
    """
    least = max(size + AIR_MM, 2.0)
    most = max(most, least)
    sides = free.ring.sides
    for angle in (math.pi / sides, 0.0):
        ray = turn((1.0, 0.0), angle)
        far = _furthest(free, ray)
        for steps in _steps_along(ray, sides, pattern, far / max(most / 3, least)):
            pitch = math.floor(100 * far / steps) / 100
            if least <= pitch <= most + JOIN_TOL_MM:
                grid = _grid(free, pattern, pitch, None, size)
                if any(
                    x * ray[0] + y * ray[1] >= far - 0.01 * steps - JOIN_TOL_MM for x, y in grid
                ):
                    return pitch
    return min(most, OTHERWISE_MM)


@lru_cache(maxsize=256)
def _furthest(free: Free, ray: Point) -> float:
    """Distance from the middle up to which an LED has room along a ray, mm, to 0.05 mm."""
    steps = math.ceil(reach_of(free.ring) / RAY_STEP_MM)
    far = (k * RAY_STEP_MM for k in range(steps, 0, -1))
    return next((one for one in far if (ray[0] * one, ray[1] * one) in free), 0.0)


def _steps_along(ray: Point, sides: int, pattern: str, reach: float) -> list[float]:
    """Distances along a ray of the points on it, in grids of pitch 1, the least first: for an edge
    of its rows.
    """
    found = set()
    for phase in _phases(sides, pattern):
        for x, y in unit_grid(sides, pattern, phase, reach + 1e-9):
            if ray == (1.0, 0.0) or abs(x * ray[1] - y * ray[0]) < 1e-6:
                found.add(round(x * ray[0] + y * ray[1], 9))
    return sorted(one for one in found if one > 0)


def _phases(sides: int, pattern: str) -> tuple[str, ...]:
    """Points of the lattice that may lie in the centre: those as symmetric as the board, where
    there are any.
    """
    if pattern == "rings":
        return ("site",)
    symmetric = tuple(one for kind, one in FOLD if kind == pattern and FOLD[kind, one] % sides == 0)
    return symmetric or ("site", "cell")


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
        says = "is too near to the edge of the given board or to one of its cut-outs."
        raise refused(says, key=f"panel.led.at[{gone}]")
    if led.count and len(kept) < led.count:
        says = (
            f"the given board has room for {len(kept)} of the {some(led.count, 'LED')} of this"
            " grid."
        )
        works = "Give the LEDs' places: panel.board.positions or panel.led.at."
        raise refused(says, works, key="panel.led.count")
    return kept


def free_area(plan: Plan) -> Free:
    """The region in which an LED's centre may lie on this board."""
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
        Fault(f"panel.led.at[{k}]", f"({fixed(x)}, {fixed(y)}) {near}")
        for k, (x, y) in enumerate(at)
        if (x, y) not in free
    ]
    faults += [
        Fault(
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
    phases = _phases(free.ring.sides, pattern)
    if count:
        pitch, phase = solved_pitch(free, pattern, count, size)
        phases = (phase,)
    if pitch < size - JOIN_TOL_MM:
        says = f"LEDs of {fixed(size)} mm would sit {fixed(pitch)} mm apart: their bodies overlap."
        raise refused(says, f"A pitch of {fixed(size)} mm or more works.", key="panel.led.pitch")
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
