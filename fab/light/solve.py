"""The question turned round: how deep, how wide a pitch, how many LEDs, for a wanted evenness.

Solved by trying.

Every answer is looked at again with the settled figures before it is given, and moved a step until
it passes. Dots fade steadily as a panel gets deeper, evenness does not, so searches walk in steps
and take the first that passes instead of trusting a bracket.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

from fab.errors import InputError
from fab.light.figures import Evenness, dots_of_leds, evenness, quick
from fab.light.scene import Scene, scene
from fab.params.job import LightParams
from fab.parts.given import given
from fab.parts.leds import led_pitch, led_values
from fab.parts.plan import Plan

# mm; how far a search goes over the least possible depth
DEPTH_STEP, DEPTH_FINE, DEPTH_MORE = (2.0, 0.1, 60.0)
PITCH_STEP = 0.25  # mm
MOST_LEDS = 400
MOST_ROWS = 40  # of LEDs from the middle to the rim
ROW_STARTS = (
    0.0,
    1 / 3,
    0.5,
    2 / 3,
)  # of the first row from the middle, in rows: an LED, a corner or a side of a cell there
MOST_TRIES = 20  # designs that a search over grids looks at
# share of the contrast of the LEDs alone that bounced light leaves at least; 0.8 as a rule
DROWNED = 0.6
CURVE_POINTS = 9
DEEPER = (
    0.0,
    4.0,
    8.0,
    12.0,
)  # mm, what `nearer_leds` adds to the depth where LEDs alone do not do


@dataclass(frozen=True)
class Solved:
    """An answer: the value, the design with it, and its settled figures."""

    value: float
    plan: Plan
    figures: Evenness


@dataclass(frozen=True)
class Curve:
    """Figures over depth for one LED grid."""

    rows: tuple[tuple[float, Evenness], ...]  # (depth, figures), shallow first
    depth: float  # of the design
    pitch: float


@dataclass(frozen=True)
class LightLimits:
    """The limits to keep: all three, or some of "dots", "face", "middle"."""

    limits: LightParams
    names: tuple[str, ...] = ("dots", "face", "middle")

    def kept(self, f: Evenness) -> bool:
        """True when a face keeps all limits that are named here."""
        limits = self.limits
        fine = {
            "dots": f.dots <= limits.dots,
            "face": f.face >= limits.face,
            "middle": f.middle >= limits.middle,
        }
        return all(fine[name] for name in self.names)

    def hopeless(self, here: Scene) -> bool:
        """True when the LEDs alone show dots so strong that no bounced light can drown them: saves
        a calculation.
        """
        return "dots" in self.names and DROWNED * dots_of_leds(here) > self.limits.dots


def least_depth(plan: Plan, wall_reflectance: float, wanted: LightLimits) -> Solved | None:
    """The least `panel.depth` that passes, the LED grid as it is, in mm; None when none does.

    To 0.1 mm by the coarse figures, whose whole face errs a little to the dark side: up to 1 mm
    more than needed.
    """
    least = plan.params.depth - min(
        plan.heights.throw, plan.heights.ledge_foot_z - plan.heights.board_top_z
    )
    steps = [least + k * DEPTH_STEP for k in range(1, round(DEPTH_MORE / DEPTH_STEP) + 1)]
    depth = next((d for d in steps if _try(with_depth(plan, d), wall_reflectance, wanted)), None)
    if depth is None:
        return None
    start = math.floor((depth - DEPTH_STEP) / DEPTH_FINE) + 1
    fine = [round((start + k) * DEPTH_FINE, 1) for k in range(round(2 * DEPTH_STEP / DEPTH_FINE))]
    low, high = 0, len(fine) // 2
    while low < high:  # inside one step the figures run one way
        half = (low + high) // 2
        low, high = (
            (low, half)
            if _try(with_depth(plan, fine[half]), wall_reflectance, wanted)
            else (half + 1, high)
        )
    return _settle(fine[low:], lambda d: with_depth(plan, d), wall_reflectance, wanted)


def largest_pitch(plan: Plan, wall_reflectance: float, wanted: LightLimits) -> Solved | None:
    """The largest `led.pitch` (in steps of 0.25 mm) that passes at this depth; None when none does.

    Also None when the board came with its LEDs.
    """
    if given(plan.params, "led"):
        return None
    high = min(3 * max(plan.heights.throw, 1.0), plan.cell.apothem)
    steps = [k * PITCH_STEP for k in range(math.floor(high / PITCH_STEP), 0, -1)]
    steps = [pitch for pitch in steps if pitch >= plan.params.led.size]
    return _search(steps, lambda pitch: with_pitch(plan, pitch), wall_reflectance, wanted)


def pitch_to_the_rim(plan: Plan, wall_reflectance: float, wanted: LightLimits) -> Solved | None:
    """Return the largest `led.pitch` (to 0.01 mm) that passes of those at which a row of LEDs lies
    on the margin.

    The rim is dark where the last row stays far from it. None when none passes, or the board came
    with its LEDs.
    """
    if given(plan.params, "led"):
        return None
    led = led_values(plan)
    reach = plan.rings.board.inset(led.margin).apothem
    row = 1.0 if led.pattern == "square" else math.sqrt(0.75)
    most = 1.5 * max(plan.heights.throw, 1.0)
    rows = (k + part for k in range(MOST_ROWS) for part in ROW_STARTS if k + part > 0)
    steps = {math.floor(100 * reach / (row * far)) / 100 for far in rows}
    fitting = sorted((pitch for pitch in steps if led.size < pitch <= most), reverse=True)
    return _search(fitting, lambda pitch: with_pitch(plan, pitch), wall_reflectance, wanted)


def fewest_leds(plan: Plan, wall_reflectance: float, wanted: LightLimits) -> Solved | None:
    """The smallest `led.count` that passes at this depth, of those that the pattern can have; None
    as above.
    """
    if given(plan.params, "led"):
        return None
    area = (
        plan.rings.board.sides
        * plan.rings.board.apothem**2
        * math.tan(math.pi / plan.rings.board.sides)
    )
    # pitch/throw over 2 always shows dots
    start = max(1, math.floor(area / (2.0 * max(plan.heights.throw, 1.0)) ** 2))
    most = min(MOST_LEDS, math.floor(area / plan.params.led.size**2))
    return _search(
        range(start, most + 1), lambda count: with_count(plan, int(count)), wall_reflectance, wanted
    )


def nearer_leds(plan: Plan, wall_reflectance: float, wanted: LightLimits) -> Solved | None:
    """LEDs as near to the rim as their bodies fit on the board, the largest pitch that passes, and,
    where that is not enough, a deeper panel; None when nothing of that passes, or the board came
    with its LEDs. `value`: the pitch.

    The rim is dark because the last row of LEDs is far from it: a pitch at which a row just lies on
    the margin helps.
    """
    if given(plan.params, "led"):
        return None
    led = led_values(plan)
    margin = min(led.margin, math.ceil(led.size * math.sqrt(0.5) * 10 - 1e-9) / 10)
    patterns = dict.fromkeys((led.pattern, "square") if plan.params.sides == 4 else (led.pattern,))
    for deeper in DEEPER:
        for pattern in patterns:
            own = replace(led, margin=margin, pattern=pattern)
            base = with_depth(plan, plan.params.depth + deeper)
            base = replace(base, params=replace(base.params, led=own))
            if answer := pitch_to_the_rim(base, wall_reflectance, wanted) or largest_pitch(
                base, wall_reflectance, wanted
            ):
                return answer
    return None


def softest_sheet(plan: Plan, wall_reflectance: float, wanted: LightLimits) -> Solved | None:
    """The least scattering (half-intensity angle of the stock, whole degrees) over today's that
    passes, or None.
    """
    start = math.floor(plan.stock.half_angle_deg) + 1
    return _search(
        range(start, 61), lambda angle: with_half_angle(plan, angle), wall_reflectance, wanted
    )


def depth_curve(plan: Plan, wall_reflectance: float, points: int = CURVE_POINTS) -> Curve:
    """Figures from half to twice the throw, this LED grid; closer together where the throw is short
    and dots change fast.

    Coarse reckoning, good to a few per cent of a figure.
    """
    rows = []
    for k in range(points):
        throw = plan.heights.throw * 0.5 * 4.0 ** (k / (points - 1))
        depth = plan.params.depth - plan.heights.throw + throw
        try:
            rows.append((round(depth, 3), _quick(with_depth(plan, depth), wall_reflectance)))
        except InputError:
            continue  # the slope under the ledge would start under the board
    return Curve(tuple(rows), plan.params.depth, led_pitch(plan))


def with_depth(plan: Plan, depth: float) -> Plan:
    """The design at another depth."""
    return replace(plan, params=replace(plan.params, depth=depth))


def with_pitch(plan: Plan, pitch: float) -> Plan:
    """The design with another LED pitch."""
    return replace(
        plan,
        params=replace(plan.params, led=replace(plan.params.led, pitch=pitch, count=None, at=())),
    )


def with_count(plan: Plan, count: int) -> Plan:
    """The design with another number of LEDs."""
    return replace(
        plan, params=replace(plan.params, led=replace(plan.params.led, count=count, at=()))
    )


def with_margin(plan: Plan, margin: float) -> Plan:
    """The design with its LEDs nearer to the board's edge, or further from it."""
    return replace(plan, params=replace(plan.params, led=replace(plan.params.led, margin=margin)))


