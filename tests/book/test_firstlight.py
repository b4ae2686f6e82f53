"""First light: what a stranger measures is what the wall's own values say."""

from __future__ import annotations

import math
import re
from typing import Any

import pytest

from fab.book import firstlight
from fab.decisions import decide
from fab.files.document import Para, Table
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


def tables(found: Any) -> Any:
    chapter = firstlight.chapter(found)
    return {block.caption: block.rows for block in chapter.blocks if isinstance(block, Table)}


def test_every_hop_of_one_data_line_is_measured(one: Any) -> None:
    rows = tables(one)["All panels joined, nothing plugged in"]
    (said,) = (row for row in rows if "TP4" in row[0])
    assert all(f"{hop.sender} to {hop.reader}" in said[0] for hop in one.route.hops)
    assert "297 to 363 ohm" in said[1]  # 330 ohm, E24 at 10 per cent
    assert any(
        "switch" in row[0]
        for row in tables(one)["Board without supply, then alone on the bench supply"]
    )


def test_a_controller_in_every_panel_needs_no_hop(each: Any) -> None:
    rows = tables(each)["All panels joined, nothing plugged in"]
    assert not any("TP4" in row[0] for row in rows)


def test_the_limit_is_told_as_a_value_of_a_byte(each: Any) -> None:
    (said,) = (
        block.text
        for block in firstlight.chapter(each).blocks
        if isinstance(block, Para) and "brightness limit" in block.text
    )
    level = int(re.search(r"above (\d+) of 255", said)[1])
    assert level / 255 <= each.wired.brightness < (level + 1) / 255


def test_currents_of_a_zone_enclose_boards_with_and_without_controller(one: Any, each: Any) -> None:
    """By hand: all boards with a controller draw the most, none with one draws the LEDs alone."""
    for found in (one, each):
        for row, zone in zip(
            tables(found)["Current of each zone, A"], found.wired.zones, strict=True
        ):
            loads = [load for load in found.wired.loads if load.panel in zone.panels]
            idle = math.fsum(load.idle_a for load in loads)
            lit = found.wired.brightness * math.fsum(load.full_a for load in loads)
            numbers = [float(text) for text in re.findall(r"\d+\.\d+", row[-1])]
            assert numbers[-1] == pytest.approx(idle + lit, abs=0.006)
            if found is one and len(loads) > 1:
                assert numbers[0] == pytest.approx(lit + loads[0].idle_a, abs=0.006)
