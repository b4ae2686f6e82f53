"""Whole walls: zones really apart by the lists, volts as a second calculation finds them, fixed
inlets.
"""

from __future__ import annotations

import math
import random
from dataclasses import replace
from itertools import pairwise
from typing import Any

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fab.params.panel import HeaderParams, LedParams
from fab.power.model import HeatCap
from fab.power.tables import joint_rows
from fab.power.whatif import what_if
from fab.power.wire import wire
from fab.power.zones import part

from .walls import (
    NINE,
    BruteForce,
    asking,
    design,
    loads,
    no_loss,
    problem_of,
    random_cells,
    second_opinion,
    wall,
)

PANEL = design()
DESIGNS = {"panel": PANEL}


def supply_graph(layout: Any, rows: Any) -> nx.Graph:
    """What the header list says about the supply."""
    graph = nx.Graph([(row["a"], row["b"]) for row in rows if row["kind"] == "header"])
    graph.add_nodes_from(layout.by_name)
    return graph


@settings(max_examples=25, deadline=None)
@given(
    count=st.integers(1, 16),
    seed=st.integers(0, 100_000),
    sides=st.sampled_from([3, 4, 6]),
    leds=st.integers(20, 50),
)
def test_the_lists_describe_a_wall_that_works(count: int, seed: int, sides: int, leds: int) -> None:
    """On the graph of the header list: zones are the pieces, one inlet each, data everywhere; volts
    by a second way.
    """
    panel = design(sides)
    layout = wall(random_cells(count, seed, sides), panel)
    power = asking()
    wired = wire(layout, loads(layout, leds), power, {"panel": panel})
    rows = joint_rows(layout, wired)
    graph = supply_graph(layout, rows)
    assert {frozenset(piece) for piece in nx.connected_components(graph)} == {
        frozenset(z.panels) for z in wired.zones
    }
    assert sorted(name for zone in wired.zones for name in zone.panels) == sorted(layout.by_name)
    assert all(zone.inlet_panel in zone.panels for zone in wired.zones)
    assert all(zone.current_a <= 2.4 + 1e-9 for zone in wired.zones)
    assert wired.residual_a < 1e-9
    volts, flows, inlets = second_opinion(layout, wired, power, panel, rows)
    assert wired.volts == pytest.approx(volts, abs=1e-9)
    assert [zone.current_a for zone in wired.zones] == pytest.approx(inlets, abs=1e-9)
    for row, wiring in zip(rows, wired.wiring, strict=True):
        assert wiring.ground_a == pytest.approx(flows[row["number"], "ground"], abs=1e-8)
        assert wiring.supply_a == pytest.approx(flows.get((row["number"], "supply"), 0.0), abs=1e-8)  # type: ignore[arg-type]


@settings(max_examples=15, deadline=None)
@given(count=st.integers(2, 9), seed=st.integers(0, 100_000))
def test_fewest_zones_of_a_wall_equal_brute_force(count: int, seed: int) -> None:
    """By the supply alone: hardly any resistance, and every panel by itself may carry an inlet
    where it has room.
    """
    panel = no_loss()
    layout = wall(random_cells(count, seed), panel)
    dice = random.Random(seed)
    many = loads(layout, [dice.choice((19, 37, 50)) for _ in layout.panels], panel)
    wired = wire(layout, many, asking(supply_a=2.0, brightness=0.5), {"panel": panel})
    problem = problem_of(layout, many, asking(), panel)
    assert len(wired.zones) == BruteForce(problem.graph, 1.6).fewest(0.5)
    assert wired.exact
    assert wired.gap == 0


@pytest.mark.slow
def test_the_inlet_sits_where_the_worst_volts_are_best() -> None:
    """Every other place in each zone, tried with `power.inlet`, gives no better worst volts."""
    layout = wall(NINE)
    many = loads(layout)
    for count in (1, 2):
        wired = wire(layout, many, asking(inlets=count, brightness=0.1), DESIGNS)
        best = wired.lowest[1]
        others = [name for zone in wired.zones for name in zone.panels]
        for name in others:
            names = tuple(name if name in zone.panels else zone.inlet_panel for zone in wired.zones)
            moved = wire(layout, many, asking(inlet=names, brightness=0.1), DESIGNS)
            if {frozenset(z.panels) for z in moved.zones} == {
                frozenset(z.panels) for z in wired.zones
            }:
                assert (
                    moved.lowest[1] <= best + 1e-4
                )  # 1e-4: zones were weighed one by one, their ground is shared


