"""Designs to check: a plain one with overrides, and random ones over the whole range that the
checks must bear.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable
from typing import Any

from hypothesis import strategies as st

from fab.checks.model import Verdict
from fab.params.panel import PanelParams
from fab.params.shop import Filament, Shop, Stock
from fab.parts.plan import Plan
from fab.parts.planning import plan

SHOP = Shop(stock={"opal-3": Stock()})


def changed(holder: Any, overrides: dict[str, Any]) -> Any:
    """A dataclass with dotted keys set: {"base.wall": 1.8}."""
    for key, value in overrides.items():
        name, _, rest = key.partition(".")
        holder = dataclasses.replace(
            holder, **{name: changed(getattr(holder, name), {rest: value}) if rest else value}
        )
    return holder


def shop_of(overrides: dict[str, Any]) -> Shop:
    """The shop with "shop." keys of the overrides set; "shop.stock." speaks of its one stock."""
    mine = {
        key.removeprefix("shop."): value
        for key, value in overrides.items()
        if key.startswith("shop.")
    }
    stock = {
        key.removeprefix("stock."): value for key, value in mine.items() if key.startswith("stock.")
    }
    shop = changed(
        SHOP, {key: value for key, value in mine.items() if not key.startswith("stock.")}
    )
    return dataclasses.replace(shop, stock={"opal-3": changed(SHOP.stock["opal-3"], stock)})


def plan_with(overrides: dict[str, Any] | None = None) -> Plan:
    """A hexagon of 120 mm across flats with overrides ("shop.printer.bridge" reaches the shop)."""
    overrides = dict(overrides or {})
    size = {} if {"edge", "across_flats"} & overrides.keys() else {"across_flats": 120.0}
    params = changed(
        PanelParams(),
        size | {key: value for key, value in overrides.items() if not key.startswith("shop.")},
    )
    return plan(params, shop_of(overrides))


@st.composite
def wild(draw: st.DrawFn) -> dict[str, Any]:
    """Overrides over the whole range: most of them make a design that must be refused."""
    size = draw(
        st.one_of(
            st.floats(60, 300).map(lambda value: {"across_flats": round(value, 1)}),
            st.floats(30, 170).map(lambda value: {"edge": round(value, 1)}),
        )
    )
    ranges: dict[str, st.SearchStrategy[Any]] = {
        "sides": st.integers(3, 8),
        "corner_radius": st.floats(0, 60),
        "gap": st.floats(0, 3),
        "depth": st.floats(12, 60),
        "base.wall": st.floats(0.8, 4),
        "base.floor": st.floats(0.8, 5),
        "shell.wall": st.floats(0.8, 4),
        "shell.ledge": st.floats(0.4, 5),
        "shell.fixing": st.sampled_from(["screw", "snap"]),
        "shell.snap_tongue": st.floats(0.4, 2.5),
        "shell.snap_engage": st.floats(0.1, 1.2),
        "base.board_fixing": st.sampled_from(["screw", "insert"]),
        "base.vents": st.booleans(),
        "switch.on": st.booleans(),
        "switch.height": st.floats(2, 12),
        "switch.inset": st.floats(2, 8),
        "clip.width": st.floats(4, 20),
        "clip.leg": st.floats(0.5, 2),
        "clip.hook": st.floats(0.2, 1.5),
        "clip.tip": st.floats(0.5, 1.0),
        "header.pins": st.integers(2, 8),
        "header.pin": st.floats(4, 14),
        "board.fit": st.floats(0.05, 2),
        "board.height": st.one_of(st.none(), st.floats(5, 30)),
        "inlet.kind": st.sampled_from(["usb-c", "round"]),
        "inlet.cable_d": st.floats(2, 12),
        "inlet.board_w": st.floats(9, 24),
        "hanger.travel": st.floats(5, 15),
        "screw_head_d": st.floats(3, 9),
        "diffuser.proud": st.floats(0, 1),
        "shop.printer.bridge": st.floats(4, 20),
        "shop.printer.extrusion_width": st.sampled_from([0.4, 0.45, 0.6]),
        "shop.stock.thickness": st.floats(1, 6),
        "shop.stock.made": st.sampled_from(["cast", "extruded", "measured"]),
    }
    keys = draw(st.lists(st.sampled_from(sorted(ranges)), max_size=10, unique=True))
    return size | {key: draw(ranges[key]) for key in keys}


@st.composite
def likely(draw: st.DrawFn) -> tuple[dict[str, Any], Filament]:
    """Overrides near what makers take: about half of them pass."""
    width = draw(st.sampled_from([0.4, 0.45, 0.6]))

    def lines(least: int, most: int) -> st.SearchStrategy[float]:
        return st.integers(least, most).map(lambda count: round(count * width, 4))

    fixing = draw(st.sampled_from(["screw", "snap"]))
    choices: dict[str, list[Any] | st.SearchStrategy[Any]] = {
        "sides": st.integers(3, 8),
        "edge": st.integers(75, 150).map(float),
        "corner_radius": [0.0, 0.1, 0.3, 1.0, 2.0, 3.0, 4.0],
        "gap": [0.0, 0.2, 0.4, 0.8, 1.5],
        "depth": st.integers(34, 56).map(float),
        "base.floor": [3.0, 3.2, 4.0],
        "base.wall": lines(2, 4),
        "base.board_fixing": ["screw", "insert"],
        "base.vents": [False, True],
        "shell.wall": lines(3, 5),
        "shell.ledge": [2.2, 2.5, 3.0, 3.5],
        "shell.fixing": [fixing],
        "shell.snap_tongue": lines(2, 2),
        "shell.snap_engage": [0.3, 0.35],
        "shell.screws": [None, 2, 3, 4],
        "diffuser.proud": [0.0, 0.2, 0.5],
        "board.fit": [0.3, 0.4, 0.6],
        "board.height": [None, None, 16.0, 22.0],
        "led.pattern": ["triangular", "square", "rings"],
        "led.pitch": [15.0, 20.0, 30.0],
        "header.pins": [3, 4, 5, 6],
        "header.pin": [8.0, 8.0, 9.0],
        "header.play": [0.4, 0.55],
        "clip.width": [6.0, 8.0],
        "clip.leg": lines(2, 2),
        "clip.hook": [0.5, 0.6, 0.8],
        "clip.return_deg": [45.0, 50.0, 70.0],
        "hanger.travel": [7.0, 8.0, 10.0],
        "inlet.kind": ["usb-c", "round"],
        "inlet.cable_d": [3.5, 5.0, 6.0],
        "switch.on": [False, fixing == "snap"],
        "switch.height": [9.5, 10.5],
        "shop.printer.bed": [(600.0, 600.0)],
        "shop.printer.extrusion_width": [width],
        "shop.printer.nozzle": [0.4 if width < 0.5 else 0.6],
        "shop.printer.layer": [0.16, 0.2, 0.3],
        "shop.printer.bridge": [10.0, 12.0, 15.0],
        "shop.printer.overhang_deg": [45.0, 50.0],
        "shop.printer.elephant_foot": [0.0, 0.2, 0.3],
        "shop.printer.clearance.sliding": [0.2, 0.25, 0.35],
        "shop.printer.clearance.location": [0.15, 0.2, 0.3],
        "shop.printer.clearance.press": [-0.03, -0.05, -0.1],
        "shop.printer.clearance.seat": [0.15, 0.2, 0.3],
        "shop.printer.clearance.snap": [0.1, 0.15],
        "shop.stock.thickness": [2.0, 3.0, 4.0],
        "shop.stock.made": ["cast", "extruded", "measured"],
    }
    found = {
        key: draw(st.sampled_from(options) if isinstance(options, list) else options)
        for key, options in choices.items()
    }
    return found, Filament(material=draw(st.sampled_from(["PLA", "PETG", "ASA"])))


def failed(verdicts: Iterable[Verdict]) -> set[str]:
    """The checks that fail."""
    return {verdict.id for verdict in verdicts if verdict.verdict == "fail"}
