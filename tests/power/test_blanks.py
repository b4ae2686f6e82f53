"""Blank covers: no board, so nothing to feed, and nothing passes them."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from typing import Any

import pytest

from fab.checks.heat import heat_checks
from fab.checks.power import power_checks
from fab.errors import InputError
from fab.layout.find import find_layout
from fab.layout.joint_table import BLANK
from fab.params.job import LayoutParams, PlacedParams
from fab.params.panel import BoardParams, InletParams  # type: ignore[attr-defined]
from fab.params.shop import Filament, Shop, Stock
from fab.parts.plan import cell_of
from fab.parts.planning import plan
from fab.power.cables import cable_runs
from fab.power.fed_wall import FedWall
from fab.power.heat import panel_heat
from fab.power.loads import loads
from fab.power.plan_page import plan_page
from fab.power.tables import address_rows, joint_rows
from fab.power.whatif import what_if
from fab.power.wire import wire

from .walls import asking, design

LIT = design()
DESIGNS = {"panel": LIT, "cover": replace(LIT, board=BoardParams(none=True))}
SHOP = Shop(stock={"opal-3": Stock()})
PLANS = {name: plan(params, SHOP) for name, params in DESIGNS.items()}


def mixed(lit: Any, covers: Any) -> Any:
    panels = tuple(PlacedParams(cell=cell, design="cover") for cell in covers)
    return find_layout(
        LayoutParams(cells=tuple(lit), panel=panels), lambda name: cell_of(DESIGNS[name or "panel"])
    )


def fed(lit: Any, covers: Any, power: Any = None) -> Any:
    layout = mixed(lit, covers)
    power = power or asking()
    return layout, wire(layout, loads(layout, PLANS), power, DESIGNS), power


def checks(layout: Any, wired: Any, power: Any) -> Any:
    heats = panel_heat(
        layout, wired.loads, PLANS, Filament(), supply_v=5.0, brightness=0.3, ambient_c=40.0
    )
    runs = cable_runs(layout, wired, power, DESIGNS)
    return [
        *power_checks(FedWall(wired, layout, power, DESIGNS), runs),
        *heat_checks(heats, layout, PLANS, Filament(), power),
    ]


def test_a_cover_in_a_row_parts_the_wall() -> None:
    """A - B - cover - D - E: two parts that each want an inlet; no header at the cover; the audit
    agrees.
    """
    layout, wired, power = fed([(0, 0), (1, 0), (3, 0), (4, 0)], [(2, 0)])
    assert wired.blank == ("C",)
    assert [zone.panels for zone in wired.zones] == [("A", "B"), ("D", "E")]
    assert [row["kind"] for row in joint_rows(layout, wired)] == [
        "header",
        "none",
        "none",
        "header",
    ]
    assert [row["why"] for row in joint_rows(layout, wired)] == ["", BLANK, BLANK, ""]
    assert set(wired.volts) == {"A", "B", "D", "E"}
    assert wired.zone_of["C"].index == 0
    found = {v.id: v for v in checks(layout, wired, power)}
    assert found["power.data-reach"].verdict == "warn"
    assert found["power.data-reach"].measured == 2
    assert found["power.zones-apart"].verdict == "pass"
    rows = {row["name"]: row for row in address_rows(layout, wired)}
    assert (rows["C"]["leds"], rows["C"]["zone"], rows["C"]["volts"]) == (0, None, None)
    assert rows["D"]["first_led"] == rows["A"]["leds"] + rows["B"]["leds"]  # type: ignore[operator]


def test_a_cover_at_the_end_changes_nothing_for_the_others() -> None:
    """The same volts as without it, but no inlet leaves by the edge that it covers."""
    cells = [(0, 0), (1, 0), (2, 0)]
    layout, wired, power = fed(cells, [(3, 0)])
    _, bare, _ = fed(cells, [])
    assert wired.volts == pytest.approx(bare.volts, abs=1e-12)
    assert "power.data-reach" in {v.id for v in checks(layout, wired, power) if v.verdict == "pass"}
    shut = {("C", 0)}
    assert not shut & {(zone.inlet_panel, zone.inlet_edge) for zone in wired.zones}


def test_covers_all_round_leave_no_way_for_a_cable() -> None:
    """A lit panel inside a ring of covers has no open edge at all."""
    ring = [(1, 0), (0, 1), (-1, 1), (-1, 0), (0, -1), (1, -1)]
    with pytest.raises(InputError, match="no open edge"):
        fed([(0, 0)], ring)


def test_an_inlet_on_a_cover_is_refused() -> None:
    with pytest.raises(InputError, match="panel C is a blank cover"):
        fed([(0, 0), (1, 0)], [(2, 0)], asking(inlet=("A", "C")))


def test_a_wall_of_covers_only_needs_no_power() -> None:
    layout, wired, power = fed([], [(0, 0), (1, 0)])
    assert wired.zones == ()
    assert wired.inlets == {}
    assert wired.lowest == ("", 0.0)
    assert wired.hottest is None
    assert checks(layout, wired, power) == []
    assert (wired.brightness, wired.aim, wired.least_zones, wired.residual_a) == (0.3, 0.3, 0, 0.0)
    assert wired.zone_limit_a == pytest.approx(power.supply_a * power.derate)
    assert [(w.supply_a, w.ground_a, w.pin_a) for w in wired.wiring] == [(0.0, 0.0, 0.0)]
    bright = fed([], [(0, 0), (1, 0)], asking(brightness=None))[1]
    assert (bright.brightness, bright.possible, bright.possible_by) == (1.0, 1.0, "full")
    assert what_if(layout, wired, power, DESIGNS) == ()
    assert [row["kind"] for row in joint_rows(layout, wired)] == ["none"]
    assert plan_page(layout, wired).width == 180.0


def test_the_plan_shows_covers_as_blank() -> None:
    layout, wired, power = fed([(0, 0), (1, 0)], [(2, 0)])
    page = plan_page(layout, wired, cable_runs(layout, wired, power, DESIGNS))
    titles = [getattr(item, "title", "") for item in page.items]
    assert "C: a blank cover, no supply" in titles
    assert len([title for title in titles if re.search(r"\w+ to \w+: ", title)]) == 1
    assert all(math.isfinite(volts) for volts in wired.volts.values())


def test_a_cover_may_have_another_inlet_than_the_rest() -> None:
    """What a blank cover says of inlets and pins does not count."""
    odd = DESIGNS | {"cover": replace(DESIGNS["cover"], inlet=InletParams(kind="round"))}
    layout = mixed([(0, 0), (1, 0)], [(2, 0)])
    assert (
        wire(layout, loads(layout, PLANS), asking(), odd).volts
        == fed([(0, 0), (1, 0)], [(2, 0)])[1].volts
    )
