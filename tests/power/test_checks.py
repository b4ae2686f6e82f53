"""Every check provoked, its remedy followed, and then passing."""

from __future__ import annotations

import re
from dataclasses import fields, replace
from typing import Any

import pytest

from fab.checks.power import power_checks
from fab.params.panel import HeaderParams, InletParams, LedParams
from fab.power.cables import cable_runs
from fab.power.fed_wall import FedWall
from fab.power.pins import nearest_order, pin_order, stray_pins
from fab.power.wire import wire
from tests.cases import few

from .walls import NINE, asking, design, loads, wall

ROUND = InletParams(kind="round")
WEAK = HeaderParams(pins=5, ground_pins=2, pin_a=0.8)


def check(power: Any, panel: Any = None, cells: Any = NINE, leds: Any = 37, **params: Any) -> Any:
    panel = panel or design()
    layout = wall(cells, panel, **params)
    wired = wire(layout, loads(layout, leds, panel), power, {"panel": panel})
    runs = cable_runs(layout, wired, power, {"panel": panel})
    return power_checks(FedWall(wired, layout, power, {"panel": panel}), runs)


def failing(found: Any, word: Any = "fail") -> dict[str, Any]:
    return {v.id: v for v in found if v.verdict == word}


def apply(power: Any, panel: Any, remedy_part: str) -> Any:
    """One alternative of a remedy, put into the parameters."""
    for key, value in re.findall(r'([\w.]+) = (\[.*?\]|\d+(?:\.\d+)?|"\w+")', remedy_part):
        holder, *path = key.split(".")
        plain = value.strip('"') if value.startswith('"') else value
        if holder == "power":
            name = path[0]
            if value.startswith("["):
                made = tuple(re.findall(r'"(\w+)"', value))
            else:
                made = int(plain) if name == "inlets" else float(plain)  # type: ignore[assignment]
            power = replace(power, **{name: made})
        else:
            assert holder == "panel"
            section = getattr(panel, path[0])
            kind = {f.name: f.type for f in fields(section)}[path[1]]
            made = int(plain) if kind == "int" else plain if kind == "str" else float(plain)  # type: ignore[assignment]
            panel = replace(panel, **{path[0]: replace(section, **{path[1]: made})})
    return power, panel


def test_the_defaults_pass() -> None:
    for leds in (37, 43, 50):
        assert {v.verdict for v in check(asking(), leds=leds)} == {"pass"}


@pytest.mark.parametrize(
    ("check_id", "power", "panel"),
    few(
        [
            ("power.zone-supply", asking(inlets=1), design()),
            ("power.zone-supply", asking(inlets=2, supply_a=1.5), design()),
            ("power.zone-supply", asking(inlet=("A", "B"), brightness=0.5), design()),
            ("power.volts", asking(inlets=2, cable_ohm_per_m=0.6), design()),
            ("power.volts", asking(inlets=2, cable_mm=9000.0), design()),
            (
                "power.pin-current",
                asking(inlets=2, supply_a=30.0, brightness=0.6),
                design(header=WEAK, inlet=ROUND),
            ),
        ],
        0,
    ),
)
def test_each_way_out_that_is_named_leads_out(check_id: str, power: Any, panel: Any) -> None:
    found = failing(check(power, panel))
    assert check_id in found
    ways = found[check_id].remedy.removeprefix("Set ").removesuffix(".").split(", or ")
    assert any(way.startswith("power.brightness = ") for way in ways)
    for way in ways:
        cured = check(*apply(power, panel, way))
        assert not failing(cured), way


@pytest.mark.slow
def test_the_brightness_named_is_the_highest_in_hundredths() -> None:
    power = asking(inlets=1)
    remedy = failing(check(power))["power.zone-supply"].remedy
    named = float(re.search(r"power.brightness = ([\d.]+)", remedy).group(1))
    assert not failing(check(replace(power, brightness=named)))
    assert failing(check(replace(power, brightness=named + 0.01)))


def test_little_to_spare_over_the_least_volts_is_a_warning() -> None:
    lowest = next(v.measured for v in check(asking()) if v.id == "power.volts")
    near = check(asking(), design(led=LedParams(least_v=lowest - 0.1)))
    assert failing(near, "warn").keys() == {"power.volts"}


