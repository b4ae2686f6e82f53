"""The lift: against worked beams, and against every cut and every set of hands on small walls."""

from __future__ import annotations

import math
import random
from itertools import combinations
from typing import Any

import pytest

from fab.outlines.contour import polygon
from fab.params.shop import Filament
from fab.wall.carrier import BLOCK_PLAY, carrier, drawing
from fab.wall.lifting import JERK, best_hold, held, joint_moment, lines_of  # type: ignore[attr-defined]
from tests.wall.walls import plan_of, random_cells, wall

STRONG = 1e9


def chain(count: Any) -> Any:
    """A row of squares, their names from left to right, and joints that bear anything."""
    layout = wall(4, [(k, 0) for k in range(count)])
    names = [panel.name for panel in sorted(layout.panels, key=lambda panel: panel.x)]
    return layout, names, dict.fromkeys(range(len(layout.joints)), STRONG)


def test_a_row_held_at_both_ends_bends_like_point_loads_on_a_beam() -> None:
    """Five weights of 2 N, hands under the first and the last: each carries 5 N.

    At the joint half a pitch p past the middle: 5 N x 1.5 p - 2 N x (1.5 + 0.5) p = 3.5 N p. Worked
    by hand; the simply supported beam of any handbook.
    """
    layout, names, bears = chain(5)
    hold = held(
        layout,
        names,
        dict.fromkeys(names, 2.0),
        lines_of(layout, names, bears, STRONG),
        (0, len(names) - 1),
    )
    assert hold.moment_nmm == pytest.approx(3.5 * 69.3, rel=1e-9)
    assert hold.bears_nmm == pytest.approx(STRONG / JERK)


def test_a_long_row_tends_to_w_l_over_8() -> None:
    """M = W L / 8 of an even load on two supports at its ends; beam table, from memory.

    L here between the hands.
    """
    layout, names, bears = chain(41)
    hold = held(
        layout,
        names,
        dict.fromkeys(names, 1.0),
        lines_of(layout, names, bears, STRONG),
        (0, len(names) - 1),
    )
    assert hold.moment_nmm == pytest.approx(40.0 * 40 * 69.3 / 8, rel=0.01)


def test_two_hands_carry_a_row_best_near_the_points_of_least_bending() -> None:
    """An even beam on two supports bends least when they lie 0.2071 L from its ends (Airy-like: the
    overhang's q a^2 / 2 equals the span's moment; L (sqrt(2) - 1) / 2). From memory; a row of 12
    panels can be off by one.
    """
    layout, names, bears = chain(12)
    hold = best_hold(
        layout, names, dict.fromkeys(names, 1.0), lines_of(layout, names, bears, STRONG), 2
    )
    places = sorted(names.index(name) + 0.5 for name in hold.hands)
    wanted = 12 * (math.sqrt(2) - 1) / 2
    assert places[0] == pytest.approx(wanted, abs=1.0)
    assert 12 - places[1] == pytest.approx(wanted, abs=1.0)


def test_a_hand_under_every_panel_bends_nothing() -> None:
    layout, names, bears = chain(4)
    hold = best_hold(
        layout, names, dict.fromkeys(names, 2.0), lines_of(layout, names, bears, 10.0), 4
    )
    assert hold.use == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("sides", [3, 4, 6])
def test_the_best_hold_against_every_set_of_hands(sides: int) -> None:
    rng = random.Random(sides)
    for _ in range(4):
        layout = wall(sides, random_cells(rng, sides, 6))
        names = [panel.name for panel in layout.panels]
        weights = {name: rng.uniform(1.0, 4.0) for name in names}
        bears = {k: rng.uniform(50.0, 150.0) for k in range(len(layout.joints))}
        lines = lines_of(layout, names, bears, 30.0)
        least = min(
            held(layout, names, weights, lines, hands).use
            for hands in combinations(range(len(names)), 4)
        )
        best = best_hold(layout, names, weights, lines, 4)
        assert best.use == pytest.approx(least, rel=1e-9)


