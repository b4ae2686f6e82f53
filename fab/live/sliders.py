"""The numbers that a maker turns most, and the range of each within which its checks pass.

Every value that was looked at inside a range passes, and its ends lie within one step of a value
that does not. Between them not every value was looked at: the trial itself judges each.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection
from dataclasses import dataclass, replace
from typing import Any

from fab.decisions import settled_job
from fab.live.look import Look
from fab.params.changing import value_of
from fab.params.job import Job
from fab.params.merge import EITHER
from fab.params.spec import Spec, specs
from fab.parts.leds import led_pitch

PITCH = "panel.led.pitch"
SIZE = "panel.size"  # stands for the key that the design gives


@dataclass(frozen=True)
class Knob:
    """A number to try: its key, its name for people, and the steps of its slider."""

    key: str
    name: str
    step: float
    plan: bool = True  # whether the checks of the plan say where it ends


# value in use, step, ends, and whether a value passes; returns least and most
Search = Callable[[float, float, tuple[float, float], Callable[[float], bool]], tuple[float, float]]

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
    plan: bool = True
    stops: tuple[str, str] = ("", "")  # checks that fail one step beyond least and most
    working: bool = True  # whether more checks are to narrow it


def key_of(job: Job, knob: Knob) -> str:
    """The dotted key of a knob in this job."""
    if knob.key != SIZE:
        return knob.key
    one, other = EITHER
    return f"panel.{one if value_of(job, f'panel.{one}') is not None else other}"


def sliders(look: Look) -> list[Slider]:
    """The sliders of a state, as far as each value can go; without those its panels lack."""
    job = look.loaded.job
    settled = look.design.job if look.design is not None else settled_job(job, look.plans)
    found = []
    for knob in KNOBS:
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
        told = (key, knob.name, spec.unit, spec.doc, knob.step)
        found.append(Slider(*told, least, most, round(now, 4), knob.plan))
    return found


def narrowed(one: Slider, search: Search, fails: Callable[[float], Collection[str]]) -> Slider:
    """The slider with the range that a search finds; `fails`: ids of checks a value fails."""
    seen: dict[float, Collection[str]] = {}

    def passes(value: float) -> bool:
        seen[value] = fails(value)
        return not seen[value]

    ends = search(one.value, one.step, (one.least, one.most), passes)
    stops = []
    for sign, end, was, told in zip((-1, 1), ends, (one.least, one.most), one.stops, strict=True):
        beyond = seen.get(round(end + sign * one.step, 6), ())
        stops.append(", ".join(sorted(beyond)) or (told if end == was else ""))
    return replace(one, least=ends[0], most=ends[1], stops=(stops[0], stops[1]))


def passing(
    now: float, step: float, ends: tuple[float, float], passes: Callable[[float], bool]
) -> tuple[float, float]:
    """Least and most value about `now`, in whole steps away from it, with which it passes: by steps
    outwards, doubled while they pass, and halved at the end.
    """
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


def spanning(
    now: float, step: float, ends: tuple[float, float], passes: Callable[[float], bool]
) -> tuple[float, float]:
    """As `passing`, for tries that take long: middle and end first, halved where one fails."""
    found = []
    for sign, end in ((-1.0, ends[0]), (1.0, ends[1])):
        room = int(abs(end - now) / step + 1e-9)
        good, bad = 0, room + 1
        ahead = bad // 2
        while bad - good > 1:
            if passes(round(now + sign * ahead * step, 6)):
                good, ahead = ahead, room if bad > room else (ahead + bad) // 2
            else:
                bad, ahead = ahead, (good + ahead) // 2
        found.append(round(now + sign * good * step, 6))
    return found[0], found[1]


def _has_grid(look: Look) -> bool:
    plan = look.plans.get("panel")
    if plan is None or plan.params.board.none:
        return False
    led = plan.params.led
    return not led.count and not led.at


def spec_of(job: Job, key: str) -> Spec:
    """The declaration behind a dotted key."""
    *path, name = key.split(".")
    holder: Any = job
    for part in path:
        holder = getattr(holder, part)
    model: type = type(holder)
    return specs(model)[name]