@pytest.mark.slow
def test_loads_that_break_the_volts_down() -> None:
    power = asking(load="power", supply_a=50.0, brightness=1.0, cable_ohm_per_m=3.0, inlets=1)
    found = failing(check(power, design(inlet=ROUND)))
    assert "collapses" in found["power.volts"].says


def test_pins_that_do_not_mate() -> None:
    """One supply pin and one ground pin in four: whatever the order, supply or ground meets another
    kind.
    """
    panel = design(header=HeaderParams(pins=4, power_pins=1, ground_pins=1))
    found = failing(check(asking(), panel))
    assert found["power.pin-order"].measured == 2
    power, cured = apply(asking(), panel, found["power.pin-order"].remedy)
    assert not failing(check(power, cured))
    assert cured.header.pins == 5


def test_pin_orders_read_the_same_from_both_ends() -> None:
    seen = 0
    for pins in range(2, 11):
        for power in range(1, pins):
            for ground in range(1, pins):
                header = HeaderParams(pins=pins, power_pins=power, ground_pins=ground)
                order = pin_order(header)
                if order is None:
                    assert stray_pins(header) or pins - power - ground < 1
                    continue
                seen += 1
                assert order == order[::-1]
                assert (order.count("supply"), order.count("ground"), len(order)) == (
                    power,
                    ground,
                    pins,
                )
                assert order[0] == "ground" or ground == 1
                assert nearest_order(header) == (pins, power, ground)
    assert seen > 20
    assert pin_order(HeaderParams(pins=5, power_pins=1, ground_pins=2)) == (
        "ground",
        "data",
        "supply",
        "data",
        "ground",
    )


def test_no_pin_left_for_data() -> None:
    found = failing(
        check(asking(), design(header=HeaderParams(pins=4, power_pins=2, ground_pins=2)))
    )
    assert "no pin for data" in found["power.pin-order"].says


def test_an_inlet_without_room() -> None:
    """Two squares 150 mm apart; the cable wants 200 mm. The panel named instead has room."""
    panel = design(4, inlet=InletParams(room=200.0))
    cells = [(0, 0), (2, 0), (2, 1), (0, 1), (1, 1)]
    layout = wall(cells, panel)
    inner = next(p.name for p in layout.panels if p.lattice == (1, 1))
    top = check(asking(inlet=(inner,), brightness=0.05), panel, cells)
    assert not failing(top)  # its upper edge is free
    ring = [(a, b) for a in range(-1, 2) for b in range(-1, 2) if (a, b) not in ((0, 0), (1, 0))]
    layout = wall(ring, panel)
    west = next(p.name for p in layout.panels if p.lattice == (-1, 0))
    assert not failing(check(asking(inlet=(west,), brightness=0.05), panel, ring))
    frame = [
        (a, b)
        for a in range(-2, 3)
        for b in range(-2, 3)
        if max(abs(a), abs(b)) == 2 or (a, b) == (-1, 0)
    ]
    layout = wall(frame, panel)
    inside = next(p.name for p in layout.panels if p.lattice == (-1, 0))
    power = asking(inlet=(inside,), brightness=0.01, supply_a=20.0)
    found = failing(check(power, panel, frame))
    assert found["power.inlet-room"].measured == 0.0
    assert "a hole between panels" in found["power.inlet-room"].says
    cured, _ = apply(power, panel, found["power.inlet-room"].remedy)
    assert cured.inlet != power.inlet
    assert "power.inlet-room" not in failing(check(cured, panel, frame))


def test_a_yard_that_is_too_short_tells_how_long_it_is() -> None:
    """Every open edge has at most 150 mm before the next panel: the room that would do is named."""
    panel = design(4, inlet=InletParams(room=151.0))
    cells = [(0, 0), (2, 0), (0, 2), (-2, 0), (0, -2)]
    found = failing(check(asking(inlet=("C", "A", "B", "D", "E")), panel, cells, groups="separate"))
    room = found["power.inlet-room"]
    assert room.measured == pytest.approx(150.0)
    assert "Set panel.inlet.room = 150" in room.remedy
    shorter = replace(panel, inlet=InletParams(room=150.0))
    assert "power.inlet-room" not in failing(check(asking(), shorter, cells, groups="separate"))


