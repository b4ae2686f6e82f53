"""Verdicts `hang.*`: what passes, what fails, and whether a remedy that names a value really
passes.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

import pytest

from fab.checks.hang import hang_checks
from fab.checks.hang_order import template_checks
from fab.layout.joint_table import joint_table
from fab.params.job import HangParams
from fab.params.shop import Filament, Paper, WallType
from fab.wall.choose import choose
from fab.wall.jig import jig, jig_steps
from fab.wall.model import JointStrength, PanelMass
from fab.wall.order import assemble, hanging_order
from fab.wall.places import places
from fab.wall.strength import joint_strength, keyhole_use, safe_stress
from fab.wall.template import template
from fab.wall.to_hang import WallToHang

from .walls import hung_on, masses, plan_of, wall

NOOK = [(0, 0), (1, 0), (2, 0), (-1, 1), (0, 1), (1, 1), (-1, 2), (0, 2), (0, -1)]


def verdicts(
    layout: Any,
    plans: Any,
    mass: Any,
    hang: Any = None,
    kind: Any = None,
    hung: Any = None,
    **more: Any,
) -> Any:
    hang, kind = hang or HangParams(), kind or WallType()
    joint = more.pop("joint", None) or JointStrength()
    known = WallToHang(layout, plans, mass, hang, kind, joint)
    hung = hung or choose(known)
    found = {}
    grams = {name: one.grams for name, one in mass.items()}
    order = hanging_order(layout, plans, assemble(layout, plans), hung, grams)
    for verdict in hang_checks(known, hung, Filament(), order=order, **more):
        if verdict.id not in found or verdict.verdict != "pass":
            found[verdict.id] = verdict
    return found


def test_the_nook_passes_everything() -> None:
    layout, plans = wall(6, NOOK), {"panel": plan_of(6)}
    found = verdicts(layout, plans, masses(layout), joint=joint_strength(plans, Filament()))
    assert {v.verdict for v in found.values()} == {"pass"}
    assert set(found) == {
        "hang.screw-load",
        "hang.uplift",
        "hang.centre",
        "hang.reach",
        "hang.fewest",
        "hang.joint",
        "hang.keyhole",
        "hang.head",
        "hang.keyhole-room",
        "hang.order",
    }
    assert all(v.source for v in found.values())


@pytest.mark.parametrize(("reach", "says"), [(3, "minimum, every"), (1, "each keyhole in its")])
def test_more_than_two_screws_are_fewest_for_these_places_of_keyholes(
    reach: int, says: str
) -> None:
    """Fewer than two screws can't be; more than that, a keyhole elsewhere might save."""
    layout = wall(6, [(q, 0) for q in range(7)])
    found = verdicts(layout, {"panel": plan_of(6)}, masses(layout), HangParams(reach=reach))
    told = found["hang.fewest"]
    assert (told.measured > 2) == (reach == 1)
    assert says in told.says


@pytest.mark.slow
def test_a_heavy_wall_fails_and_its_remedy_passes() -> None:
    layout, plans = wall(6, NOOK), {"panel": plan_of(6)}
    mass = masses(layout, 2500.0)
    found = verdicts(layout, plans, mass)["hang.screw-load"]
    assert found.verdict == "fail"
    assert "plug must suit the wall" in found.says
    shear, pull = re.search(
        r"shear_n = (\d+) and shop\.wall\.plaster\.pull_n = (\d+)", found.remedy
    ).groups()
    better = WallType(shear_n=float(shear), pull_n=float(pull))
    assert verdicts(layout, plans, mass, kind=better)["hang.screw-load"].verdict == "pass"
    factor = float(re.search(r"hang\.factor = (\d+(?:\.\d+)?)", found.remedy).group(1))
    assert (
        verdicts(layout, plans, mass, HangParams(factor=factor))["hang.screw-load"].verdict
        == "pass"
    )


def test_a_wall_far_too_heavy_is_told_to_hang_less() -> None:
    layout, plans = wall(6, [(0, 0), (1, 0)]), {"panel": plan_of(6)}
    found = verdicts(layout, plans, masses(layout, 40_000.0))["hang.screw-load"]
    assert found.verdict == "fail"
    assert "fewer or lighter panels" in found.remedy


