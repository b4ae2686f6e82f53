"""Fewest hangers: equal to trying every choice with a second, separate reckoning; refusals name the
rule.
"""

from __future__ import annotations

import math
import random
import re
import subprocess
import sys
from itertools import combinations
from typing import Any

import numpy as np
import pytest
from scipy.optimize import nnls

from fab.errors import InputError
from fab.params.job import HangParams
from fab.params.shop import WallType
from fab.parts.keyhole import keyhole_for
from fab.wall.choose import _broken, _score, choose
from fab.wall.frame import FrameModel, clips_of
from fab.wall.model import JointStrength, PanelMass
from fab.wall.places import places
from fab.wall.problem import groups_of
from fab.wall.programme import by_programme
from fab.wall.search import by_search
from fab.wall.statics import row_loads, uneven_loads
from fab.wall.to_hang import WallToHang, wall_type
from tests.cases import few

from .walls import (
    allowed,
    hung_as_forced,
    hung_on,
    independent_frame,
    masses,
    plan_of,
    random_cells,
    wall,
)

SOFT_JOINT = JointStrength(lift_n=1e9)  # the tipping rule has its own test


def brute_force(layout: Any, plans: Any, mass: Any, hang: Any, kind: Any, strength: Any) -> Any:
    """The smallest number of screws that keeps the rules, by trying all; None when no
    choice does.
    """
    names = [panel.name for panel in layout.panels]
    for size in range(1, len(names) + 1):
        if any(
            allowed(layout, plans, mass, hang, kind, strength, chosen)
            for chosen in combinations(names, size)
        ):
            return size
    return None


@pytest.mark.parametrize("seed", few(range(30), 0, 1, 2, 3, 4, 5))
def test_fewest_equals_brute_force(seed: int) -> None:
    rng = random.Random(seed)
    sides = (6, 4, 3)[seed % 3]
    edge = 69.3 if sides != 3 else 120.0
    count = rng.randint(1, 8)
    layout = wall(
        sides,
        random_cells(rng, sides, count),
        rng.choice([0.0, 15.0, 30.0, 90.0, 200.0]),
        edge=edge,
    )
    plans = {"panel": plan_of(sides, edge)}
    mass = masses(layout, rng.choice([80.0, 250.0, 700.0]), rng=rng)
    hang = HangParams(reach=rng.choice([1, 1, 2, 3]), factor=rng.choice([2.0, 4.0]), drill_mm=0.0)
    strength = JointStrength(across_n=rng.choice([0.8, 3.0, 30.0]), lift_n=1e9)
    least = brute_force(layout, plans, mass, hang, WallType(), strength)
    hung = hung_as_forced(
        least, lambda: choose(WallToHang(layout, plans, mass, hang, WallType(), strength))
    )
    if hung is None or least is None:
        return
    assert len(hung.hangers) == hung.least == least
    assert allowed(layout, plans, mass, hang, WallType(), strength, [h.panel for h in hung.hangers])


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(100, 220))
def test_fewest_equals_brute_force_on_many(seed: int) -> None:
    test_fewest_equals_brute_force(seed)


def group_and_model(layout: Any, plans: Any, mass: Any, hang: Any, kind: Any, strength: Any) -> Any:
    known = WallToHang(layout, plans, mass, hang, kind, strength)
    group = groups_of(known, places(known))[0]
    return group, FrameModel(group, clips_of(known, group), strength)


@pytest.mark.parametrize("seed", few(range(8), 0))
def test_programme_and_search_are_true_to_their_gap(seed: int) -> None:
    """On walls small enough to try everything: the bound never lies, the choice keeps every rule,
    the gap holds.
    """
    rng = random.Random(seed)
    layout = wall(6, random_cells(rng, 6, 9))
    plans = {"panel": plan_of(6)}
    mass = masses(layout, 300.0, rng=rng)
    hang = HangParams(reach=rng.choice([1, 2]), factor=4.0, drill_mm=0.0)
    group, model = group_and_model(layout, plans, mass, hang, WallType(), SOFT_JOINT)
    best = choose(WallToHang(layout, plans, mass, hang, WallType(), SOFT_JOINT))
    for method in (by_programme, by_search):
        found = method(group, model, group.open_to(), frozenset())
        found = found[0] if method is by_programme else found
        assert found is not None
        names = [group.names[k] for k in found.chosen]
        assert allowed(layout, plans, mass, hang, WallType(), SOFT_JOINT, names)
        assert found.least <= best.least <= len(names)


