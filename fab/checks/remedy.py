"""The value to turn, and to what: the remedy of a failed check is found by trying, so it is known
to pass.

One value first, then two, the least change of those tried; a change counts as a share of the value
that was there.
"""

from __future__ import annotations

import dataclasses
import itertools
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fab.errors import PanejigError
from fab.params.designs import table_of
from fab.params.spec import specs
from fab.parts import fits
from fab.parts.leds import led_values
from fab.parts.plan import Plan
from fab.parts.planning import planned
from fab.units import fixed

MOST_STEPS = 240
MOST_TRIES = 1_000  # values that are tried for one remedy, in all
CLEAN_STEPS = 40  # so many cures are tried for one that brings no new fault
MOST_SECONDS = 12  # knobs that are tried as the second of a pair
WORD_CHANGE = 0.5  # a word in place of another counts as much as a number that changes by half


@dataclass(frozen=True)
class Turn:
    """One knob: a dotted key of the design "base.wall", or of the shop ("shop.printer.bridge").

    Tried in steps of `step` mm (or degrees) upwards or downwards; `word` is a word to set instead
    of a number.
    """

    key: str
    step: float = 0.1
    word: str | bool | None = None


@dataclass(frozen=True)
class Found:
    """A value of a knob that cures, its plan, and the faults that it brings."""

    turn: Turn
    value: Any
    change: float  # share of the value that it had
    plan: Plan
    new: frozenset[str]


# what a plan that can't be calculated raises
SILENT = (PanejigError, ValueError, ZeroDivisionError)
NOT_ONE = "No single change is enough."
SIZE = "size"  # stands for across_flats or edge, whichever the design gives


def in_full(design: str, key: str, plan: Plan) -> str:
    """The key as it stands in the job."""
    if key.startswith("shop.stock."):
        return f"shop.stock.{plan.params.diffuser.stock}.{key.removeprefix('shop.stock.')}"
    if key.startswith("shop."):
        return key
    key = _size_key(plan) if key == SIZE else key
    return f"{table_of(design)}.{key}"


def turned(plan: Plan, key: str, value: Any) -> Plan:
    """The plan with one value set; what follows it is derived anew."""
    printer, stock, asked = plan.printer, plan.stock, plan.asked or plan.params
    if key.startswith("shop.printer."):
        printer = _set(printer, key.removeprefix("shop.printer.").split("."), value)
    elif key.startswith("shop.stock."):
        stock = _set(stock, key.removeprefix("shop.stock.").split("."), value)
    else:
        asked = _set(asked, (_size_key(plan) if key == SIZE else key).split("."), value)
    return planned(asked, printer, stock, plan.filament)


def remedy(
    design: str,
    plan: Plan,
    turns: Iterable[Turn],
    faults: Callable[[Plan], frozenset[str]],
    cures: str,
    cured: Callable[[Plan], bool] | None = None,
    named: Mapping[str, Sequence[Turn]] | None = None,
) -> str:
    """Words that name a knob and a value at which the fault `cures` is gone and no new one has
    come: the least change of the design that was tried, else of the shop. Else two knobs, the
    second from those that `named` gives for the new fault; else where to start.

    `faults` tells the ids of what fails for a plan; `cured`, quicker, whether this one is gone.
    """
    tries = itertools.count()

    def gone(changed: Plan) -> bool:
        if next(tries) > MOST_TRIES:
            return False
        return cured(changed) if cured is not None else cures not in faults(changed)

    plan, turns = _with_its_leds(plan), tuple(turns)
    before = faults(plan)
    clean: list[Found] = []
    dirty: list[Found] = []
    for turn in sorted(turns, key=_of_the_shop):
        if clean and _of_the_shop(turn):
            break  # what is measured in the shop stays where a value of the design cures
        nearest = min((one.change for one in clean), default=math.inf)
        found = _search(plan, turn, faults, gone, before, nearest)
        if found is not None:
            (dirty if found.new else clean).append(found)
    if clean:
        best = min(clean, key=lambda one: one.change)
        return f"Set {in_full(design, best.turn.key, plan)} = {_shown(best.value)}."
    pairs = [
        pair for first in dirty for pair in _pairs(first, turns, faults, gone, before, named or {})
    ]
    if pairs:
        first, second = min(pairs, key=lambda pair: pair[0].change + pair[1].change)
        words = " and ".join(
            f"{in_full(design, one.turn.key, plan)} = {_shown(one.value)}"
            for one in (first, second)
        )
        return f"{NOT_ONE} Set {words}."
    keys = ", ".join(dict.fromkeys(in_full(design, turn.key, plan) for turn in turns))
    return (
        f"No change of one or two values was found that passes. The result depends on {keys}."
        if keys
        else ""
    )


