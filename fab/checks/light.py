"""Check the evenness of the light of one design: dots, the whole face and its middle, against the
job's limits.

`light.evenness` covers the whole visible face, rim and corners included; `light.middle` its middle
two thirds. The remedy of a failed check is found by trying: depth, LEDs nearer to the rim, number
of LEDs, or sheet.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from operator import attrgetter
from typing import TYPE_CHECKING

from fab.checks.broken import faults
from fab.checks.model import Verdict, at_least, at_most, judge
from fab.checks.remedy import in_full
from fab.errors import InputError
from fab.params.designs import called
from fab.params.job import LightParams
from fab.params.spec import specs
from fab.parts.plan import Plan
from fab.units import fixed, some

if TYPE_CHECKING:  # numpy comes in with these; loaded when a check runs
    from fab.light.figures import Evenness
    from fab.light.solve import LightLimits, Solved

SIMULATED = "simulated, seen straight on"
FAR_FIELD = (
    "common practice: from a distance of about its own size a source looks like a point; nearer,"
    " the model is rough"
)
MOST_WAYS = 2  # answers told in a remedy
NAMES = ("dots", "face", "middle")
# So far from its limit a coarse figure is trusted: twice the largest difference to the settled one
# that was measured on panels of 95 to 155 mm with 1 to 211 LEDs.
UNSURE = {"dots": 0.01, "face": 0.06, "middle": 0.02}
# what an answer may change, and the sheet
KEYS = ("depth", "led.pattern", "led.margin", "led.pitch", "led.count")


def checks(
    plan: Plan,
    wall_reflectance: float,
    limits: LightParams,
    design: str = "panel",
    *,
    remedies: bool = True,
    coarse: bool = False,
    known: Evenness | None = None,
) -> tuple[Verdict, ...]:
    """Verdicts `light.*` of one design; `wall_reflectance` is the filament's. `remedies`: look for
    them, which takes seconds. `coarse`: take the coarse figures where these are clear, to know
    what fails. `known`: the settled figures, where they were calculated before.

    A design that can't be lit at all (no LED, LEDs over the sheet, light made of nothing) fails
    `light.room` alone; a blank cover has nothing to be checked.
    """
    if plan.params.board.none:
        return ()
    from fab.light.figures import evenness, quick
    from fab.light.scene import scene

    subject = called(design)
    try:
        here = scene(plan, wall_reflectance)
    except InputError as error:
        fault = error.faults[0]
        says = f"This panel cannot be lit: {fault.key}: {fault.says}"
        cure = fault.works
        if remedies:
            cure = _lit_again(plan, wall_reflectance, limits, design) or cure
        return (
            Verdict(
                "light.room",
                "fail",
                subject,
                min(plan.heights.throw, 0.0),
                plan.params.led.size,
                "mm",
                says,
                cure,
            ),
        )
    found = known or (replace(quick(here), moved=0.0) if coarse else evenness(here))
    if coarse and any(
        abs(getattr(found, name) - getattr(limits, name)) < UNSURE[name] for name in NAMES
    ):
        found = evenness(here)
    cure = ""
    if remedies and not _wanted(limits, NAMES).kept(found):
        cure = _cure(plan, wall_reflectance, limits, found, design)
    return (_room(plan, subject), *_judged(found, limits, subject, cure))


def failing(plan: Plan, wall_reflectance: float, limits: LightParams) -> frozenset[str]:
    """Ids of the checks of light that a design fails, by coarse figures where these are clear."""
    found = checks(plan, wall_reflectance, limits, remedies=False, coarse=True)
    return frozenset(one.id for one in found if one.verdict == "fail")


def _room(plan: Plan, subject: str) -> Verdict:
    size = plan.params.led.size
    deeper = fixed(plan.params.depth + size - plan.heights.throw, 1)
    return judge(
        "light.room",
        subject,
        at_least(plan.heights.throw, size),
        f"Distance from the LEDs to the back of the sheet: {fixed(plan.heights.throw, 2)} mm.",
        remedy=f"The light figures are reliable from panel.depth = {deeper} upwards.",
        source=FAR_FIELD,
        otherwise="warn",
    )


def _judged(f: Evenness, limits: LightParams, subject: str, cure: str) -> tuple[Verdict, ...]:
    source = {name: specs(LightParams)[name].source for name in NAMES}
    rough = "" if f.moved <= 1 else f"; accurate to about {fixed(f.moved, 0)} % only"
    gap, dark = (f"x {fixed(x, 1)}, y {fixed(y, 1)} mm" for x, y in (f.gap, f.darkest))
    return (
        judge(
            "light.dots",
            subject,
            at_most(f.dots, limits.dots, ""),
            f"Contrast between {some(f.leds, 'LED')} and the gap beside"
            f" {'it' if f.leds == 1 else 'them'}, strongest at {gap}, {SIMULATED}{rough}.",
            remedy=cure,
            source=source["dots"],
        ),
        judge(
            "light.evenness",
            subject,
            at_least(f.face, limits.face, ""),
            "Darkest over brightest spot of the whole face, rim and corners included:"
            f" {fixed(f.face, 2)}, {SIMULATED}{rough}. Compared with the mean of the middle, the"
            f" rim along the edges has {fixed(f.rim, 2)}, least at {dark}, and a corner"
            f" {fixed(f.corner, 2)}.",
            remedy=cure,
            source=source["face"],
        ),
        judge(
            "light.middle",
            subject,
            at_least(f.middle, limits.middle, ""),
            "Darkest over brightest spot of the middle two thirds of the face:"
            f" {fixed(f.middle, 2)}, {SIMULATED}{rough}.",
            remedy=cure,
            source=source["middle"],
        ),
    )


def _wanted(limits: LightParams, names: Sequence[str]) -> LightLimits:
    from fab.light.solve import LightLimits

    return LightLimits(limits, tuple(names))


def _cure(
    plan: Plan, wall_reflectance: float, limits: LightParams, found: Evenness, design: str
) -> str:
    """Values that keep every limit and break no plan check; else those that mend what is broken."""
    from fab.light.solve import fewest_leds, least_depth, nearer_leds, softest_sheet

    ways: tuple[Callable[[Plan, float, LightLimits], Solved | None], ...] = (
        least_depth,
        nearer_leds,
        fewest_leds,
        softest_sheet,
    )
    broken = tuple(name for name in NAMES if not _wanted(limits, (name,)).kept(found))
    before = faults(plan)
    for names in (NAMES, broken):
        told = []
        for solve in ways:
            answer = solve(plan, wall_reflectance, _wanted(limits, names))
            if answer is None or not faults(answer.plan) <= before:
                continue
            told.append(f"{_changes(design, plan, answer.plan)} ({_what(answer, found)})")
            if len(told) == MOST_WAYS:
                break
        if told:
            return f"Set {', or '.join(told)}."
    return (
        "No change of depth, of the number of LEDs, of the sheet or of the LEDs' distance from"
        " the rim passes here. Try a higher panel.board.reflectance, or a limit of your own"
        " (light.dots, light.face, light.middle)."
    )


def _lit_again(plan: Plan, wall_reflectance: float, limits: LightParams, design: str) -> str:
    """For an unlit panel: a depth, or margin of LEDs, at which it is lit; "" when none helps."""
    from fab.light.scene import scene
    from fab.light.solve import least_depth, with_margin

    if plan.heights.throw <= 0 and (
        answer := least_depth(plan, wall_reflectance, _wanted(limits, NAMES))
    ):
        return f"Set {in_full(design, 'depth', plan)} = {fixed(answer.value, 1)}."
    no_led = not plan.params.led.at and not plan.params.led.count
    margin = plan.params.led.margin or 0.0  # left out where no grid of LEDs was found
    for half_mm in range(int(2 * margin) if no_led else 0, 0, -1):
        try:
            scene(with_margin(plan, half_mm / 2), wall_reflectance)
        except InputError:
            continue
        return (
            f"An LED has room with {in_full(design, 'led.margin', plan)} = {fixed(half_mm / 2, 1)}"
            " or less."
        )
    return ""


def _changes(design: str, plan: Plan, answer: Plan) -> str:
    """The keys whose values differ, each with its new value."""
    found = []
    for key in KEYS:
        old, new = (attrgetter(key)(one.params) for one in (plan, answer))
        if new is not None and new != old:
            shown = f'"{new}"' if isinstance(new, str) else fixed(new, 2)
            found.append(f"{in_full(design, key, plan)} = {shown}")
    if answer.stock.half_angle_deg != plan.stock.half_angle_deg:
        sheet = in_full(design, "shop.stock.half_angle_deg", plan)
        found.append(f"{sheet} = {fixed(answer.stock.half_angle_deg, 1)}")
    return " and ".join(found)


def _what(answer: Solved, before: Evenness) -> str:
    """The figures with the new value, and the current that it costs."""
    f = answer.figures
    words = f"then dots {fixed(f.dots)}, whole face {fixed(f.face, 2)}, middle {fixed(f.middle, 2)}"
    if f.leds != before.leds:
        change = 100 * (f.leds / before.leds - 1)
        words += f"; {'+' if change > 0 else ''}{fixed(change, 0)} % LED current"
    return words