def test_frame_agrees_with_a_second_solution_and_is_in_balance() -> None:
    """Clip and screw forces against a plain dense matrix; forces and moments of every panel sum to
    nothing.
    """
    rng = random.Random(5)
    for sides, edge in ((6, 69.3), (4, 69.3), (3, 120.0)):
        for _ in range(4):
            layout = wall(sides, random_cells(rng, sides, 7), rng.choice([0.0, 20.0]), edge=edge)
            plans = {"panel": plan_of(sides, edge)}
            mass = masses(layout, 300.0, rng=rng)
            group, model = group_and_model(
                layout, plans, mass, HangParams(), WallType(), SOFT_JOINT
            )
            chosen = tuple(sorted(rng.sample(range(7), 3)))
            if len({round(group.places[k].x, 3) for k in chosen}) < 2:
                continue
            frame = model.solve(chosen)
            weights = {
                n: (w, c[0], c[1])
                for n, w, c in zip(group.names, group.weights, group.centres, strict=True)
            }
            screws, across, along = independent_frame(
                layout, plans, weights, [group.names[k] for k in chosen], SOFT_JOINT
            )
            for k, force in zip(chosen, frame.screws, strict=True):
                assert force[1] == pytest.approx(screws[group.names[k]][1], abs=1e-5)
            assert frame.across == pytest.approx(across, abs=1e-5)
            assert frame.along == pytest.approx(along, abs=1e-5)
            for k in range(7):
                assert balance_of(group, model, chosen, frame, k) == pytest.approx(
                    (0.0, 0.0, 0.0), abs=1e-9 * group.weight * 400
                )


def balance_of(group: Any, model: Any, chosen: Any, frame: Any, k: Any) -> Any:
    """Sum of forces, and of moments about the panel's own mass in N mm / 100 mm, on one panel."""
    fx, fy, m = 0.0, -group.weights[k], 0.0
    x0, y0 = group.centres[k][:2]
    for clip, pull, shear in zip(model.clips, frame.across, frame.along, strict=True):
        if k not in (clip.a, clip.b):
            continue
        sign = 1.0 if k == clip.a else -1.0
        (nx, ny), (x, y) = clip.normal, clip.at
        px, py = sign * (pull * nx - shear * ny), sign * (pull * ny + shear * nx)
        fx, fy, m = fx + px, fy + py, m + ((x - x0) * py - (y - y0) * px) / 100
    for order, held in enumerate(chosen):
        if held == k:
            side, up = frame.screws[order]
            place = group.places[k]
            fx, fy, m = fx + side, fy + up, m + ((place.x - x0) * up - (place.y - y0) * side) / 100
    return fx, fy, m


def test_two_panels_side_by_side_share_their_weight() -> None:
    """Two alike beside each other: half of the weight each, by symmetry."""
    layout = wall(6, [(0, 0), (1, 0)])
    hung = choose(
        WallToHang(layout, {"panel": plan_of(6)}, masses(layout, 350.0), HangParams(), WallType())
    )
    assert [h.panel for h in hung.hangers] == ["A", "B"]
    assert [h.shear_n for h in hung.hangers] == pytest.approx(
        [3.4323, 3.4323], abs=1e-4
    )  # 0.35 kg: 3.4323 N


def test_a_single_panel_hangs_on_one_screw() -> None:
    layout = wall(6, [(0, 0)])
    hung = choose(
        WallToHang(layout, {"panel": plan_of(6)}, masses(layout), HangParams(), WallType())
    )
    assert len(hung.hangers) == 1
    assert hung.hangers[0].y > layout.panels[0].y
    assert hung.groups[0].tilt_deg == pytest.approx(0.0, abs=1e-9)


