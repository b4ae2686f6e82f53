"""Inlets, fuses, wire, inrush and levels against published figures; the source stands beside
each.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from fab.checks.supply import supply_checks
from fab.params.panel import InletParams
from fab.power import supply
from fab.power.cables import FUSES_A, fuse_for
from fab.power.fed_wall import FedWall
from fab.power.limits import limits_of, logic_v
from fab.power.route import data_route
from fab.power.wire import wire

from .walls import NINE, asking, design, loads, wall


def verdicts(cells: Any = NINE, panel: Any = None, **power: Any) -> Any:
    panel = panel or design()
    layout, asked = wall(cells, panel), asking(**power)
    wired = wire(layout, loads(layout), asked, {"panel": panel})
    route = data_route(layout, wired.table, wired.blank, asked.control)
    return {v.id: v for v in supply_checks(FedWall(wired, layout, asked, {"panel": panel}), route)}


@pytest.mark.parametrize("class_a", [0.5, 0.9, 1.5, 3.0])
def test_pull_downs_of_ten_per_cent_read_every_class(class_a: float) -> None:
    """USB Type-C, sink CC termination: 5.1 kohm of 10 per cent tells the classes apart, of 20 per
    cent it does not
    (Rd table, as ST UM2191 repeats it)."""
    assert supply.cc_reading(class_a, 5100.0, 0.10).headroom_v >= 0
    assert supply.cc_reading(class_a, 5100.0, 0.01).headroom_v > 0
    assert supply.cc_reading(3.0, 5100.0, 0.20).headroom_v < 0


def test_currents_out_of_cc() -> None:
    """80 uA 20 %, 180 uA 8 %, 330 uA 8 %: ST UM2191 table 2."""
    assert supply.CC_UA == {
        0.5: (80.0, 0.2),
        0.9: (80.0, 0.2),
        1.5: (180.0, 0.08),
        3.0: (330.0, 0.08),
    }
    assert supply.cc_reading(3.0, 5100.0, 0.0).least_v == pytest.approx(330e-6 * 0.92 * 5100)


def test_a_missing_resistor_is_told() -> None:
    panel = design(inlet=InletParams(cc_ohm=0.0))
    assert verdicts(panel=panel)["power.cc"].verdict == "fail"
    assert verdicts()["power.cc"].verdict == "pass"


@pytest.mark.parametrize(
    ("draws", "gives", "rated"),
    [
        (1.9, 3.0, 2.0),
        (2.4, 3.0, 2.5),
        (2.0, 3.0, 2.5),
        (2.6, 3.0, None),
        (0.3, 0.5, None),
        (2.4, 2.5, None),
    ],
)
def test_a_fuse_opens_before_the_supply_gives_in(
    draws: float, gives: float, rated: float | None
) -> None:
    assert fuse_for(draws, gives) == rated
    if rated is not None:
        assert draws < rated < gives
        assert all(not draws < other < rated for other in FUSES_A)


def awg_mm2(gauge: int) -> float:
    """Area of an American gauge, mm2. ASTM B258: d = 0.127 mm x 92^((36 - n) / 39)."""
    diameter_mm: float = 0.127 * 92 ** ((36 - gauge) / 39)
    return math.pi / 4 * diameter_mm**2


def test_resistance_of_copper_wire() -> None:
    """IEC 60228: flexible class 5 wire of 0.5 mm2 has at most 39.0 ohm/km, of 1.0 mm2 19.5 at 20
    degC (from memory);
    pure copper of that section is a little better. AWG 20 has 0.518 mm2 (ASTM B258, from
    memory)."""
    assert pytest.approx(34.5, abs=0.1) == 1e3 / 58 / 0.5
    assert 1e3 / 58 / 0.5 < 39.0
    assert supply.wire_mm2(2 * 0.0345) == pytest.approx(0.5, rel=2e-3)
    for ohm in (0.03, 0.4, 7.0):  # R = rho l / A, a metre there and a metre back
        assert ohm == pytest.approx(2 * 1.7241e-8 / (supply.wire_mm2(ohm) * 1e-6), rel=1e-9)
    assert supply.wire_for(0.1) == (0.5, 20)
    assert supply.wire_for(1e-9) is None
    assert awg_mm2(20) == pytest.approx(0.518, abs=0.001)
    for area, gauge in supply.WIRES:
        assert awg_mm2(gauge) >= area - 1e-3
        assert awg_mm2(gauge + 1) < area


def test_track_of_two_amperes() -> None:
    """IPC-2221 outer layer, 35 um, 10 K: 2 A need about 0.78 mm, 1 A 0.30 mm (calculators that
    quote it, from memory).
    """
    assert supply.track_mm(2.0, 35.0) == pytest.approx(0.78, abs=0.02)
    assert supply.track_mm(1.0, 35.0) == pytest.approx(0.30, abs=0.01)


def test_inrush_fills_the_capacitors() -> None:
    """The charge C V has flowed when the ramp ends; three panels of 37 LEDs."""
    held = supply.farads_uf(3, 111, 100.0, 100.0)
    assert held == pytest.approx(311.1)
    assert supply.inrush_a(held, 5.0, 10.0) * 10e-3 == pytest.approx(held * 1e-6 * 5.0)
    quick = InletParams(soft_start_ms=0.0)
    assert verdicts(panel=design(inlet=quick))["power.inrush"].verdict == "warn"
    assert verdicts()["power.inrush"].verdict == "pass"


@pytest.mark.parametrize(
    ("logic", "shifter", "word"),
    [
        (3.3, "auto", "pass"),
        (3.3, "none", "fail"),
        (5.0, "none", "pass"),
    ],
)
def test_a_controller_of_three_volts_needs_a_level_shifter(
    logic: float, shifter: str, word: str
) -> None:
    """0.7 x 5 V = 3.5 V is more than 3.3 V: input level of the usual LED data sheets."""
    found = verdicts(logic_v=logic, level_shifter=shifter)["power.level"]
    assert found.verdict == word
    assert ("level shifter" in found.says) is True
    assert math.isclose(found.limit, 3.7)


def test_one_controller_is_asked_hop_by_hop() -> None:
    found = verdicts(control="one")
    assert found["power.data-hop"].verdict == "pass"
    assert "power.data-wires" in found
    assert "power.data-hop" not in verdicts()


def test_margin_of_a_data_level_between_two_panels() -> None:
    """By hand, levels at 0.7 and 0.3 of the reader's rails. A at 4.0 V over 0 V, B at 5.2 V over
    0.2 V: A's high of 4.0 V is 0.3 V over the 3.7 V that B takes for high, B's low of 0.2 V is
    1.0 V under the 1.2 V that A takes for low. Controllers' own 3 V swing: 3.0 - (0.2 + 2.1) V and
    0.9 - 0.2 V.
    """
    supply_v, ground_v = np.array([4.0, 5.2]), np.array([0.0, 0.2])
    rails = limits_of(1.0, (), (4.0, 4.0), [(0, 1)])
    assert sorted(logic_v(supply_v, ground_v, rails)) == pytest.approx([0.3, 1.0])
    own = limits_of(1.0, (), (4.0, 4.0), [(0, 1)], 3.0)
    assert sorted(logic_v(supply_v, ground_v, own)) == pytest.approx([0.7, 0.7])