@pytest.mark.parametrize("inlets", [("A",), ("A", "I"), ("A", "C", "H")])
def test_fixed_inlets_give_the_brightness_that_is_possible(inlets: str) -> None:
    """Each named panel feeds one zone; no other sharing of the panels among them shines brighter
    (by brute force).
    """
    panel = no_loss()
    layout = wall(NINE, panel)
    many = loads(layout, 37, panel)
    wired = wire(layout, many, asking(inlet=inlets, supply_a=1.5), {"panel": panel})
    assert sorted(zone.inlet_panel for zone in wired.zones) == sorted(inlets)
    graph = problem_of(layout, many, asking(inlet=inlets), panel).graph
    best = BruteForce(graph, 1.2).brightest(len(inlets))
    assert wired.possible == pytest.approx(min(best, 1.0), abs=1e-6)
    assert wired.possible_by == ("supply" if best < 1 else "full")


@pytest.mark.parametrize("load", ["current", "power"])
@pytest.mark.parametrize(
    "changes",
    [
        {"inlets": 2},
        {"inlets": 1, "supply_a": 50.0, "cable_ohm_per_m": 0.3},
        {"inlets": 1, "supply_a": 50.0, "cable_ohm_per_m": 0.0},
    ],
)
def test_the_possible_brightness_is_where_the_first_limit_is_met(load: str, changes: Any) -> None:
    """At it everything holds, a thousandth above something gives: supply, volts and pins in
    turn.
    """
    power = asking(brightness=0.05, load=load, **changes)
    panel = (
        design(header=HeaderParams(pins=5, ground_pins=2, pin_a=1.0))
        if changes.get("cable_ohm_per_m") == 0
        else PANEL
    )
    layout = wall(NINE, panel)
    problem = problem_of(layout, loads(layout), power, panel)
    tried = problem.attempt(part(problem.graph, problem.limit_a, 0.05, power.inlets))
    possible, stop = problem.brightest(tried, HeatCap())
    assert 0.05 < possible < 1
    assert stop == {None: "supply", 0.3: "volts", 0.0: "pins"}[changes.get("cable_ohm_per_m")]

    def worst(brightness: float) -> dict[str, float]:
        state = problem.state_at(tried, brightness)
        assert state is not None
        return {
            "supply": float(state.inlet_a.max()) - problem.limit_a,
            "volts": 3.7 - float((state.supply_v - state.ground_v).min()),
            "pins": (
                max(
                    max(abs(float(s)), abs(float(g)) / 2)
                    for s, g in zip(state.supply_a, state.ground_a, strict=True)
                )
                - panel.header.pin_a
            ),
        }

    assert all(over <= 1e-6 for over in worst(possible).values())
    assert worst(possible + 1e-3)[stop] > 0


def test_more_zones_are_made_when_the_pins_ask_for_them() -> None:
    """A strong supply would feed all nine from one inlet, but one pin would carry too much: the
    fewest that hold.
    """
    panel = design(header=replace(PANEL.header, pin_a=1.2))
    layout = wall(NINE, panel)
    power = asking(supply_a=30.0, brightness=0.8, cable_ohm_per_m=0.01)
    wired = wire(layout, loads(layout), power, {"panel": panel})
    assert wired.least_zones == 1
    assert len(wired.zones) > 1
    assert wired.raised_by == "pins"
    assert wired.hottest.pin_a <= 1.2
    fewer = wire(
        layout, loads(layout), replace(power, inlets=len(wired.zones) - 1), {"panel": panel}
    )
    assert fewer.hottest.pin_a > 1.2


def test_groups_that_stand_apart_get_their_own_inlets() -> None:
    layout = wall([(0, 0), (1, 0), (5, 0), (6, 0)], groups="separate")
    wired = wire(layout, loads(layout, 10), asking(supply_a=3.0), DESIGNS)
    assert [zone.panels for zone in wired.zones] == [("A", "B"), ("C", "D")]
    assert wired.least_zones == 2
    assert wired.residual_a < 1e-9


def test_constant_power_never_passes_the_supply() -> None:
    """A converter draws more as its volts fall: zones are made smaller until the inlets hold."""
    layout = wall(NINE)
    for leds in (37, 42, 50):
        wired = wire(layout, loads(layout, leds), asking(load="power"), DESIGNS)
        nominal = {load.panel: load.at(0.3) for load in wired.loads}
        assert all(zone.current_a <= 2.4 + 1e-9 for zone in wired.zones)
        assert all(
            zone.current_a > sum(nominal[name] for name in zone.panels) for zone in wired.zones
        )


