"""The numbers that a maker turns most, and the range of each within which the checks of the plan
pass.

Found by steps outwards from the value in use, doubled while they pass, and halving at the end: so
every value that was looked at inside the range passes, and the ends lie within one step of a value
that does not. Light, power, heat and screws are judged by the trial itself.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from fab.checks.edges import edge_checks
from fab.checks.snap import all_faults
from fab.decisions import lay_out, plans_of, settled_job
from fab.errors import PanejigError
from fab.live.look import Look
from fab.params.changing import value_of, with_values
from fab.params.job import Job
from fab.params.merge import EITHER
from fab.params.spec import Spec, specs
from fab.parts.leds import led_pitch
from fab.units import fixed

PITCH = "panel.led.pitch"
SIZE = "panel.size"  # stands for the key that the design gives


@dataclass(frozen=True)
class Knob:
    """A number to try: its key, its name for people, and the steps of its slider."""

    key: str
    name: str
    step: float
    plan: bool = True  # whether the checks of the plan say where it ends


KNOBS = (
    Knob(SIZE, "Size of a panel", 0.5),
    Knob("panel.depth", "Depth", 0.5),
    Knob("panel.shell.wall", "Shell wall", 0.05),
    Knob("panel.gap", "Gap between panels", 0.1),
    Knob(PITCH, "LED pitch", 0.1),
    Knob("power.brightness", "Brightness limit", 0.01, plan=False),
    Knob("layout.turn_deg", "Turn of the wall", 1.0, plan=False),
)
MOST_STEPS = 4_096
TURN = (-180.0, 180.0)


@dataclass(frozen=True)
class Slider:
    """A knob with the value in use and its range."""

    key: str
    name: str
    unit: str
    about: str
    step: float
    least: float
    most: float
    value: float


def key_of(job: Job, knob: Knob) -> str:
    """The dotted key of a knob in this job."""
    if knob.key != SIZE:
        return knob.key
    one, other = EITHER
    return f"panel.{one if value_of(job, f'panel.{one}') is not None else other}"


def sliders(look: Look, still: Callable[[], bool]) -> list[Slider]:
    """The sliders of a state; those that its panels do not have are left out.

    `still`: whether the state is the newest; what is not is given up.
    """
    job = look.loaded.job
    settled = look.design.job if look.design is not None else settled_job(job, look.plans)
    allowed = _failing(job)
    found = []
    for knob in KNOBS:
        if not still():
            return []
        key = key_of(job, knob)
        if knob.key == PITCH and not _has_grid(look):
            continue
        now = value_of(settled, key)
        if knob.key == PITCH and now is None:
            now = round(led_pitch(look.plans["panel"]), 1)
        if not isinstance(now, int | float):
            continue
        spec = spec_of(job, key)
        least, most = spec.least or 0.0, spec.most or 0.0
        if knob.key == "layout.turn_deg":
            least, most = TURN
        elif knob.key == PITCH:
            most = min(most, math.floor(2 * look.plans["panel"].cell.apothem))  # a single LED then
        elif knob.key == "power.brightness":
            if look.design is None:
                continue
            possible = math.floor(look.design.wired.possible / knob.step + 1e-9) * knob.step
            most = max(round(possible, 4), now)
        if knob.plan:
            least, most = passing(now, knob.step, (least, most), _passes(job, key, allowed))
        found.append(
            Slider(key, knob.name, spec.unit, spec.doc, knob.step, least, most, round(now, 4))
        )
    return found


def passing(
    now: float, step: float, ends: tuple[float, float], passes: Callable[[float], bool]
) -> tuple[float, float]:
    """Least and most value about `now`, in whole steps away from it, with which it passes."""
    found = []
    for sign, end in ((-1.0, ends[0]), (1.0, ends[1])):
        room = min(int(abs(end - now) / step + 1e-9), MOST_STEPS)
        good, stride = 0, 1
        while good < room:
            ahead = min(good + stride, room)
            if passes(round(now + sign * ahead * step, 6)):
                good, stride = ahead, stride * 2
            elif stride == 1:
                break
            else:
                room, stride = ahead - 1, max((ahead - good) // 2, 1)
        found.append(round(now + sign * good * step, 6))
    return found[0], found[1]


def _has_grid(look: Look) -> bool:
    plan = look.plans.get("panel")
    if plan is None or plan.params.board.none:
        return False
    led = plan.params.led
    return not led.count and not led.at


def _passes(job: Job, key: str, allowed: frozenset[str]) -> Callable[[float], bool]:
    def passes(value: float) -> bool:
        return _failing(with_values(job, [(key, fixed(value, 4))])) <= allowed

    def tried(value: float) -> bool:
        try:
            return passes(value)
        except (PanejigError, ValueError, ZeroDivisionError):
            return False

    return tried


def _failing(job: Job) -> frozenset[str]:
    """What the checks of plan and layout have against a job."""
    try:
        plans, layout = plans_of(job), lay_out(job)
    except PanejigError:
        return frozenset(("layout",))
    found = {f"{name} {fault}" for name, plan in plans.items() for fault in all_faults(plan)}
    edges: Sequence[Any] = edge_checks(layout, plans)
    return frozenset(found | {one.id for one in edges if one.verdict == "fail"})


def spec_of(job: Job, key: str) -> Spec:
    """The declaration behind a dotted key."""
    *path, name = key.split(".")
    holder: Any = job
    for part in path:
        holder = getattr(holder, part)
    model: type = type(holder)
    return specs(model)[name]
