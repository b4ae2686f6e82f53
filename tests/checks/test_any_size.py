"""The default design follows its size: it passes, or a limit is told with a size that works."""

from __future__ import annotations

from dataclasses import replace
from operator import attrgetter

import pytest

from fab.checks import fit, leak
from fab.checks.changes import changes_told
from fab.checks.plan import plan_checks
from fab.checks.rules import RULES
from fab.checks.snap import all_faults
from fab.layout.model import BaseKind
from fab.light.figures import quick, settled
from fab.light.scene import scene
from fab.light.solve import LightLimits
from fab.params.job import LightParams
from fab.params.keys import all_keys
from fab.params.panel import PanelParams
from fab.parts.assembly import printed
from fab.parts.keyhole import keyhole_for
from fab.parts.leds import led_grid, led_values
from fab.parts.planning import plan

from .designs import SHOP, changed, plan_with
from .sizes import Size, drawn, grid

# Where physics ends: thin outer walls of thick lines leave an edge of a hexagon under 82 mm too
# short for clips.
LIMITED = {"fit.clip-room"}
WANTED = LightLimits(LightParams())


def refused_well(size: Size) -> bool:
    """Whether a design passes, or is refused by a known limit whose told size works."""
    made = size.plan
    broken = all_faults(made)
    if not broken:
        return True
    assert broken <= LIMITED, (size, broken)
    assert size.sides == 6, size
    assert size.size < 82, size
    told = [verdict for verdict in plan_checks("panel", made) if verdict.verdict == "fail"]
    return all(changes_told(verdict.remedy) for verdict in told)


def test_every_fortieth_of_the_grid() -> None:
    """Wide enough steps for the default run; the slow one takes every point."""
    assert all(refused_well(size) for k, size in enumerate(grid(6)) if k % 41 == 0)


@pytest.mark.slow
def test_the_whole_grid() -> None:
    passed = [not all_faults(size.plan) for size in grid() if refused_well(size)]
    assert len(passed) == sum(1 for _ in grid())
    assert passed.count(False) <= 0.01 * len(passed)


@pytest.mark.parametrize("count", [8, pytest.param(60, marks=pytest.mark.slow)])
def test_every_panel_has_leds_and_room_for_a_keyhole(count: int) -> None:
    for size in drawn(count):
        made = size.plan
        if not all_faults(made):
            assert led_grid(made), size
            assert keyhole_for(made, 90.0, inlet=False), size


@pytest.mark.slow
@pytest.mark.parametrize("number", range(60))
def test_drawn_sizes_on_their_solids(number: int) -> None:
    """No part overlaps another, every fit is kept, nothing leaks: measured on the solids."""
    size = list(drawn(60))[number]
    made = size.plan
    if all_faults(made):
        assert refused_well(size)
        return
    kind = BaseKind("inlet-hanger-A", "panel", True, 90.0, "A")
    if keyhole_for(made, 90.0, inlet=True) is None:
        kind = replace(kind, up_deg=None)
    parts = printed(made, kind)
    found = [*fit.checks(made, kind, parts), *fit.joint_checks(made, parts, made, parts)]
    found += leak.checks(made, kind, parts)
    assert [one for one in found if one.verdict == "fail"] == [], size


def lit_well(size: Size) -> bool:
    """Whether the light of a design keeps the limits of dots, whole face and middle; looked at
    closely only where a rough look does not do.
    """
    here = scene(size.plan, size.shop.filament.reflectance)
    return WANTED.kept(quick(here)) or WANTED.kept(settled(here)[0])


@pytest.mark.parametrize("number", range(6))
def test_the_default_design_is_lit_to_its_corners(number: int) -> None:
    size = list(drawn(60, seed=99))[number * 7]
    assert lit_well(size), size


@pytest.mark.slow
@pytest.mark.parametrize("number", range(120))
def test_every_size_is_lit_to_its_corners(number: int) -> None:
    size = list(drawn(240, seed=99))[2 * number]
    assert all_faults(size.plan) or lit_well(size), size