def test_a_screw_that_would_be_lifted_off_fails() -> None:
    """Five squares in a row on the first three: the far ones lever the first one up."""
    layout, plans = wall(4, [(k, 0) for k in range(5)], edge=100.0), {"panel": plan_of(4, 100.0)}
    mass = masses(layout)
    hung = hung_on(WallToHang(layout, plans, mass, HangParams(), WallType()), ["A", "B", "C"])
    found = verdicts(layout, plans, mass, hung=hung)
    assert found["hang.centre"].verdict == "fail"
    hung = hung_on(WallToHang(layout, plans, mass, HangParams(), WallType()), ["A", "B"])
    found = verdicts(layout, plans, mass, hung=hung)
    assert found["hang.uplift"].verdict == "fail"
    assert "lift off its screw" in found["hang.uplift"].says
    assert found["hang.reach"].verdict == "fail"
    assert found["hang.reach"].remedy == "Set hang.reach = 3."


def test_a_weak_joint_fails_and_a_shorter_reach_cures_it() -> None:
    """A row of seven held at far places: with weak clips only more screws help."""
    layout, plans = wall(4, [(k, 0) for k in range(7)], edge=100.0), {"panel": plan_of(4, 100.0)}
    mass, kind = masses(layout, 300.0), WallType(shear_n=500.0, pull_n=200.0)
    weak = JointStrength(across_n=4.0, along_n=30.0, lift_n=1e6)
    hang = HangParams(reach=3)
    hung = hung_on(WallToHang(layout, plans, mass, hang, kind), ["A", "G"])
    found = verdicts(layout, plans, mass, hang, kind, hung=hung, joint=weak)["hang.joint"]
    assert found.verdict == "fail"
    reach = int(re.search(r"hang\.reach = (\d)", found.remedy).group(1))
    closer = verdicts(layout, plans, mass, replace(hang, reach=reach), kind, joint=weak)
    assert closer["hang.joint"].verdict == "pass"


def test_a_lone_panel_out_of_level_is_a_warning() -> None:
    layout, plans = wall(6, [(0, 0)]), {"panel": plan_of(6)}
    found = verdicts(layout, plans, {"A": PanelMass(250.0, 3.0, 0.0, 15.0)})["hang.centre"]
    assert found.verdict == "warn"
    assert found.measured == pytest.approx(3.55, abs=0.01)  # atan(3 / 48.3)


def test_a_head_hardly_wider_than_the_slot_fails_with_a_head_that_passes() -> None:
    layout, plans = wall(6, [(0, 0)]), {"panel": plan_of(6, 69.3, head_d=5.0)}
    found = verdicts(layout, plans, masses(layout))["hang.head"]
    assert found.verdict == "fail"
    head = float(re.search(r"head_d = (\d+(?:\.\d+)?)", found.remedy).group(1))
    assert (
        verdicts(layout, {"panel": plan_of(6, 69.3, head_d=head)}, masses(layout))[
            "hang.head"
        ].verdict
        == "pass"
    )


def test_a_travel_too_short_to_leave_the_entry_fails_with_one_that_passes() -> None:
    layout, plans = wall(6, [(0, 0)]), {"panel": plan_of(6, 69.3, travel=5.0)}
    found = verdicts(layout, plans, masses(layout))["hang.head"]
    assert found.verdict == "fail"
    travel = float(re.search(r"travel = (\d+(?:\.\d+)?)", found.remedy).group(1))
    assert (
        verdicts(layout, {"panel": plan_of(6, 69.3, travel=travel)}, masses(layout))[
            "hang.head"
        ].verdict
        == "pass"
    )


def test_no_room_for_keyholes_is_a_warning_with_a_travel_that_fits() -> None:
    layout = wall(3, [(0, 0), (1, 0), (2, 0)], edge=120.0)
    plans = {"panel": plan_of(3, 120.0, offset=60.0)}
    mass = masses(layout)
    good = {"panel": plan_of(3, 120.0)}
    hung = choose(WallToHang(layout, good, mass, HangParams(), WallType()))
    found = verdicts(layout, plans, mass, hung=hung)["hang.keyhole-room"]
    assert found.verdict == "warn"
    # a base that carries a keyhole has room for it
    assert found.measured == len(layout.panels) - len(hung.hangers) > 0
    low, high = map(
        float, re.search(r"between (-?\d+(?:\.\d+)?) and (-?\d+(?:\.\d+)?)", found.remedy).groups()
    )
    assert low < high
    fixed = {"panel": plan_of(3, 120.0, offset=high)}
    assert next(
        p
        for p in places(WallToHang(layout, fixed, {}, HangParams(), WallType()))
        if p.keyhole is not None
    )