def with_half_angle(plan: Plan, angle_deg: float) -> Plan:
    """The design with a sheet that scatters differently."""
    return replace(plan, stock=replace(plan.stock, half_angle_deg=angle_deg))


def _quick(plan: Plan, wall_reflectance: float) -> Evenness:
    return quick(scene(plan, wall_reflectance))


def _try(plan: Plan, wall_reflectance: float, wanted: LightLimits) -> bool:
    """True when the coarse figures pass; a design that can't be lit does not."""
    try:
        here = scene(plan, wall_reflectance)
    except InputError:
        return False
    return not wanted.hopeless(here) and wanted.kept(quick(here))


def _search(
    values: Iterable[float],
    changed: Callable[[float], Plan],
    wall_reflectance: float,
    wanted: LightLimits,
) -> Solved | None:
    """The first value whose coarse and then settled figures pass.

    A scene seen before is not looked at again.
    """
    seen: set[Scene] = set()
    for value in values:
        try:
            here = scene(changed(value), wall_reflectance)
        except InputError:
            continue
        if here in seen or len(seen) >= MOST_TRIES:
            continue
        if not wanted.hopeless(here):
            seen.add(here)
            if wanted.kept(quick(here)) and (
                found := _settle([value], changed, wall_reflectance, wanted)
            ):
                return found
    return None


def _settle(
    values: Sequence[float],
    changed: Callable[[float], Plan],
    wall_reflectance: float,
    wanted: LightLimits,
) -> Solved | None:
    for value in values:
        plan = changed(value)
        found = evenness(scene(plan, wall_reflectance))
        if wanted.kept(found):
            return Solved(value, plan, found)
    return None