def test_light_broken_once() -> None:
    """LEDs as they were set for the middle of a face alone leave its corners dark."""
    made = plan_with({"across_flats": 140.0, "depth": 36.0, "led.pitch": 15.0, "led.margin": 7.0})
    assert not WANTED.kept(
        quick(scene(made, Size(6, 140.0, 0.4, 0.4, 4, 3.0).shop.filament.reflectance))
    )


@pytest.mark.parametrize("count", [1, 2, 3, 4])
def test_clips_per_edge(count: int) -> None:
    """Pockets stand mirror-symmetric whatever the count, so that any edge mates with any other
    turned by half a turn.
    """
    made = plan_with({"edge": 120.0, "sides": 4, "clips_per_edge": count})
    assert len(made.clip.places) == count
    assert sorted(made.clip.pockets) == sorted(-at for at in made.clip.pockets)
    assert set(made.clip.places) <= set(made.clip.pockets)
    assert not all_faults(replace(made, printer=replace(made.printer, bed=(400.0, 400.0))))


def test_shapes_of_one_edge_mate_whatever_is_left_out() -> None:
    """What two panels must have alike follows the edge, not the shape."""
    for edge in (60.0, 90.0, 120.0, 170.0):
        made = [plan(PanelParams(sides=sides, edge=edge), SHOP) for sides in (3, 4, 6)]
        for value in (
            "edge.wall_u",
            "clip.offset",
            "clip.slot_w",
            "clip.cavity_u",
            "clip.catch_z",
            "heights.axis_z",
        ):
            assert len({round(attrgetter(value)(one), 6) for one in made}) == 1, (edge, value)


def test_a_value_that_is_set_is_never_derived() -> None:
    wanted = {
        "base.wall": 1.8,
        "shell.ledge": 2.5,
        "clip.width": 6.0,
        "header.pin": 9.0,
        "depth": 41.0,
        "screw_d": 2.5,
        "pilot_d": 2.2,
        "board.hole": 3.0,
        "led.pitch": 12.0,
        "clips_per_edge": 1,
    }
    made = plan_with(wanted)
    for key, value in wanted.items():
        holder = made.params
        for part in key.split("."):
            holder = getattr(holder, part)
        assert holder == value
    assert made.params.screw_head_d == 5.0  # follows screw_d


def test_every_left_out_value_of_a_panel_gets_a_number_and_tells_its_rule() -> None:
    """A key with a rule is derived, and no key is derived without a rule."""
    made = plan_with({})
    settled = replace(made.params, led=led_values(made))
    for key in all_keys():
        if key.path[0] == "panel" and key.spec.made_of is None and "[]" not in key.dotted:
            value = settled
            for part in key.path[1:]:
                value = getattr(value, part)
            if key.spec.follows:
                assert key.default is None
                assert value is not None, key.dotted


@pytest.mark.parametrize(("wall", "near"), [(1.2, "0.9 or 1.35"), (1.35, ""), (2.0, "1.8 or 2.25")])
def test_a_wall_between_lines_is_a_warning_with_the_two_nearest(wall: float, near: str) -> None:
    found = {
        one.id: one
        for one in plan_checks("panel", plan_with({"shell.wall": wall, "base.wall": wall}))
    }
    for check in ("print.shell-lines", "print.wall-lines"):
        assert found[check].verdict == ("warn" if near else "pass")
        assert near in found[check].remedy
    assert not [one for one in found.values() if one.verdict == "fail"]


def test_broken_once() -> None:
    """Without the room that a boss may give up, the smallest hexagon is refused: the grid would see
    it.
    """
    fat = plan(
        changed(PanelParams(), {"across_flats": 80.0, "screw_d": 3.0, "clip.width": 8.0}), SHOP
    )
    assert "fit.clip-room" in all_faults(fat)
    assert {rule.id for rule in RULES} >= LIMITED
