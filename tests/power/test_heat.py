"""Temperatures against published correlations and worked examples, and against the heat balance
itself.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fab.checks.heat import heat_checks
from fab.params.shop import Filament, Shop, Stock
from fab.parts.planning import plan
from fab.power import heat
from tests.cases import few

from .walls import FLOWER, NINE, asking, design, loads, wall

PANEL = design()
SHOP = Shop(stock={"opal-3": Stock()})
PLANS = {"panel": plan(PANEL, SHOP)}


def temperatures_of(cells: Any, brightness: Any = 0.3, leds: Any = 37, **changes: Any) -> Any:
    layout = wall(cells)
    settings_ = {"supply_v": 5.0, "ambient_c": 40.0, **changes}
    return layout, heat.panel_heat(
        layout, loads(layout, leds), PLANS, SHOP.filament, brightness=brightness, **settings_
    )


def test_the_upright_plate_is_the_published_correlation() -> None:
    """Ra = 2.63e9 * 0.69 -> Nu 147.16: documentation of the library `ht`, which took it from a heat
    transfer textbook (example 9.2, Nu = 147). Ra = 5.503e8, Pr = 0.7256 -> Nu 102.6: a course's
    solution 9-19E, hot plate 2 ft high.
    """
    assert heat.plate_nusselt(2.63e9 * 0.69, 0.69) == pytest.approx(147.16185223770603, abs=1e-9)
    assert heat.plate_nusselt(5.503e8, 0.7256) == pytest.approx(102.6, abs=0.05)


def test_a_glass_door_before_a_fire() -> None:
    """The same textbook example 9.2, from memory: 0.71 m by 1.02 m, 232 degC, room 23 degC: h = 7.0
    W/m2K, 1060 W.
    """
    h = heat.plate_h(232 + heat.KELVIN, 23 + heat.KELVIN, 0.71)
    assert h == pytest.approx(7.0, rel=0.02)
    assert h * 0.71 * 1.02 * 209 == pytest.approx(1060, rel=0.02)


def test_air_is_the_table_at_its_rows() -> None:
    for kelvin, viscosity, conductivity, diffusivity in heat.AIR:
        assert heat.air_at(kelvin) == pytest.approx(
            (viscosity, conductivity, diffusivity), rel=1e-12
        )
    assert heat.air_at(325.0)[1] == pytest.approx((26.3e-3 + 30.0e-3) / 2)


def test_a_still_gap_only_conducts_and_radiates() -> None:
    """So narrow that air stands still: q = k dT / d + sigma (T1^4 - T2^4) / (2 / e - 1), by
    hand.
    """
    hot, cold, gap = 330.0, 320.0, 0.002
    k = heat.air_at(325.0)[1]
    radiation = 5.670374419e-8 * (hot**4 - cold**4) / (2 / 0.9 - 1)
    assert heat.across(hot, cold, 0.15, gap) == pytest.approx(k * 10 / gap + radiation, rel=1e-9)
    assert heat.gap_nusselt(100.0, 0.7, 5.0) == 1.0
    assert heat.gap_nusselt(1e6, 0.7, 5.0) > 4


@settings(max_examples=40, deadline=None)
@given(
    flux=st.floats(1.0, 600.0),
    room=st.floats(-10.0, 50.0),
    high=st.floats(0.1, 3.0),
    gap=st.floats(0.003, 0.06),
    sheet=st.floats(0.001, 0.006),
)
def test_the_same_heat_passes_every_layer(
    flux: float, room: float, high: float, gap: float, sheet: float
) -> None:
    face, warm, board = heat.temperatures(flux, room, high, gap, sheet)
    assert heat.loss(face + heat.KELVIN, room + heat.KELVIN, high) == pytest.approx(flux, rel=1e-6)
    assert (warm - face) * heat.SHEET_W_MK / sheet == pytest.approx(flux, rel=1e-6)
    assert heat.across(board + heat.KELVIN, warm + heat.KELVIN, high, gap) == pytest.approx(
        flux, rel=1e-6
    )
    assert room < face < warm < board


def test_a_panel_in_the_middle_is_the_warmest() -> None:
    """Joined edges give no heat off: with six neighbours only the front is left."""
    layout, found = temperatures_of(FLOWER)
    centre = next(p.name for p in layout.panels if p.lattice == (0, 0))
    assert max(found, key=lambda h: h.print_c).panel == centre
    by_name = {h.panel: h for h in found}
    cell = PLANS["panel"].cell
    assert by_name[centre].face_m2 == pytest.approx(6 * cell.edge * cell.apothem / 2 / 1e6)
    assert by_name["A"].face_m2 == pytest.approx(
        (6 * cell.edge * cell.apothem / 2 + 3 * cell.edge * PLANS["panel"].params.depth) / 1e6
    )


@pytest.mark.parametrize(
    "change", few([{"brightness": 0.4}, {"ambient_c": 45.0}, {"leds": 50}, {"supply_v": 5.5}], 0)
)
def test_more_of_anything_is_warmer(change: Any) -> None:
    _, base = temperatures_of(NINE)
    _, more = temperatures_of(NINE, **change)
    assert all(
        b.print_c > a.print_c and b.sheet_c > a.sheet_c for a, b in zip(base, more, strict=True)
    )


@pytest.mark.slow
@settings(max_examples=10, deadline=None)
@given(leds=st.integers(15, 90), softens=st.floats(50.0, 110.0), service=st.floats(45.0, 110.0))
def test_at_its_cap_a_panel_is_just_at_the_limit(leds: int, softens: float, service: float) -> None:
    layout = wall(NINE)
    filament = Filament(softens_c=softens)
    plans = {"panel": replace(PLANS["panel"], stock=Stock(service_c=service))}
    args = {"supply_v": 5.0, "ambient_c": 40.0}
    found = heat.panel_heat(layout, loads(layout, leds), plans, filament, brightness=0.3, **args)
    worst = min(found, key=lambda h: h.cap)
    if worst.cap == 0:
        return
    (at_cap,) = (
        h
        for h in heat.panel_heat(
            layout, loads(layout, leds), plans, filament, brightness=worst.cap, **args
        )
        if h.panel == worst.panel
    )
    over = {"print": at_cap.print_c - softens, "sheet": at_cap.sheet_c - service}
    assert over[worst.cap_by] == pytest.approx(0.0, abs=1e-3)
    assert all(value <= 1e-3 for value in over.values())


def verdicts(leds: Any, power: Any, filament: Any = None, stock: Any = None) -> Any:
    layout = wall(NINE)
    plans = {"panel": replace(PLANS["panel"], stock=stock or Stock())}
    filament = filament or Filament()
    found = heat.panel_heat(
        layout,
        loads(layout, leds),
        plans,
        filament,
        supply_v=power.supply_v,
        brightness=power.brightness,
        ambient_c=power.ambient_c,
    )
    return heat_checks(found, layout, plans, filament, power)


def test_the_defaults_stay_cool_with_37_to_50_leds() -> None:
    for leds in (37, 43, 50):
        assert all(v.verdict != "fail" for v in verdicts(leds, asking()))
    assert all(v.verdict == "pass" for v in verdicts(37, asking()))


@pytest.mark.parametrize(
    ("filament", "stock", "what"),
    [
        (Filament(softens_c=58.0), Stock(), "print"),
        (Filament(softens_c=200.0), Stock(service_c=50.0), "sheet"),
    ],
)
def test_too_warm_fails_and_the_brightness_named_passes(
    filament: Any, stock: Any, what: str
) -> None:
    power = asking()
    failed = [v for v in verdicts(43, power, filament, stock) if v.verdict == "fail"]
    assert [v.subject.split()[0] for v in failed] == [what]
    assert failed[0].id == "heat.rise"
    assert "estimate" in failed[0].says
    named = float(failed[0].remedy.removeprefix("Set power.brightness = ").removesuffix("."))
    cured = verdicts(43, replace(power, brightness=named), filament, stock)
    assert all(v.verdict != "fail" for v in cured)
    brighter = verdicts(43, replace(power, brightness=named + 0.011), filament, stock)
    assert any(v.verdict == "fail" for v in brighter)


def test_a_room_that_is_too_warm_for_dark_panels() -> None:
    failed = [
        v
        for v in verdicts(37, asking(ambient_c=70.0), Filament(softens_c=71.0))
        if v.verdict == "fail"
    ]
    assert "Even dark panels become too warm" in failed[0].remedy


def test_near_the_limit_is_a_warning() -> None:
    have = next(v.measured for v in verdicts(37, asking()) if v.subject.startswith("print"))
    near = verdicts(37, asking(), Filament(softens_c=have + 2.0))
    assert [v.verdict for v in near] == ["warn", "pass"]