def test_loads_that_the_wires_can_not_pass_are_told_as_collapsed() -> None:
    panel = design(led=LedParams(least_v=1.0))
    layout = wall([(q, 0) for q in range(6)], panel)
    power = asking(load="power", supply_a=100.0, brightness=1.0, cable_ohm_per_m=5.0, inlets=1)
    wired = wire(layout, loads(layout), power, {"panel": panel})
    assert wired.collapsed
    assert wired.possible < 1
    assert wired.possible_by in ("volts", "supply", "pins")


def test_the_defaults_feed_nine_hexagons_with_margin() -> None:
    """37 to 50 LEDs each: two or three inlets, no limit nearer than a tenth of what is left
    to it.
    """
    layout = wall(NINE)
    for leds, inlets in ((37, 2), (43, 3), (50, 3)):
        wired = wire(layout, loads(layout, leds), asking(), DESIGNS)
        assert len(wired.zones) == inlets
        assert wired.possible >= 0.3
        assert wired.lowest[1] > 4.5
        assert wired.hottest.pin_a < 1.0
        assert all(zone.inlet.usable for zone in wired.zones)


def test_a_single_panel_has_one_zone_and_no_joint() -> None:
    layout = wall([(0, 0)])
    wired = wire(layout, loads(layout), asking(), DESIGNS)
    entry = 0.15 + 2 * 6 * 1.7241e-8 / 35e-6
    assert wired.volts["A"] == pytest.approx(5 - entry * (0.08 + 0.3 * 37 * 0.036), abs=1e-9)
    assert wired.hottest is None
    assert wired.wiring == ()


def test_what_if_tells_what_each_number_of_inlets_gives() -> None:
    """Never dimmer with more inlets; each row as `power.inlets` finds it."""
    layout = wall(NINE)
    many = loads(layout)
    rows = what_if(layout, wire(layout, many, asking(inlets=2), DESIGNS), asking(), DESIGNS)
    assert [row.inlets for row in rows] == [1, 2, 3, 4]
    assert all(a.possible <= b.possible + 1e-9 for a, b in pairwise(rows))
    for row in rows:
        wired = wire(layout, many, asking(inlets=row.inlets, brightness=row.possible), DESIGNS)
        assert wired.possible == pytest.approx(row.possible, abs=1e-6)
        assert wired.lowest[1] == pytest.approx(row.lowest_v, abs=1e-6)
        assert wired.hottest.pin_a == pytest.approx(row.hottest_pin_a, abs=1e-6)
        assert row.inlet_a <= 2.4 + 1e-9  # type: ignore[operator]
    assert math.isclose(rows[0].possible, (2.4 - 9 * 0.08) / (9 * 37 * 0.036), rel_tol=1e-9)


def test_a_row_that_can_not_even_feed_dark_panels_says_so() -> None:
    layout = wall(NINE)
    power = asking(supply_a=0.5)
    rows = what_if(layout, wire(layout, loads(layout), power, DESIGNS), power, DESIGNS)
    assert rows[0].possible == 0.0
    assert rows[0].lowest_v is None
    assert rows[-1].possible > 0


def test_the_same_job_gives_the_same_wiring() -> None:
    layout = wall(random_cells(25, 11))
    first, second = (wire(layout, loads(layout), asking(), DESIGNS) for _ in range(2))
    assert first == second


def test_the_ground_pins_count_as_well() -> None:
    """Two pins for supply and one for the way back: the one carries all, and it is what ends the
    brightness.
    """
    header = HeaderParams(pins=5, power_pins=2, ground_pins=1, pin_a=0.6)
    panel = design(header=header)
    layout = wall([(q, 0) for q in range(4)], panel)
    power = asking(inlet=("A",), supply_a=20.0, brightness=0.05, cable_ohm_per_m=0.0)
    wired = wire(layout, loads(layout), power, {"panel": panel})
    assert wired.hottest.pin_a == pytest.approx(3 * (0.08 + 0.05 * 1.332), abs=1e-9)
    assert wired.possible_by == "pins"
    assert wired.possible == pytest.approx((0.6 / 3 - 0.08) / 1.332, abs=1e-9)