def test_a_lopsided_single_panel_is_told() -> None:
    """The centre of mass 5 mm beside and 48.3 mm under the screw: it turns by atan(5 / 48.3)."""
    layout = wall(6, [(0, 0)])
    hung = choose(
        WallToHang(
            layout,
            {"panel": plan_of(6)},
            {"A": PanelMass(250.0, 5.0, 0.0, 15.0)},
            HangParams(),
            WallType(),
        )
    )
    over = hung.hangers[0].y - layout.panels[0].y
    assert hung.groups[0].tilt_deg == pytest.approx(math.degrees(math.atan(5.0 / over)), abs=1e-9)


def test_a_column_hangs_on_two_screws_over_each_other() -> None:
    layout = wall(4, [(0, 0), (0, 1), (0, 2)])
    hung = choose(
        WallToHang(layout, {"panel": plan_of(4)}, masses(layout), HangParams(), WallType())
    )
    assert hung.groups[0].upright
    assert len(hung.hangers) == 2
    assert not hung.broken


def test_must_and_avoid_are_kept() -> None:
    layout = wall(6, [(0, 0), (1, 0), (2, 0), (0, 1), (1, 1)])
    plans, mass = {"panel": plan_of(6)}, masses(layout)
    free = choose(WallToHang(layout, plans, mass, HangParams(), WallType()))
    taken = free.hangers[0].panel
    without = choose(WallToHang(layout, plans, mass, HangParams(avoid=(taken,)), WallType()))
    assert taken not in without.by_panel
    everyone = tuple(panel.name for panel in layout.panels)
    assert (
        len(choose(WallToHang(layout, plans, mass, HangParams(must=everyone), WallType())).hangers)
        == 5
    )


def test_separate_groups_are_hung_each_for_itself() -> None:
    layout = wall(6, [(0, 0), (1, 0), (10, 0), (11, 0)], groups="separate")
    hung = choose(
        WallToHang(layout, {"panel": plan_of(6)}, masses(layout), HangParams(), WallType())
    )
    assert len(hung.groups) == 2
    assert len(hung.hangers) == 4


def test_a_panel_that_would_tip_gets_its_own_screw() -> None:
    """A square on top of another, held only by the joint below it: W z / arm on two hooks is over
    the hook's limit.
    """
    layout = wall(4, [(0, 0), (1, 0), (0, 1)], edge=120.0)
    plans = {"panel": plan_of(4, 120.0)}
    weak = choose(
        WallToHang(
            layout,
            plans,
            masses(layout, 600.0, 20.0),
            HangParams(),
            WallType(),
            JointStrength(lift_n=0.5),
        )
    )
    assert "A" in weak.by_panel  # A is on top


def wanting(*given: Any) -> Any:
    """What is told of a wall that no choice of screws holds: refused where no screw is left, else a
    check that fails.
    """
    try:
        hung = choose(WallToHang(*given))
    except InputError as refused:
        return str(refused)
    assert hung.hangers
    return "\n".join(map(str, hung.lacking))


def test_everything_avoided_is_refused_by_name() -> None:
    layout = wall(6, [(0, 0), (1, 0)])
    told_text = wanting(
        layout, {"panel": plan_of(6)}, masses(layout), HangParams(avoid=("A", "B")), WallType()
    )
    assert re.search(r"hang\.avoid: makes it impossible to hang .*no screw is left", told_text)


def test_a_zone_over_everything_is_refused_by_name() -> None:
    layout = wall(6, [(0, 0), (1, 0)])
    zone = ((-500.0, -500.0), (500.0, -500.0), (500.0, 500.0), (-500.0, 500.0))
    told_text = wanting(
        layout, {"panel": plan_of(6)}, masses(layout), HangParams(zones=(zone,)), WallType()
    )
    assert re.search(r"hang\.zones: makes it impossible", told_text)