@pytest.mark.parametrize("sides", [3, 4, 6])
def test_no_straight_line_of_joints_is_missed(sides: int) -> None:
    """Every split of the panels by some straight line along a joint's edge, found by sweeping the
    line in small steps, has no higher use than what is told. The moments are summed here one by
    one.
    """
    rng = random.Random(10 + sides)
    layout = wall(sides, random_cells(rng, sides, 7))
    names = [panel.name for panel in layout.panels]
    weights = dict.fromkeys(names, 2.0)
    bears = dict.fromkeys(range(len(layout.joints)), 66.0)
    hands, reactions = next(
        (some, forces)
        for some in combinations(names, 3)
        if (forces := _three_hands(layout, names, weights, some)) is not None
    )
    places = [names.index(hand) for hand in hands]
    hold = held(layout, names, weights, lines_of(layout, names, bears, STRONG), places)
    for joint in layout.joints:
        angle = math.radians(joint.normal_deg + 90.0)
        ux, uy = math.cos(angle), math.sin(angle)
        offset = joint.y * ux - joint.x * uy
        away = {n: layout.by_name[n].y * ux - layout.by_name[n].x * uy - offset for n in names}
        moment = sum(
            (weights[n] - reactions.get(n, 0.0)) * away[n] for n in names if away[n] > 1e-9
        )
        cut = [j for j in layout.joints if (away[j.a] > 1e-9) != (away[j.b] > 1e-9)]
        bears_here = sum(
            66.0 * abs(math.cos(math.radians(j.normal_deg - joint.normal_deg))) for j in cut
        )
        assert JERK * abs(moment) / bears_here <= hold.use + 1e-9


def _three_hands(layout: Any, names: Any, weights: Any, hands: Any) -> Any:
    """Three hands are statically determinate: Cramer's rule; None where one would have to pull or
    they lie in a row.
    """
    spots = [(1.0, layout.by_name[h].x, layout.by_name[h].y) for h in hands]
    right = [
        sum(weights[n] * value for n, value in zip(names, column, strict=True))
        for column in (
            [1.0] * len(names),
            [layout.by_name[n].x for n in names],
            [layout.by_name[n].y for n in names],
        )
    ]

    def det(a: Any, b: Any, c: Any) -> Any:
        return (
            a[0] * (b[1] * c[2] - b[2] * c[1])
            - a[1] * (b[0] * c[2] - b[2] * c[0])
            + a[2] * (b[0] * c[1] - b[1] * c[0])
        )

    whole = det(*spots)
    if abs(whole) < 1.0:
        return None
    forces = [
        det(*(right if k == at else spot for k, spot in enumerate(spots))) / whole
        for at in range(3)
    ]
    return dict(zip(hands, forces, strict=True)) if min(forces) >= 0 else None


def test_clip_bars_bear_what_a_rectangle_in_bending_does() -> None:
    """M = s b t^2 / 6: PETG 1900 N/mm2 x 1.02 % x 0.5 = 9.69 N/mm2, two bars of 8 x 1.6 mm: 66.15 N
    mm.
    """
    assert joint_moment(plan_of(6), Filament(), header=False) == pytest.approx(66.15, abs=0.01)
    assert joint_moment(plan_of(6), Filament(), header=True) >= joint_moment(
        plan_of(6), Filament(), header=False
    )


@pytest.mark.parametrize("sides", [3, 4, 6])
def test_a_carrying_board_holds_all_and_its_blocks_lie_beside_the_panels(sides: int) -> None:
    import shapely

    rng = random.Random(sides)
    for count in (1, 5, 12):
        layout = wall(sides, random_cells(rng, sides, count))
        names = [panel.name for panel in layout.panels]
        made = carrier(layout, names)
        whole = shapely.union_all([shapely.Polygon(panel.corners) for panel in layout.panels])
        board = shapely.box(*made.box)
        assert board.contains(whole)
        assert made.blocks
        for block in made.blocks:
            shape = shapely.Polygon(block.corners)
            assert board.contains(shape)
            assert shape.intersection(whole).area < 0.02 * shape.area
            assert shape.distance(
                shapely.Polygon(layout.by_name[block.panel].corners)
            ) == pytest.approx(BLOCK_PLAY)
            assert all(shape.contains(shapely.Point(at)) for at in block.screws)
        shown = drawing(made, layout)
        # mirrored: the panel furthest to the right lies furthest to the left
        right = max(layout.panels, key=lambda panel: panel.x)
        mirrored = polygon([(made.box[2] - x, y - made.box[1]) for x, y in reversed(right.corners)])
        bodies = next(layer for layer in shown.layers if layer.name == "CARRIER-PANELS").contours
        assert any(body.box == pytest.approx(mirrored.box) for body in bodies)