def test_keyhole_stresses_by_hand() -> None:
    """Bearing F / (d t) = 12 / (4 x 3) = 1 N/mm2; shear-out F / (2 e t) with e from the slot's end
    to the rim.
    """
    plan = plan_of(6)
    layout = wall(6, [(0, 0)])
    (place,) = places(WallToHang(layout, {"panel": plan}, {}, HangParams(), WallType()))
    use = keyhole_use(plan, place.keyhole, 12.0, 6.0)  # type: ignore[arg-type]
    assert use.bearing == pytest.approx(1.0)
    rim = plan.rings.body_apothem / 0.8660254037844387  # up is towards a corner here
    strip = rim - (place.y - layout.panels[0].y) - place.keyhole.slot_w / 2
    assert use.shear_out == pytest.approx(12.0 / (2 * strip * 3.0))
    assert use.overhang == pytest.approx((8.0 - 4.5) / 2)


def test_the_safe_stress_is_a_fifth_of_yield() -> None:
    """PETG: 1900 N/mm2 x 1.7 % x 0.6 x 0.5 = 9.69 N/mm2, a fifth of some 45 to 50."""
    assert safe_stress(Filament()) == pytest.approx(9.69)


def test_boards_that_nothing_joins() -> None:
    """Three in a row, the last joint without header and jumper: one part more than there
    need be.
    """
    layout, plans = wall(6, [(0, 0), (1, 0), (2, 0)]), {"panel": plan_of(6)}
    mates, zones = assemble(layout, plans).mates, dict.fromkeys(layout.by_name, 1)
    whole = joint_table(layout, mates, (), zones)
    assert verdicts(layout, plans, masses(layout), table=whole)["hang.order"].verdict == "pass"
    apart = joint_table(layout, {0: mates[0]}, (), zones)
    found = verdicts(layout, plans, masses(layout), table=apart)["hang.order"]
    assert (found.verdict, found.measured) == ("fail", 1.0)
    assert found.remedy == 'Set joint.jumper = "needed".'
    joined = joint_table(layout, {0: mates[0]}, (1,), zones)
    assert verdicts(layout, plans, masses(layout), table=joined)["hang.order"].verdict == "pass"


@pytest.mark.slow
def test_template_check_passes_and_can_fail() -> None:
    layout, plans = wall(6, NOOK), {"panel": plan_of(6)}
    hung = choose(WallToHang(layout, plans, masses(layout), HangParams(), WallType()))
    tiling = template(layout, plans, hung, Paper(), WallType()).tiling
    assert template_checks(tiling)[0].verdict == "pass"
    assert template_checks(replace(tiling, on_seams=("B",)))[0].verdict == "warn"


def test_the_jig_steps_from_screw_to_screw() -> None:
    """Hexagons upright on a flat: neighbours are 120.03 mm to the right, and at 60 degrees."""
    layout, plans = wall(6, NOOK), {"panel": plan_of(6)}
    spots = places(WallToHang(layout, plans, {}, HangParams(), WallType()))
    pitch = 2 * plans["panel"].cell.apothem
    steps = jig_steps(layout, spots)
    assert (pytest.approx(pitch, abs=1e-3), 0.0) in steps or all(
        (dx**2 + dy**2) ** 0.5 == pytest.approx(pitch, abs=1e-3) for dx, dy in steps
    )
    made = jig(layout, spots, WallType(drill=6.0))
    holes = [hole.circle() for hole in made.holes]
    assert len(holes) == 3
    assert {round(radius, 6) for _, radius in holes} == {3.1}  # type: ignore[misc]
    first = holes[0][0]
    vectors = {(round(x - first[0], 3), round(y - first[1], 3)) for (x, y), _ in holes}  # type: ignore[misc]
    real = {(round(b.x - a.x, 3) + 0.0, round(b.y - a.y, 3) + 0.0) for a in spots for b in spots}
    assert vectors <= real
    x0, y0, x1, y1 = made.box
    assert all(x0 + 13 < x < x1 - 13 and y0 + 13 < y < y1 - 13 for (x, y), _ in holes)  # type: ignore[misc]
