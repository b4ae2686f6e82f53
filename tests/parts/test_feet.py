"""Bases on feet: places, rooms, the inlet behind the floor, and one panel of each kind measured on
its solids.
"""

from __future__ import annotations

import math
from typing import Any

import pytest

from fab.checks import fit, leak, prints, room
from fab.checks.broken import faults
from fab.checks.plan import plan_checks
from fab.layout.model import BaseKind
from fab.parts.assembly import panel_parts, printed
from fab.parts.footsizes import FOOT_R, STUB_R, feet_at, foot_corners, recess_depth, recesses
from fab.parts.keyhole import keyhole_for
from fab.parts.snap import CrushRibs
from fab.solids import kernel
from fab.solids.meshing import mesh
from tests.checks.designs import plan_with

FED = BaseKind("inlet-hanger-A", "panel", True, 210.0, "A")
# its keyhole has room at a corner only
FED_TRIANGLE = BaseKind("inlet-hanger-A", "panel", True, 300.0, "A")


def on_feet(**overrides: Any) -> Any:
    return plan_with({"base.feet": 8.0, **overrides})


def test_without_feet_nothing_is_there() -> None:
    plan = plan_with()
    assert recesses(plan) == () == feet_at(plan)
    assert not plan.inlet.behind


@pytest.mark.parametrize("sides", range(3, 13))
def test_feet_stand_round_the_centre_of_mass(sides: int) -> None:
    """A panel must not rock: its centre lies inside the polygon of its feet, whatever way up."""
    shapely = pytest.importorskip("shapely")
    corners = foot_corners(sides)
    points = [
        (math.cos((2 * k + 1) * math.pi / sides), math.sin((2 * k + 1) * math.pi / sides))
        for k in corners
    ]
    assert len(corners) >= 3
    assert shapely.MultiPoint(points).convex_hull.contains(shapely.Point(0, 0))


def test_a_foot_too_low_for_the_cable_is_told_with_a_remedy_that_cures() -> None:
    plan = plan_with({"base.feet": 3.0})
    verdict = next(v for v in plan_checks("panel", plan) if v.id == "fit.feet-cable")
    assert verdict.verdict == "fail"
    assert verdict.remedy == "Set panel.base.feet = 6."
    assert faults(plan_with({"base.feet": 6.0})) == frozenset()


def test_two_arcs_of_the_told_radius_bring_the_cable_down() -> None:
    """Drawn and measured: an arc of R and one back to level end `sink` lower, `long` further.

    Elementary geometry.
    """
    plan = on_feet()
    radius = room.cable_bend(plan)
    sink = plan.inlet.z + plan.params.inlet.cable_d / 2
    angle = math.acos(1 - sink / (2 * radius))
    assert 2 * radius * math.sin(angle) == pytest.approx(plan.params.inlet.room - 20.0)
    assert radius >= plan.params.inlet.cable_d


def test_a_small_triangle_on_feet_has_a_shorter_opening_and_passes() -> None:
    """Its clip pockets run together: the opening ends before them, and the cable still sinks in
    soft bends.
    """
    plan = on_feet(sides=3, edge=90.0)
    assert plan.inlet.end_u - plan.inlet.mouth_u < plan.params.inlet.room
    assert room.cable_bend(plan) >= plan.params.inlet.cable_d
    assert [v for v in plan_checks("panel", plan, [FED_TRIANGLE]) if v.verdict == "fail"] == []


def test_keyholes_keep_clear_of_feet_in_every_turn() -> None:
    plan = on_feet()
    for up in range(0, 360, 7):
        hole = keyhole_for(plan, float(up), inlet=False)
        assert hole is not None
        for spot in recesses(plan):
            for at, radius in (
                (hole.rest, plan.params.hanger.head_d / 2),
                (hole.entry, hole.entry_d / 2),
            ):
                assert math.dist(spot, at) >= FOOT_R + radius


def test_ribs_hold_a_foot_by_far_more_than_it_weighs() -> None:
    """The press formula of the cap; three ribs. A foot of 8 mm x 60 mm of PETG weighs 0.04 N."""
    from fab.params.shop import Filament

    plan = on_feet()
    ribs = CrushRibs(
        -plan.fit("foot"), plan.fit("foot-stub") - plan.fit("foot"), recess_depth(plan) - 0.2, 3
    )
    assert ribs.hold_force(Filament()) > 100 * 0.04


@pytest.mark.parametrize(
    "overrides",
    [{}, {"inlet.kind": "round"}, {"sides": 4, "edge": 90.0}, {"sides": 3, "edge": 90.0}],
    ids=str,
)
@pytest.mark.slow  # in the default run: the triangle on feet of tests/checks
def test_a_panel_on_feet_holds_every_check_on_its_solids(overrides: Any) -> None:
    plan = on_feet(**overrides)
    kind = FED if plan.cell.sides > 3 else FED_TRIANGLE
    made = printed(plan, kind)
    verdicts = [
        *plan_checks("panel", plan, [kind]),
        *fit.checks(plan, kind, made),
        *leak.checks(plan, kind, made),
        *prints.checks("base", mesh(made.base, "base"), plan.printer),
        *prints.checks("foot", mesh(made.foot, "foot"), plan.printer),  # type: ignore[arg-type]
    ]
    assert [v for v in verdicts if v.verdict == "fail"] == []
    low, high = mesh(made.foot, "foot").box  # type: ignore[arg-type]
    assert high[2] - low[2] == pytest.approx(8.0 + recess_depth(plan) - 0.2)
    base = mesh(made.base, "base")
    assert base.box[0][2] == pytest.approx(0.0)
    parts = panel_parts(plan, kind, made)
    feet = [one for one in parts if one.part == "foot"]
    assert len(feet) == len(feet_at(plan))
    assert all(one.mesh.box[0][2] == pytest.approx(-8.0) for one in feet)
    # the way in from behind: plug or cable can be brought through the opening in the floor,
    # straight up
    way = next(one for one in parts if one.part in ("plug", "cable"))
    inner = plan.cell.apothem - plan.inlet.mouth_u
    box = kernel.box_of(way.solid)
    assert box[0] < inner
    below = kernel.box(
        max(box[0], plan.cell.apothem - plan.inlet.end_u) + 0.1,
        inner,
        box[1],
        box[4],
        -8.0,
        plan.inlet.z,
    )
    assert kernel.overlap_mm3(below, made.base) == pytest.approx(0.0, abs=1e-6)
    # over each recess the floor is left with 1.2 mm
    for x, y in recesses(plan):
        pillar = kernel.box(x - 1, x + 1, y - 1, y + 1, 0.0, plan.floor.top_z)
        assert kernel.overlap_mm3(pillar, made.base) == pytest.approx(4 * 1.2, rel=1e-6)
    assert STUB_R < FOOT_R
