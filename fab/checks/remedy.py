"""Which value to turn, and to what: the remedy of a failed check is found by trying, so it is known to pass."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from fab.errors import PanejigError
from fab.params.spec import specs
from fab.parts import fits
from fab.parts.leds import led_values
from fab.parts.plan import Plan, planned
from fab.units import fixed

MOST_STEPS = 240
CLEAN_STEPS = 40  # so many cures are tried for one that brings no new fault


@dataclass(frozen=True)
class Turn:
    """One knob: a dotted key of the design ("base.wall"), or of the shop ("shop.printer.bridge").

    Tried in steps of `step` mm (or degrees) upwards or downwards; `word` is a word to set instead of a number.
    """

    key: str
    step: float = 0.1
    word: str | bool | None = None


SIZE = "size"  # stands for across_flats or edge, whichever the design gives


def in_full(design: str, key: str, plan: Plan) -> str:
    """The key as it stands in the job."""
    if key.startswith("shop.stock."):
        return f"shop.stock.{plan.params.diffuser.stock}.{key.removeprefix('shop.stock.')}"
    if key.startswith("shop."):
        return key
    key = _size_key(plan) if key == SIZE else key
    return f"panel.{key}" if design in ("", "panel") else f"designs.{design}.{key}"


def turned(plan: Plan, key: str, value: Any) -> Plan:
    """The plan with one value set; what follows it is derived anew."""
    printer, stock, asked = plan.printer, plan.stock, plan.asked or plan.params
    if key.startswith("shop.printer."):
        printer = _set(printer, key.removeprefix("shop.printer.").split("."), value)
    elif key.startswith("shop.stock."):
        stock = _set(stock, key.removeprefix("shop.stock.").split("."), value)
    else:
        asked = _set(asked, (_size_key(plan) if key == SIZE else key).split("."), value)
    return planned(asked, printer, stock, plan.strain_limit)


def remedy(
    design: str, plan: Plan, turns: Iterable[Turn], faults: Callable[[Plan], frozenset[str]], cures: str,
    cured: Callable[[Plan], bool] | None = None,
) -> str:  # fmt: skip
    """Words that name a knob and a value at which the fault `cures` is gone and no new one has come, "" without any.

    `faults` tells the ids of what fails for a plan; `cured`, quicker, whether this one is gone. When every knob brings
    a new fault, the first that cures counts.
    """
    gone = cured or (lambda changed: cures not in faults(changed))
    before = faults(plan)
    second = ""
    for turn in turns:
        value, clean = _search(plan, turn, faults, gone, before)
        if value is None:
            continue
        words = f"Set {in_full(design, turn.key, plan)} = {_shown(value)}."
        if clean:
            return words
        second = second or words
    return second


def _shown(value: Any) -> str:
    """A value as it is written in a file."""
    if isinstance(value, bool):
        return str(value).lower()
    return f'"{value}"' if isinstance(value, str) else fixed(value, 4)


def _search(
    plan: Plan, turn: Turn, faults: Callable[[Plan], frozenset[str]], gone: Callable[[Plan], bool], before: frozenset[str]
) -> tuple[Any, bool]:
    """A value that cures, and whether it does so without a new fault. (None, False) when there is none."""

    def tried(value: Any) -> frozenset[str] | None:
        """What fails with the value; None when it does not cure."""
        try:
            changed = turned(plan, turn.key, value)
            return faults(changed) if gone(changed) else None
        except (PanejigError, ValueError, ZeroDivisionError):
            return None

    if turn.word is not None:
        now = tried(turn.word)
        return (None, False) if now is None else (turn.word, now <= before)
    start, least, most, whole = _range(plan, turn.key)
    first, cures = None, 0
    for step in _ladder(start, turn.step, least, most):
        value = round(step) if whole else step
        now = tried(value)
        if now is None:
            continue
        if now <= before:
            return value, True
        first = value if first is None else first
        cures += 1
        if cures >= CLEAN_STEPS:
            break
    return first, False


def _ladder(start: float, step: float, least: float, most: float) -> Iterable[float]:
    """Values of whole steps away from `start`: one by one at first, then wider and wider."""
    size = abs(step)
    count = math.floor(start / size + 1e-9) if step > 0 else math.ceil(start / size - 1e-9)
    stride = 1
    for k in range(MOST_STEPS):
        count += stride if step > 0 else -stride
        value = round(count * size, 6)
        if not least <= value <= most:
            return
        yield value
        if k % 40 == 39:
            stride *= 2


def _range(plan: Plan, key: str) -> tuple[float, float, float, bool]:
    """Value in use, least and most allowed, and whether it is a whole number."""
    if key.startswith("shop.printer."):
        holder: Any = plan.printer
        path = key.removeprefix("shop.printer.").split(".")
    elif key.startswith("shop.stock."):
        holder, path = plan.stock, key.removeprefix("shop.stock.").split(".")
    else:
        holder, path = plan.params, (_size_key(plan) if key == SIZE else key).split(".")
    for name in path[:-1]:
        holder = getattr(holder, name)
    model: Any = type(holder)
    spec = specs(model)[path[-1]]
    value = getattr(holder, path[-1])
    if value is None:
        value = _worked_out(plan, key)
    least = spec.least if spec.least is not None else -math.inf
    return float(value), least, spec.most if spec.most is not None else math.inf, spec.kind == "count"


def _worked_out(plan: Plan, key: str) -> float:
    """Value in use of a parameter that was left out."""
    return {
        "board.height": lambda: plan.board_z,
        "clip.leg_length": lambda: plan.clip_leg_length,
        "shop.stock.tolerance": lambda: fits.thickness_tolerance(plan.stock),
        "shell.screws": lambda: float(len(plan.fixing_corners)),
        "led.count": lambda: 1.0,
        "led.pitch": lambda: led_values(plan).pitch,
        "led.margin": lambda: led_values(plan).margin,
        "hanger.offset": lambda: 0.0,
    }[key]()


def _size_key(plan: Plan) -> str:
    return "across_flats" if plan.params.across_flats is not None else "edge"


def _set(holder: Any, path: list[str], value: Any) -> Any:
    name, *rest = path
    return dataclasses.replace(holder, **{name: _set(getattr(holder, name), rest, value) if rest else value})
