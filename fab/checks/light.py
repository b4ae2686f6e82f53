"""Is the light even? Dots, evenness and rim of one design, against the limits of the job.

A failed check is turned round: the depth, the number of LEDs or the sheet at which all three pass, each tried.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from fab.checks.model import Verdict, at_least, at_most
from fab.checks.plan import faults
from fab.checks.remedy import in_full
from fab.errors import InputError
from fab.params.job import LightParams
from fab.params.spec import specs
from fab.parts.plan import Plan
from fab.units import fixed, some

if TYPE_CHECKING:  # numpy comes in with these; loaded when a check runs
    from fab.light.figures import Figures
    from fab.light.solve import Solved, Wanted

SIMULATED = "simulated, seen straight on"
FAR_FIELD = "common practice: a source looks like a point from about its own size on; under that the model is rough"
MOST_WAYS = 2  # answers told in a remedy
NAMES = ("dots", "evenness", "rim")


def checks(plan: Plan, wall_reflectance: float, limits: LightParams, design: str = "panel") -> tuple[Verdict, ...]:
    """Verdicts `light.*` of one design; `wall_reflectance` is the filament's.

    A design that can't be lit at all (no LED, LEDs over the sheet, light made of nothing) fails `light.room` alone;
    a blank cover has nothing to be checked.
    """
    if plan.params.board.none:
        return ()
    from fab.light.figures import settled
    from fab.light.scene import scene

    subject = "panel" if design in ("", "panel") else f"panel {design}"
    try:
        here = scene(plan, wall_reflectance)
    except InputError as error:
        fault = error.faults[0]
        says = f"this panel can't be lit: {fault.key}: {fault.says}"
        cure = _lit_again(plan, wall_reflectance, limits, design) or fault.works
        return (Verdict("light.room", "fail", subject, min(plan.throw, 0.0), plan.params.led.size, "mm", says, cure),)
    found, _ = settled(here)
    cure = ""
    if not _wanted(limits, NAMES).kept(found):
        cure = _cure(plan, wall_reflectance, limits, found, design)
    return (_room(plan, subject), *_judged(found, limits, subject, cure))


def _room(plan: Plan, subject: str) -> Verdict:
    size = plan.params.led.size
    deeper = fixed(plan.params.depth + size - plan.throw, 1)
    return at_least(
        "light.room", subject, plan.throw, size, "mm", f"the sheet's back is {fixed(plan.throw, 2)} mm over the LEDs",
        remedy=f"The figures are to be trusted from panel.depth = {deeper} on.", source=FAR_FIELD, otherwise="warn",
    )  # fmt: skip


def _judged(f: Figures, limits: LightParams, subject: str, cure: str) -> tuple[Verdict, ...]:
    source = {name: specs(LightParams)[name].source for name in NAMES}
    rough = "" if f.moved <= 1 else f"; worked out to about {fixed(f.moved, 0)} % only"
    gap, dark = (f"({fixed(x, 1)}, {fixed(y, 1)})" for x, y in (f.gap, f.darkest))
    return (
        at_most(
            "light.dots", subject, f.dots, limits.dots, "", f"contrast between {some(f.leds, 'LED')} and the gap beside {'it' if f.leds == 1 else 'them'}, "
            f"strongest at {gap}, {SIMULATED}{rough}", remedy=cure, source=source["dots"],
        ),
        at_most(
            "light.evenness", subject, f.evenness, limits.evenness, "",
            f"(max - min) / (max + min) over the middle of the face; {fixed(f.evenness_face, 2)} over the whole, "
            f"{SIMULATED}{rough}", remedy=cure, source=source["evenness"],
        ),
        at_least(
            "light.rim", subject, f.rim, limits.rim, "",
            f"least luminance along the rim as a share of the middle, at {dark}; {fixed(f.corner, 2)} in the corners, "
            f"{SIMULATED}{rough}", remedy=cure, source=source["rim"],
        ),
    )  # fmt: skip


def _wanted(limits: LightParams, names: Sequence[str]) -> Wanted:
    from fab.light.solve import Wanted

    return Wanted(limits, tuple(names))


def _cure(plan: Plan, wall_reflectance: float, limits: LightParams, found: Figures, design: str) -> str:
    """Values at which every limit is kept and no plan check starts to fail; else those that mend what is broken."""
    from fab.light.solve import fewest_leds, least_depth, softest_sheet

    ways: tuple[tuple[str, Callable[[Plan, float, Wanted], Solved | None]], ...] = (
        ("depth", least_depth), ("led.count", fewest_leds), ("shop.stock.half_angle_deg", softest_sheet),
    )  # fmt: skip
    broken = tuple(name for name in NAMES if not _wanted(limits, (name,)).kept(found))
    before = faults(plan)
    for names in (NAMES, broken):
        told = []
        for key, solve in ways:
            answer = solve(plan, wall_reflectance, _wanted(limits, names))
            if answer is None or not faults(answer.plan) <= before:
                continue
            told.append(f"{in_full(design, key, plan)} = {fixed(answer.value, 1)} ({_what(answer, found)})")
            if len(told) == MOST_WAYS:
                break
        if told:
            return f"Set {', or '.join(told)}."
    return (
        "No depth, number of LEDs or sheet alone mends it here; a smaller panel.led.margin, a higher board.reflectance "
        "or a limit of your own (light.dots, light.evenness, light.rim) may."
    )


def _lit_again(plan: Plan, wall_reflectance: float, limits: LightParams, design: str) -> str:
    """For a panel that can't be lit: a depth, or a margin of the LEDs, at which it can; "" when neither helps."""
    from fab.light.scene import scene
    from fab.light.solve import least_depth, with_margin

    if plan.throw <= 0 and (answer := least_depth(plan, wall_reflectance, _wanted(limits, NAMES))):
        return f"Set {in_full(design, 'depth', plan)} = {fixed(answer.value, 1)}."
    no_led = not plan.params.led.at and not plan.params.led.count
    for half_mm in range(int(2 * plan.params.led.margin) if no_led else 0, 0, -1):
        try:
            scene(with_margin(plan, half_mm / 2), wall_reflectance)
        except InputError:
            continue
        return f"An LED has room from {in_full(design, 'led.margin', plan)} = {fixed(half_mm / 2, 1)} down."
    return ""


def _what(answer: Solved, before: Figures) -> str:
    """The figures with the new value, and the current that it costs."""
    f = answer.figures
    words = f"then dots {fixed(f.dots)}, evenness {fixed(f.evenness)}, rim {fixed(f.rim)}"
    if f.leds != before.leds:
        change = 100 * (f.leds / before.leds - 1)
        words += f"; {'+' if change > 0 else ''}{fixed(change, 0)} % LED current"
    return words
