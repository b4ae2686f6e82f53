"""Every declared parameter changes something that is made or checked.

Numbers and words of a panel: another value changes a figure of its plan, a verdict, an LED or its
keyhole. What the plan does not know of (power, light, lists, files) is read by the room that is
named here, and nothing else is let pass. Keys of shop and job are read outside the declarations, by
name; `test_every_key_works` changes each.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from functools import cache, cached_property
from itertools import zip_longest
from pathlib import Path
from typing import Any

import pytest

from fab.checks import snap
from fab.checks.plan import plan_checks
from fab.errors import PanejigError
from fab.layout.model import BaseKind
from fab.params.keys import Key, all_keys
from fab.params.panel import PanelParams
from fab.params.spec import specs
from fab.parts.keyhole import keyhole_of
from fab.parts.leds import led_grid
from fab.parts.plan import Plan
from fab.parts.planning import plan
from tests.checks.designs import SHOP, changed

FAB = Path(__file__).parents[2] / "fab"
KIND = BaseKind("inlet-hanger-A", "panel", True, 77.0, "A")
# With these another key speaks that is silent otherwise.
WITH: dict[str, dict[str, Any]] = {
    "shell.snap": {"shell.fixing": "snap"},
    "switch.": {"switch.on": True, "shell.fixing": "snap", "switch.height": 9.5},
    "insert_": {"base.board_fixing": "insert"},
    "inlet.cable_d": {"inlet.kind": "round"},
    "inlet.room": {"base.feet": 8.0},
    "header.power_pins": {},
    "header.ground_pins": {},
}
# The plan knows nothing of these: the room that does.
ELSEWHERE = {
    "name": "products",
    "base.label": "parts",
    "diffuser.mark": "outputs",
    "diffuser.spares": "outputs",
    "led.half_angle_deg": "light",
    "led.full_a": "power",
    "led.lumen": "light",
    "led.least_v": "power",
    "header.pin_a": "power",
    "header.pin_ohm": "power",
    "header.power_pins": "power",
    "header.ground_pins": "power",
    "board.controller_a": "power",
    "board.reflectance": "light",
    "board.copper_um": "power",
    "board.power_squares": "power",
    "clip.root_radius": "parts",
    "led.bypass_nf": "power",
    "inlet.cc_ohm": "power",
    "inlet.cc_tolerance": "power",
    "inlet.soft_start_ms": "power",
    "base.roll": "book",
    "shell.roll": "book",
    "diffuser.stock": "parts",
    "base.vents": "parts",
    "led.height": "parts",
}
SIZED: dict[str, Any] = {"across_flats": 130.0}
FILES = ("board.", "jumper.", "art", "opening", "addition")  # read as a whole by their own rooms
PANEL = [
    key
    for key in all_keys()
    if key.path[0] == "panel" and "[]" not in key.dotted and key.spec.made_of is None
]
NUMBERS = [key for key in PANEL if key.spec.kind in ("length", "number", "count", "flag", "choice")]
SIZE = ("across_flats", "edge")


def fingerprint(made: Plan) -> Iterator[Any]:
    """Every figure of a plan, its LEDs, its keyhole and its verdicts; what is dear comes last."""
    for group in figures(made):
        yield from (repr(getattr(group, name)) for name in derived(group.__class__))
    yield from (repr(led_grid(made)), repr(keyhole_of(made, KIND)))
    for one in (*plan_checks("panel", made, [KIND]), *snap.checks(made)):
        yield one.id, one.verdict, round(one.measured, 9), round(one.limit, 9)


@cache
def default(start: str) -> tuple[Plan, tuple[Any, ...]]:
    """The plan with which keys that begin so are compared, and its fingerprint."""
    made = plan(changed(PanelParams(), SIZED | WITH.get(start, {})), SHOP)
    return made, tuple(fingerprint(made))


@cache
def derived(kind: type) -> list[str]:
    return [name for name in sorted(dir(kind)) if isinstance(getattr(kind, name), cached_property)]


def figures(made: Plan) -> list[Any]:
    """Rings, floor, edge, clip and all other groups of a plan."""
    return [getattr(made, name) for name in derived(Plan)]


def others(key: Key, now: Any) -> list[Any]:
    """Values that the key may have besides the one that holds."""
    spec = key.spec
    if spec.kind == "flag":
        return [not now]
    if spec.kind == "choice":
        return [option for option in spec.options if option != now]
    whole = spec.kind == "count"
    steps = (
        (1, -1, 2)
        if whole
        else (0.1 * abs(now) + 0.05, -0.1 * abs(now) - 0.05, 0.5 * abs(now) + 1, 3 * abs(now))
    )
    found = [round(now + step, 4) for step in steps]
    return [value for value in found if (spec.least or 0) <= value <= (spec.most or value)]


@pytest.mark.parametrize("key", NUMBERS, ids=lambda key: key.dotted)
def test_a_key_of_a_panel_changes_something(key: Key) -> None:
    dotted = key.dotted.removeprefix("panel.")
    if dotted in ELSEWHERE:
        assert re.search(rf"\.{dotted.rpartition('.')[2]}\b", room_text(ELSEWHERE[dotted])), dotted
        return
    if dotted.startswith(FILES) or dotted == "edge":
        assert f".{dotted.rpartition('.')[2]}" in all_named(), dotted
        return
    begins = next((start for start in WITH if dotted.startswith(start)), "")
    made, before = default(begins)
    holder: Any = made.params
    for part in dotted.split("."):
        holder = getattr(holder, part)
    tries = others(key, holder if holder is not None else 20.0)
    base = SIZED | WITH.get(begins, {})
    assert any(differs(base | {dotted: value}, before) for value in tries), dotted


def differs(overrides: dict[str, Any], before: tuple[Any, ...]) -> bool:
    try:
        now = fingerprint(plan(changed(PanelParams(), overrides), SHOP))
        return any(one != other for one, other in zip_longest(now, before))
    except (PanejigError, ValueError, ZeroDivisionError):
        return True  # refused for it


@cache
def room_text(room: str) -> str:
    files = sorted((FAB / room).rglob("*.py")) or [FAB / f"{room}.py"]
    return "\n".join(path.read_text(encoding="utf-8") for path in files)


@cache
def all_text() -> str:
    """Our code without the declarations of parameters and the proof, which reads files."""
    skipped = {"proof"}
    declared = {
        path
        for path in (FAB / "params").glob("*.py")
        if "_field" in path.name or path.stem in DECLARE
    }
    files = [
        path
        for path in sorted(FAB.rglob("*.py"))
        if path not in declared and path.parent.name not in skipped
    ]
    return "\n".join(path.read_text(encoding="utf-8") for path in files)


@cache
def all_named() -> set[str]:
    """Attributes and first words of texts in it, each with the mark before it."""
    return set(re.findall(r"[.\"'][A-Za-z_]\w*", all_text()))


DECLARE = ("panel", "job", "shop", "features", "artparams", "boardparams", "jumperparams")


@pytest.mark.parametrize("top", ["shop", "job"])
def test_every_other_key_is_read_somewhere(top: str) -> None:
    """By its own name, as an attribute or in a text that names one."""
    mine = [
        key
        for key in all_keys()
        if key.spec.made_of is None and (key.path[0] == "shop") == (top == "shop")
    ]
    mine = [key for key in mine if key.path[0] not in ("panel", "designs")]
    dead = {
        key.dotted for key in mine if not {f"{mark}{key.path[-1]}" for mark in ".\"'"} & all_named()
    }
    assert not dead
    assert len(mine) > 50 or top == "job"


def test_the_table_of_rooms_names_keys_that_are_there() -> None:
    known = {key.dotted.removeprefix("panel.") for key in PANEL}
    assert set(ELSEWHERE) <= known
    assert "opening_w" not in specs(type(PanelParams().inlet))  # type: ignore[arg-type]
    assert replace(PanelParams(), gap=1.0).gap == 1.0
