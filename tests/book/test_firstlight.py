"""First light: what a stranger measures is what the wall's own values say."""

from __future__ import annotations

import math
import re
from typing import Any

import pytest

from fab.book import firstlight, onepanel
from fab.book.lightdata import program
from fab.decisions import decide
from fab.params.read import load
from fab.weigh import rough_masses
from tests.conftest import ROOT


def design(*sets: str) -> Any:
    job = load(ROOT / "params" / "mixed-wall.toml", sets).job
    return decide(job, rough_masses)


@pytest.fixture(scope="module")
def one() -> Any:
    return design("power.control=one", "panel.switch.on=true", "panel.shell.fixing=snap")


@pytest.fixture(scope="module")
def each() -> Any:
    return design()


def lines(text: str) -> list[str]:
    """What a step says of each of its measurements."""
    return re.split(r" ?\(\d+\) ", text)[1:]


def test_every_hop_of_one_data_line_is_measured(one: Any) -> None:
    step = firstlight.joined(one)
    (k,) = (k for k, said in enumerate(lines(step.do)) if "TP4" in said)
    assert all(f"{hop.sender} to {hop.reader}" in lines(step.do)[k] for hop in one.route.hops)
    assert "297 to 363 ohm" in lines(step.right)[k]  # 330 ohm, E24 at 10 per cent
    assert len(lines(step.do)) == len(lines(step.right)) == len(lines(step.otherwise))
    assert any("switch" in measured for measured, _, _ in onepanel.data(one))


def test_one_board_draws_its_idle_current_and_that_of_the_lit_leds(each: Any) -> None:
    """By hand: the LED's full current (datasheet value of the panel file) for each lit one; no
    board has fewer LEDs than a step lights.
    """
    load = min((one for one in each.wired.loads if one.leds), key=lambda one: one.leds)
    assert load.leds < 10  # a triangle's board
    full = load.full_a / load.leds
    wanted = [load.idle_a + count * full for count in (0, 1, load.leds)]
    rows = onepanel.lit(each)
    assert f"light {load.leds} LEDs" in rows[-1][0]
    read = [float(re.findall(r"\d+\.\d+", reads)[0]) for _, reads, _ in rows]
    assert read == pytest.approx(wanted, abs=0.006)
    limits = [float(re.findall(r"(\d+\.\d+) A", measured)[0]) for measured, _, _ in rows]
    assert all(limit > amps for limit, amps in zip(limits, wanted, strict=True))


def test_a_controller_in_every_panel_needs_no_hop(each: Any) -> None:
    assert "TP4" not in firstlight.joined(each).do


def test_the_limit_is_told_as_a_value_of_a_byte(each: Any) -> None:
    level = int(re.search(r"above (\d+) of 255", program(each).text)[1])
    assert level / 255 <= each.wired.brightness < (level + 1) / 255


def test_currents_of_a_zone_enclose_boards_with_and_without_controller(one: Any, each: Any) -> None:
    """By hand: all boards with a controller draw the most, none with one draws the LEDs alone."""
    for found in (one, each):
        for zone in found.wired.zones:
            row = firstlight.currents(found, zone)
            loads = [load for load in found.wired.loads if load.panel in zone.panels]
            idle = math.fsum(load.idle_a for load in loads)
            lit = found.wired.brightness * math.fsum(load.full_a for load in loads)
            numbers = [float(text) for text in re.findall(r"\d+\.\d+", row[-1])]
            assert numbers[-1] == pytest.approx(idle + lit, abs=0.006)
            if found is one and len(loads) > 1:
                assert numbers[0] == pytest.approx(lit + loads[0].idle_a, abs=0.006)