@pytest.mark.parametrize(
    ("studs", "zones"),
    [
        ((60.0, 180.0, 300.0), ()),
        ((-100.0, 20.0, 140.0), ()),
        (
            (100.0, 220.0, 340.0),
            (((-40.0, -400.0), (30.0, -400.0), (30.0, 400.0), (-40.0, 400.0)),),
        ),
    ],
)
def test_studs_that_meet_nothing_are_refused_with_a_move_that_works(studs: Any, zones: Any) -> None:
    """The told move is made, of studs and zones, and the wall then hangs."""
    layout, plans = wall(6, [(0, 0), (1, 0), (2, 0), (3, 0)]), {"panel": plan_of(6, offset=40.0)}
    told_text = wanting(
        layout, plans, masses(layout), HangParams(studs=studs, zones=zones), WallType()
    )
    assert re.search(r"hang\.studs: makes it impossible", told_text)
    told = re.search(
        r"further to the (left|right) it would work: add ([+-][\d.]+) to every stud", told_text
    )
    shift = float(told[2])
    assert (told[1] == "left") == (shift > 0)
    moved = tuple(tuple((x + shift, y) for x, y in zone) for zone in zones)
    hung = choose(
        WallToHang(
            layout,
            plans,
            masses(layout),
            HangParams(studs=tuple(s + shift for s in studs), zones=moved),
            WallType(),
        )
    )
    assert len(hung.hangers) >= 2


def test_studs_that_no_move_brings_under_the_screws_are_told_so() -> None:
    layout = wall(6, [(0, 0), (1, 0), (2, 0)])
    told_text = wanting(
        layout, {"panel": plan_of(6)}, masses(layout), HangParams(studs=(0.0, 1_000.0)), WallType()
    )
    assert re.search(
        r"No position of the wall up to 1010 mm away works, in steps of 10 mm: fix a board across"
        r" the studs",
        told_text,
    )


def test_screws_of_a_grid_of_studs_and_battens_meet_both() -> None:
    """A block of squares: of its screws only those near a crossing of the grid are taken."""
    layout, plans = wall(4, [(q, r) for q in range(4) for r in range(4)]), {"panel": plan_of(4)}
    every = {
        h.panel: h
        for h in choose(
            WallToHang(
                layout, plans, masses(layout), HangParams(must=tuple(layout.by_name)), WallType()
            )
        ).hangers
    }
    xs, ys = (
        sorted({round(h.x, 3) for h in every.values()}),
        sorted({round(h.y, 3) for h in every.values()}),
    )
    hang = HangParams(studs=(xs[0], xs[2] + 5.0), rails=(ys[3], ys[1] - 5.0), reach=3)
    hung = choose(WallToHang(layout, plans, masses(layout), hang, WallType()))
    for hanger in hung.hangers:
        assert (
            min(abs(hanger.x - stud) for stud in hang.studs)
            <= hang.stud_half - WallType().drill / 2
        )
        assert (
            min(abs(hanger.y - rail) for rail in hang.rails)
            <= hang.rail_half - WallType().drill / 2
        )


def test_battens_that_meet_nothing_are_refused_with_a_move_that_works() -> None:
    height = keyhole_for(plan_of(4), 90.0, inlet=False).rest[1]
    layout, plans = wall(4, [(0, 0), (1, 0), (2, 0)]), {"panel": plan_of(4, offset=height)}
    rail = (
        choose(WallToHang(layout, plans, masses(layout), HangParams(), WallType())).hangers[0].y
        - 31.0
    )
    told_text = wanting(layout, plans, masses(layout), HangParams(rails=(rail,)), WallType())
    assert re.search(
        r"hang\.rails: makes it impossible .* is 19\.0 mm beside its batten\. Hung", told_text
    )
    told = re.search(
        r"Hung 20\.0 mm further down it would work: add ([+-][\d.]+) to every batten", told_text
    )
    assert choose(
        WallToHang(
            layout, plans, masses(layout), HangParams(rails=(rail + float(told[1]),)), WallType()
        )
    ).hangers


def test_two_rules_together_are_named_together() -> None:
    layout = wall(6, [(0, 0), (1, 0)])
    zone = ((-30.0, -90.0), (30.0, -90.0), (30.0, 90.0), (-30.0, 90.0))
    fixed = {"panel": plan_of(6, offset=40.0)}
    told_text = wanting(
        layout, fixed, masses(layout), HangParams(avoid=("B",), zones=(zone,)), WallType()
    )
    assert re.search(r"hang\.avoid and hang\.zones: together make it impossible", told_text)