def _of_the_shop(turn: Turn) -> bool:
    return turn.key.startswith("shop.")


def _with_its_leds(plan: Plan) -> Plan:
    """Return the plan with the LED pitch and margin that it has: to derive them anew for every
    value that is tried takes far longer than all else.
    """
    asked = plan.asked or plan.params
    if plan.params.board.none or asked.led.count or asked.led.at:
        return plan
    led = led_values(plan)
    own = dataclasses.replace(
        asked, led=dataclasses.replace(asked.led, pitch=led.pitch, margin=led.margin)
    )
    return dataclasses.replace(plan, params=dataclasses.replace(plan.params, led=led), asked=own)


def _pairs(
    first: Found,
    turns: Sequence[Turn],
    faults: Callable[[Plan], frozenset[str]],
    gone: Callable[[Plan], bool],
    before: frozenset[str],
    named: Mapping[str, Sequence[Turn]],
) -> Iterable[tuple[Found, Found]]:
    """A change that brought new faults, with a second one that takes them away again."""
    others = dict.fromkeys([turn for name in sorted(first.new) for turn in named.get(name, ())])
    others.update(dict.fromkeys(turns))
    for turn in list(others)[:MOST_SECONDS]:
        if turn.key != first.turn.key:
            found = _search(first.plan, turn, faults, gone, before)
            if found is not None and not found.new:
                yield first, found


def _shown(value: Any) -> str:
    """A value as it is written in a file."""
    if isinstance(value, bool):
        return str(value).lower()
    return f'"{value}"' if isinstance(value, str) else fixed(value, 4)


def _search(
    plan: Plan,
    turn: Turn,
    faults: Callable[[Plan], frozenset[str]],
    gone: Callable[[Plan], bool],
    before: frozenset[str],
    most_change: float = math.inf,
) -> Found | None:
    """The nearest value that cures without a new fault, else that cures; or None."""

    def tried(value: Any, change: float) -> Found | None:
        try:
            changed = turned(plan, turn.key, value)
            if not gone(changed):
                return None
            return Found(turn, value, change, changed, faults(changed) - before)
        except SILENT:
            return None

    if turn.word is not None:
        return tried(turn.word, WORD_CHANGE)
    start, least, most, whole = _range(plan, turn.key)
    first, cures = None, 0
    for step in _ladder(start, turn.step, least, most):
        value = round(step) if whole else step
        change = abs(value - start) / max(abs(start), abs(turn.step))
        if change > most_change:
            break  # another value that cures is nearer
        now = tried(value, change)
        if now is None:
            continue
        if not now.new:
            return now
        first = first or now
        cures += 1
        if cures >= CLEAN_STEPS:
            break
    return first


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
    return (
        float(value),
        least,
        spec.most if spec.most is not None else math.inf,
        spec.kind == "count",
    )


def _worked_out(plan: Plan, key: str) -> float:
    """Value in use of a parameter that was left out."""
    return {
        "board.height": lambda: plan.heights.board_z,
        "clip.leg_length": lambda: plan.clip.leg_length,
        "shop.stock.tolerance": lambda: fits.thickness_tolerance(plan.stock),
        "shell.screws": lambda: float(len(plan.fixings.fixing_corners)),
        "led.count": lambda: 1.0,
        "led.pitch": lambda: led_values(plan).pitch,
        "led.margin": lambda: led_values(plan).margin,
        "hanger.offset": lambda: 0.0,
    }[key]()


def _size_key(plan: Plan) -> str:
    return "across_flats" if plan.params.across_flats is not None else "edge"


def _set(holder: Any, path: list[str], value: Any) -> Any:
    name, *rest = path
    return dataclasses.replace(
        holder, **{name: _set(getattr(holder, name), rest, value) if rest else value}
    )