def test_a_supply_that_type_c_does_not_give_is_a_warning() -> None:
    warned = [v for v in check(asking(supply_a=5.0, supply_v=9.0)) if v.verdict == "warn"]
    assert [v.id for v in warned] == ["power.supply-class"] * 2
    assert not [
        v
        for v in check(asking(supply_a=5.0, supply_v=9.0), design(inlet=ROUND))
        if v.id == "power.supply-class"
    ]


@pytest.mark.slow
def test_a_cable_that_does_not_reach() -> None:
    power = asking(socket=((0.0, -4000.0),))
    warned = failing(check(power), "warn")["power.cable"]
    assert 3500 < warned.measured < 5000
    cured, _ = apply(power, design(), warned.remedy)
    assert "power.cable" not in failing(check(cured), "warn")
    assert not [v for v in check(asking()) if v.id == "power.cable"]


def test_a_socket_under_a_panel_is_told() -> None:
    """20 mm inside the right edge of the last panel; and one beside the wall that is clear."""
    layout = wall([(0, 0), (1, 0)], design(4))
    last = layout.panels[-1]
    power = asking(socket=((last.x + 55.0, last.y), (0.0, -400.0)))
    found = [v for v in check(power, design(4), [(0, 0), (1, 0)]) if v.id == "power.socket"]
    assert [v.verdict for v in found] == ["warn", "pass"]
    assert found[0].measured == pytest.approx(20.0)
    assert "panel B" in found[0].remedy


def test_lists_that_do_not_describe_the_zones_are_found() -> None:
    """The audit reads the table of joints, not the program's mind: one wrong line either way, and
    it fails.
    """
    panel = design()
    layout = wall([(q, 0) for q in range(9)], panel)
    wired = wire(layout, loads(layout), asking(), {"panel": panel})
    for power_pins, wrong_panels in ((False, 9), (True, 1)):
        wrong = next(row for row in wired.table.rows if row.supply == power_pins)
        rows = tuple(
            replace(row, supply=not row.supply) if row is wrong else row for row in wired.table.rows
        )
        wrong_table = replace(wired, table=replace(wired.table, rows=rows))
        found = power_checks(FedWall(wrong_table, layout, asking(), {"panel": panel}))
        verdict = next(v for v in found if v.id == "power.zones-apart")
        assert verdict.verdict == "fail"
        assert verdict.measured >= wrong_panels


def test_grounds_that_differ_too_much_spoil_the_data() -> None:
    """A thin ground: data sent at one panel's rails is not read at the next."""
    panel = design(
        header=HeaderParams(pins=5, ground_pins=2, pin_ohm=1.5, pin_a=9.0),
        led=LedParams(least_v=1.0),
    )
    found = failing(
        check(
            asking(inlets=1, supply_a=9.0, brightness=0.25), panel, cells=[(q, 0) for q in range(6)]
        )
    )
    assert "power.logic" in found


def test_more_zones_than_the_supply_asks_for_are_explained() -> None:
    panel = design(header=HeaderParams(pins=5, ground_pins=2, pin_a=1.2), inlet=ROUND)
    found = check(asking(supply_a=30.0, brightness=0.8, cable_ohm_per_m=0.01), panel)
    zones = next(v for v in found if v.id == "power.zones")
    assert zones.verdict == "pass"
    assert "for the pins: 2" in zones.says
    assert not [v for v in check(asking(inlets=3)) if v.id == "power.zones"]


def test_every_verdict_has_its_source_and_its_caution() -> None:
    found = check(asking(inlets=1, socket=((0.0, -900.0),)))
    assert all(v.source for v in found)
    assert all(v.remedy for v in found if v.verdict != "pass")
    assert "licensed" in next(v.says for v in found if v.id == "power.zone-supply")


@pytest.mark.slow
@pytest.mark.parametrize("volts", [3.0, 3.6])
def test_a_supply_of_too_few_volts_is_told_the_usual_one(volts: float) -> None:
    """Under the LEDs' least volts no brightness helps: the remedy names the supply, and it
    passes.
    """
    power = asking(supply_v=volts)
    found = failing(check(power))["power.volts"]
    assert "power.supply_v = 5" in found.remedy
    assert not failing(check(replace(power, supply_v=5.0)))
