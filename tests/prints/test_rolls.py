"""Colours: one roll a plate, own nests per sheet, lists and costs by roll."""

from __future__ import annotations

from collections import Counter
from typing import Any

import pytest

from fab.colours import material, price_per_kg, reflectance, roll_of
from fab.decisions import decide
from fab.errors import InputError
from fab.outputs import prints
from fab.params.read import load
from fab.products import Figures, shaping
from fab.weigh import rough_masses

SHOP = """
extends = "metric-bench"
[roll.blue]
colour = "#0072b2"
price_per_kg = 31
reflectance = 0.4
[roll.red]
colour = "#d55e00"
[stock.opal-blue]
finish = "frosted blue"
"""
JOB = """
job = "two"
shop = "./s.toml"
panel = "hexagon-120"
[designs.blue]
extends = "hexagon-120"
base.roll = "blue"
shell.roll = "blue"
diffuser.stock = "opal-blue"
[designs.mixed]
extends = "hexagon-120"
shell.roll = "red"
[layout]
cells = [[0, 0], [1, 0]]
[[layout.panel]]
name = "C"
design = "blue"
cell = [0, 1]
[[layout.panel]]
name = "D"
design = "mixed"
cell = [1, 1]
"""


@pytest.fixture
def wall(tmp_path: Any) -> Any:
    (tmp_path / "s.toml").write_text(SHOP)
    (tmp_path / "two.toml").write_text(JOB)
    job = load(tmp_path / "two.toml").job
    return decide(job, rough_masses)


@pytest.mark.slow
def test_a_plate_holds_parts_of_one_roll_and_none_is_lost(wall: Any) -> None:
    made = {
        spec: Figures(spec, 1000.0, 500.0, (0.0, 0.0, 5.0), (-50.0, -50.0, 0.0, 50.0, 50.0, 20.0))
        for spec, _ in wall.printed
    }
    plates, least = prints.arrange(wall, made)
    assert 3 <= least <= len(plates)  # one of each roll at least
    roll_of_part = {spec.name: wall.roll_of(spec) for spec, _ in wall.printed}
    assert [plate.number for plate in plates] == list(range(1, len(plates) + 1))
    assert {plate.roll for plate in plates} == {"", "blue", "red"}
    for plate in plates:
        assert {roll_of_part[spot.name] for spot in plate.placements} == {plate.roll}
    laid = Counter(spot.name for plate in plates for spot in plate.placements)
    assert laid == {spec.name: count for spec, count in wall.printed}


def test_a_cap_has_the_colour_of_its_base_and_a_clip_is_shared(wall: Any) -> None:
    caps = {spec.design for spec, _ in wall.printed if spec.part == "cap"}
    clips = {spec.design for spec, _ in wall.printed if spec.part == "clip"}
    assert caps == {"panel", "blue"}  # the base of "mixed" is of the shop's filament
    assert clips == {"panel"}
    assert roll_of("cap", wall.plans["blue"].params) == "blue"
    assert roll_of("shell", wall.plans["mixed"].params) == "red"
    assert roll_of("base", wall.plans["mixed"].params) == ""


def test_price_word_and_reflectance_of_a_roll(wall: Any) -> None:
    shop = wall.job.shop
    assert material(shop, "blue") == "PETG blue"
    assert price_per_kg(shop, "blue") == 31
    assert price_per_kg(shop, "red") == shop.filament.price_per_kg
    inside = {name: reflectance(wall.job, plan.params) for name, plan in wall.plans.items()}
    usual = shop.filament.reflectance
    assert inside == {"panel": usual, "blue": 0.4, "mixed": usual}


def test_a_colour_shapes_no_solid(wall: Any) -> None:
    assert (
        shaping(wall.plans["blue"]) == shaping(wall.plans["panel"]) == shaping(wall.plans["mixed"])
    )


def test_a_roll_that_the_shop_has_not_is_refused_with_the_nearest(tmp_path: Any) -> None:
    (tmp_path / "s.toml").write_text(SHOP)
    (tmp_path / "two.toml").write_text(JOB.replace('shell.roll = "red"', 'shell.roll = "rod"'))
    with pytest.raises(InputError, match=r"unknown roll.*\n?.*red"):
        load(tmp_path / "two.toml")


def test_a_drawn_panel_names_roll_and_sheet_of_its_own(tmp_path: Any) -> None:
    (tmp_path / "s.toml").write_text(SHOP)
    text = (
        'job = "t"\nshop = "./s.toml"\npanel = "hexagon-120"\n'
        '[layout]\nmap = """\n A B\nC D\n"""\n'
        '[[layout.panel]]\nname = "B"\nroll = "blue"\n'
        '[[layout.panel]]\nname = "C"\nroll = "blue"\nsheet = "opal-blue"\n'
    )
    (tmp_path / "t.toml").write_text(text)
    job = load(tmp_path / "t.toml").job
    made = decide(job, rough_masses)
    assert {p.name: p.design for p in made.layout.panels} == {
        "A": "panel",
        "B": "blue",
        "C": "blue-opal-blue",
        "D": "panel",
    }
    assert made.plans["blue"].params.diffuser.stock == "opal-3"
    assert made.plans["blue-opal-blue"].params.diffuser.stock == "opal-blue"
    assert made.plans["blue-opal-blue"].params.shell.roll == "blue"
    (tmp_path / "t.toml").write_text(text.replace('roll = "blue"\nsheet', 'roll = "blu"\nsheet'))
    with pytest.raises(InputError, match="unknown roll"):
        load(tmp_path / "t.toml")