@pytest.mark.parametrize("spacing", few([400.0, 406.4, 610.0], 1))
@pytest.mark.parametrize("start", few([0.0, 37.0, 111.0], 1))
def test_studs_of_any_spacing_are_met_with_the_keyhole_aside(spacing: float, start: float) -> None:
    """A row of hexagons on studs 38 mm wide: every screw lies whole in a stud, and its keyhole
    where the screw is.
    """
    layout, plans = wall(6, [(q, 0) for q in range(9)]), {"panel": plan_of(6)}
    studs = tuple(start + spacing * k for k in range(-1, 5))
    hang = HangParams(studs=studs, studs_from="left", stud_half=19.0, reach=4)
    hung = choose(WallToHang(layout, plans, masses(layout), hang, WallType()))
    assert not hung.lacking
    left = layout.box[0]
    for hanger in hung.hangers:
        assert (
            min(abs(hanger.x - left - stud) for stud in studs) <= 19.0 - WallType().drill / 2 + 1e-6
        )
        panel = layout.by_name[hanger.panel]
        assert panel.to_wall(hanger.keyhole.rest) == pytest.approx((hanger.x, hanger.y), abs=1e-6)
        assert hanger.x - panel.x == pytest.approx(hanger.aside_mm, abs=1e-6)


@pytest.mark.slow
def test_a_comb_with_one_side_forbidden_gets_no_more_screws_than_help() -> None:
    """All left of a line forbidden: what is chosen overloads nothing more than all allowed places
    do together, and of choices as good as that it has no screw that could go.
    """
    cells = [(2 * k - j // 2, j) for k in range(4) for j in range(4)] + [(k, 0) for k in range(7)]
    layout, plans = wall(6, sorted(set(cells))), {"panel": plan_of(6)}
    x0, y0, _, y1 = layout.box
    zone = ((x0 - 9, y0 - 9), (x0 + 150.0, y0 - 9), (x0 + 150.0, y1 + 9), (x0 - 9, y1 + 9))
    hang, kind = HangParams(zones=(zone,)), WallType(shear_n=80, pull_n=30)
    group, model = group_and_model(layout, plans, masses(layout), hang, kind, SOFT_JOINT)
    hung = choose(WallToHang(layout, plans, masses(layout), hang, kind, SOFT_JOINT))
    chosen = tuple(k for k, name in enumerate(group.names) if name in hung.by_panel)
    everywhere = group.open_to()
    assert _score(group, model, chosen)[0] <= _score(group, model, everywhere)[0]
    for k in chosen:
        fewer = tuple(one for one in chosen if one != k)
        assert _score(group, model, fewer) > _score(group, model, chosen) or not _broken(
            group, model, fewer
        ) <= _broken(group, model, everywhere)


@pytest.mark.parametrize("seed", range(12))
def test_unevenly_drilled_holes_against_springs_that_only_push(seed: int) -> None:
    """Every hole in turn `off` too low: non-negative least squares (scipy) of springs with a gap
    find the same loads.

    min sum (F_i^2 / 2k + F_i g_i) with sum F = W, sum F x = W x_c, F >= 0: the equilibrium of
    springs that push only.
    """
    rng = random.Random(seed)
    xs = sorted(rng.uniform(-300, 300) for _ in range(rng.randint(3, 5)))
    x_c, weight, stiff, off = (
        rng.uniform(xs[0] + 20, xs[-1] - 20),
        30.0,
        200.0,
        rng.choice([0.01, 0.05, 1.0]),
    )
    even = row_loads(xs, weight, x_c)
    if min(even.up) < 0:
        return
    most = list(even.up)
    for low in range(len(xs)):
        gaps = np.array([off if k == low else 0.0 for k in range(len(xs))])
        rows = np.vstack([np.eye(len(xs)), 1e4 * np.ones(len(xs)), 1e4 * np.array(xs) / 300])
        wanted = np.concatenate([-stiff * gaps, [1e4 * weight, 1e4 * weight * x_c / 300]])
        most = np.maximum(most, nnls(rows, wanted)[0])
    told = uneven_loads(xs, weight, x_c, stiff, off)
    assert told == pytest.approx(tuple(most), abs=1e-3 * weight)


def test_names_that_no_panel_has_are_refused_all_at_once() -> None:
    layout = wall(6, [(0, 0), (1, 0)])
    with pytest.raises(InputError) as caught:
        choose(
            WallToHang(
                layout,
                {"panel": plan_of(6)},
                masses(layout),
                HangParams(must=("X",), avoid=("Y",)),
                WallType(),
            )
        )
    assert [fault.key for fault in caught.value.faults] == ["hang.must", "hang.avoid"]


def test_a_panel_both_asked_for_and_forbidden() -> None:
    layout = wall(6, [(0, 0), (1, 0)])
    with pytest.raises(InputError, match=r'hang\.avoid: panel "A" is in hang\.must too'):
        choose(
            WallToHang(
                layout,
                {"panel": plan_of(6)},
                masses(layout),
                HangParams(must=("A",), avoid=("A",)),
                WallType(),
            )
        )


def test_must_in_a_zone_is_refused() -> None:
    layout = wall(6, [(0, 0), (1, 0)])
    zone = ((-30.0, -90.0), (30.0, -90.0), (30.0, 90.0), (-30.0, 90.0))
    fixed = {"panel": plan_of(6, offset=40.0)}
    with pytest.raises(
        InputError, match=r'hang\.must: panel "A" must have a hanger, but its screw at .* in a zone'
    ):
        choose(
            WallToHang(
                layout, fixed, masses(layout), HangParams(must=("A",), zones=(zone,)), WallType()
            )
        )


def test_one_avoided_side_leaves_the_weight_outside() -> None:
    """Panels B and C forbidden: the only screw left is far from the middle."""
    layout = wall(4, [(0, 0), (1, 0), (2, 0)])
    told_text = wanting(
        layout, {"panel": plan_of(4)}, masses(layout), HangParams(avoid=("B", "C")), WallType()
    )
    assert re.search(
        r"hang\.avoid: makes it impossible .*fewer than two screws are left for the panels",
        told_text,
    )


def test_no_room_for_a_keyhole_is_told() -> None:
    layout = wall(3, [(0, 0)], edge=69.3)
    with pytest.raises(
        InputError, match=r"panel\.hanger: no room for the keyhole in the base of panel A"
    ):
        choose(
            WallToHang(
                layout,
                {"panel": plan_of(3, 69.3, travel=40.0)},
                masses(layout),
                HangParams(),
                WallType(),
            )
        )


def test_unknown_kind_of_wall_is_refused_with_those_there_are() -> None:
    with pytest.raises(
        InputError,
        match=r'hang\.wall: unknown kind of wall "jelly"\. The shop has: brick, plaster\.',
    ):
        wall_type({"plaster": WallType(), "brick": WallType()}, "jelly")
    assert wall_type({"brick": WallType(shear_n=90.0)}, "brick").shear_n == 90.0


def test_a_wall_too_heavy_uses_every_place_and_says_so() -> None:
    layout = wall(6, [(0, 0), (1, 0), (0, 1)])
    hung = choose(
        WallToHang(layout, {"panel": plan_of(6)}, masses(layout, 4000.0), HangParams(), WallType())
    )
    assert len(hung.hangers) == 3
    assert "screw-load" in hung.broken


def test_hung_on_reckons_any_choice() -> None:
    layout = wall(6, [(0, 0), (1, 0), (2, 0)])
    hung = hung_on(
        WallToHang(layout, {"panel": plan_of(6)}, masses(layout), HangParams(), WallType()),
        ["A", "B"],
    )
    assert "centre" in hung.broken or hung.groups[0].margin >= 10.0
    assert sum(h.shear_n for h in hung.hangers) == pytest.approx(hung.groups[0].weight_n, abs=1e-9)


@pytest.mark.slow
def test_same_answer_twice() -> None:
    layout = wall(6, random_cells(random.Random(3), 6, 14))
    args = (layout, {"panel": plan_of(6)}, masses(layout), HangParams(), WallType())
    assert choose(WallToHang(*args)) == choose(WallToHang(*args))


def test_the_room_starts_light() -> None:
    """Nothing heavy is loaded until a wall is reckoned: `--help` and a refused file stay quick."""
    modules = "choose, template, fullsize, holes, order, jig, strength"
    code = (
        f"import sys; from fab.wall import {modules}; print(sorted({{'numpy', 'scipy', 'highspy',"
        " 'shapely', 'cadquery', 'reportlab'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
