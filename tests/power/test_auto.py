"""Brightness "auto": the highest whole per cent at which no check of power and heat fails, with as
few inlets as reach the aim.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fab.checks.heat import heat_checks
from fab.checks.power import power_checks
from fab.params.shop import Filament, Shop, Stock
from fab.parts.planning import plan
from fab.power import heat
from fab.power.fed_wall import FedWall
from fab.power.whatif import what_if
from fab.power.wire import AIM, wire
from fab.units import percent

from .walls import NINE, asking, design, loads, random_cells, wall

PANEL = design()
PLANS = {"panel": plan(PANEL, Shop(stock={"opal-3": Stock()}))}
DESIGNS = {"panel": PANEL}


def verdicts(layout: Any, power: Any, many: Any, filament: Any) -> Any:
    """All checks of a wall at its brightness, and the wired wall."""
    cap = heat.aimed_cap(layout, many, PLANS, filament, power)
    wired = wire(layout, many, power, DESIGNS, heat=cap)
    heats = heat.panel_heat(
        layout,
        many,
        PLANS,
        filament,
        supply_v=power.supply_v,
        brightness=wired.brightness,
        ambient_c=power.ambient_c,
    )
    settled = replace(power, brightness=wired.brightness)
    found = power_checks(FedWall(wired, layout, power, DESIGNS))
    return [*found, *heat_checks(heats, layout, PLANS, filament, settled, wired.possible)], wired


def failing(found: Any) -> Any:
    return {verdict.id for verdict in found if verdict.verdict == "fail"}


def warm(found: Any) -> Any:
    """Whether the heat is at its limit, or so near that it warns."""
    return any(verdict.id == "heat.rise" and verdict.verdict != "pass" for verdict in found)


@pytest.mark.slow
@settings(max_examples=12, deadline=None)
@given(
    count=st.integers(1, 12),
    seed=st.integers(0, 10_000),
    leds=st.integers(20, 50),
    softens=st.floats(58.0, 110.0),
    cable=st.floats(0.02, 0.4),
    supply=st.sampled_from([0.9, 1.5, 3.0]),
)
def test_no_check_fails_or_warns_of_heat_at_it_and_one_does_a_per_cent_above(
    count: int, seed: int, leds: int, softens: float, cable: float, supply: Any
) -> None:
    layout = wall(random_cells(count, seed))
    many, filament = loads(layout, leds), Filament(softens_c=softens)
    power = asking(brightness=None, cable_ohm_per_m=cable, supply_a=supply)
    found, wired = verdicts(layout, power, many, filament)
    if wired.possible < 0.01:
        assert "power.brightness" in failing(found)
        return
    assert not failing(found) - {"power.brightness"}
    clear = heat.heat_cap(layout, many, PLANS, filament, power.ambient_c, heat.MARGIN_K)
    assert not warm(found) or clear.brightness(power.supply_v) < 0.01
    assert wired.brightness == pytest.approx(round(wired.brightness * 100) / 100)
    if wired.brightness < 1.0:
        names = tuple(zone.inlet_panel for zone in wired.zones)
        brighter = replace(power, brightness=round(wired.brightness + 0.01, 2), inlet=names)
        cap = heat.heat_cap(layout, many, PLANS, filament, power.ambient_c)
        again = wire(layout, many, brighter, DESIGNS, heat=cap)
        if {zone.panels for zone in again.zones} == {zone.panels for zone in wired.zones}:
            above, _ = verdicts(layout, brighter, many, filament)
            assert failing(above) or warm(above)


@settings(max_examples=12, deadline=None)
@given(count=st.integers(2, 14), seed=st.integers(0, 10_000), softens=st.floats(58.0, 110.0))
def test_as_few_inlets_as_reach_the_aim(count: int, seed: int, softens: float) -> None:
    """The same number as for a wish of that brightness, and one inlet fewer does not reach it."""
    layout = wall(random_cells(count, seed))
    many, filament = loads(layout), Filament(softens_c=softens)
    cap = heat.heat_cap(layout, many, PLANS, filament, 40.0)
    wired = wire(layout, many, asking(brightness=None), DESIGNS, heat=cap)
    limit = math.floor(min(AIM, cap.brightness(5.0)) * 100 + 1e-9) / 100
    if limit < 0.01:
        return
    assert wired.aim == pytest.approx(limit)
    assert wired.brightness >= limit - 1e-9
    asked = wire(layout, many, asking(brightness=limit), DESIGNS, heat=cap)
    assert len(wired.zones) == len(asked.zones)
    if len(wired.zones) > 1:
        fewer = wire(
            layout, many, asking(brightness=limit, inlets=len(wired.zones) - 1), DESIGNS, heat=cap
        )
        assert fewer.possible < limit


@pytest.mark.slow
def test_every_figure_of_what_would_be_possible_passes_the_heat_check() -> None:
    """Rows for other numbers of inlets: none is brighter than heat allows, and each passes every
    check.
    """
    layout, filament = wall(NINE), Filament(softens_c=66.0)
    many = loads(layout)
    cap = heat.heat_cap(layout, many, PLANS, filament, 40.0)
    wired = wire(layout, many, asking(brightness=None), DESIGNS, heat=cap)
    rows = what_if(layout, wired, asking(brightness=None), DESIGNS)
    assert any(row.by == "heat" for row in rows)
    for row in rows:
        assert row.possible <= cap.brightness(5.0) + 1e-9
        told = math.floor(row.possible * 100) / 100
        found, _ = verdicts(layout, asking(inlets=row.inlets, brightness=told), many, filament)
        assert not failing(found)


def test_a_wish_is_checked_and_not_changed() -> None:
    layout = wall(NINE)
    wired = wire(layout, loads(layout), asking(brightness=0.9, inlets=1), DESIGNS)
    assert wired.brightness == 0.9
    assert wired.possible < 0.9


def test_what_limits_it_is_told() -> None:
    layout = wall(NINE)
    found, wired = verdicts(
        layout, asking(brightness=None, inlets=1), loads(layout), Filament(softens_c=200.0)
    )
    told = next(verdict for verdict in found if verdict.id == "power.brightness")
    assert wired.possible_by == "supply"
    assert "limited by the supply" in told.says
    assert percent(wired.brightness) in told.says
