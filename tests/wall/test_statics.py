"""Loads of screws against textbook cases and against independent solutions."""

from __future__ import annotations

import math
import random
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fab.wall.model import newtons
from fab.wall.statics import (
    _by_active_set,
    _by_halving,
    bolt_loads,
    column_uneven,
    pull_loads,
    pushed_loads,
    row_loads,
    uneven_loads,
)


def test_two_screws_are_the_lever_rule() -> None:
    """F1 = W (x2 - xc) / (x2 - x1): elementary statics.

    W 10, screws at 0 and 100, weight at 40 -> 6 and 4.
    """
    loads = row_loads([0.0, 100.0], 10.0, 40.0)
    assert loads is not None
    assert loads.up == pytest.approx((6.0, 4.0), abs=1e-9)


@pytest.mark.parametrize(
    ("x_c", "expected"), [(0.0, (4.0, 4.0, 4.0)), (10.0, (2.8, 4.0, 5.2)), (40.0, (-0.8, 4.0, 8.8))]
)
def test_three_equal_springs(x_c: float, expected: Any) -> None:
    """W/n + W (xc - x)(xi - x) / sum(xj - x)^2: elementary statics, W 12 on screws at -50,
    0, 50.
    """
    loads = row_loads([-50.0, 0.0, 50.0], 12.0, x_c)
    assert loads is not None
    assert loads.up == pytest.approx(expected, abs=1e-9)


def test_uplift_starts_at_a_third_of_the_outer_distance() -> None:
    """Three equal springs at +-50: the outer one is free of load at e = 100 / 3."""
    loads = row_loads([-50.0, 0.0, 50.0], 12.0, 100.0 / 3)
    assert loads is not None
    assert loads.up[0] == pytest.approx(0.0, abs=1e-9)


def test_three_in_line_share_by_stiffness() -> None:
    """A load over the middle of symmetric springs 1 : 2 : 1 is shared 1 : 2 : 1 (springs side by
    side).
    """
    loads = row_loads([-50.0, 0.0, 50.0], 12.0, 0.0, stiff=[1.0, 2.0, 1.0])
    assert loads is not None
    assert loads.up == pytest.approx((3.0, 6.0, 3.0), abs=1e-9)


def test_bolt_group_of_four() -> None:
    """Eccentric load on four bolts in a square: P/n straight, and P e r / sum r^2 turned
    (elementary theory).

    By hand: P 40 N, e 60 mm, bolts at (+-30, +-40): sum r^2 = 10000, so 10 N each and 40 * 60 /
    10000 = 0.24 N/mm; the right-hand bolts carry 10 + 0.24 * 30 = 17.2 N up and 0.24 * 40 = 9.6 N
    sideways.
    """
    loads = bolt_loads([(30.0, 40.0), (30.0, -40.0), (-30.0, 40.0), (-30.0, -40.0)], 40.0, 60.0)
    assert loads is not None
    assert loads.up == pytest.approx((17.2, 17.2, 2.8, 2.8), abs=1e-9)
    assert [abs(side) for side in loads.side] == pytest.approx([9.6] * 4, abs=1e-9)
    assert loads.shear[0] == pytest.approx(math.hypot(17.2, 9.6), abs=1e-9)


def test_pull_of_a_bracket() -> None:
    """T = W e / h: W 5 N, e 20 mm, h 80 mm -> 1.25 N (elementary statics)."""
    assert pull_loads([80.0], 5.0, 20.0) == pytest.approx((1.25,), abs=1e-9)


def test_pull_of_two_rows_grows_with_height() -> None:
    """M h / sum h^2: M = 100 N mm on rows at 60 and 80 -> 0.6 and 0.8 N; the moment is held: 0.6*60
    + 0.8*80 = 100.
    """
    assert pull_loads([60.0, 80.0], 10.0, 10.0) == pytest.approx((0.6, 0.8), abs=1e-9)


def test_a_screw_at_the_turning_line_holds_no_moment() -> None:
    assert pull_loads([0.0], 5.0, 20.0) == (math.inf,)
    assert pull_loads([0.0], 0.5, 1.0) == (math.inf,)
    assert pull_loads([0.0], 5.0, 0.0) == (0.0,)


def test_a_screw_below_the_turning_line_pulls_nothing() -> None:
    """All of M is held above it: M = 100 N mm at 80 mm; W 5 N, e 1 mm on a screw 0.5 mm above the
    line pulls 10 N.
    """
    assert pull_loads([80.0, 0.0, -10.0], 10.0, 10.0) == pytest.approx((1.25, 0.0, 0.0), abs=1e-12)
    assert pull_loads([0.5], 5.0, 1.0) == pytest.approx((10.0,))


def test_weight_of_a_mass() -> None:
    """0.35 kg weighs 3.4323 N at standard gravity, 9.80665 m/s2 (3rd CGPM, 1901)."""
    assert newtons(350.0) == pytest.approx(3.4323, abs=5e-5)


coordinate = st.floats(-2000.0, 2000.0)


@given(st.lists(coordinate, min_size=2, max_size=12), st.floats(0.1, 500.0), coordinate, st.data())
def test_row_against_least_squares(xs: Any, weight: float, x_c: Any, data: Any) -> None:
    """The stiffness equations solved by numpy's least squares, and equilibrium to 1e-9."""
    if max(xs) - min(xs) < 5.0:
        xs = [*xs, max(xs) + 50.0]
    stiff = data.draw(st.lists(st.floats(0.5, 3.0), min_size=len(xs), max_size=len(xs)))
    loads = row_loads(xs, weight, x_c, stiff)
    assert loads is not None
    k, x = np.array(stiff), np.array(xs)
    centred = x - x.mean()
    scale = np.abs(centred).max()
    arms = centred / scale
    a = np.array([[k.sum(), (k * arms).sum()], [(k * arms).sum(), (k * arms**2).sum()]])
    v, t = np.linalg.lstsq(a, np.array([weight, weight * (x_c - x.mean()) / scale]), rcond=None)[0]
    size = max(abs(up) for up in loads.up)
    assert loads.up == pytest.approx(tuple(k * (v + t * arms)), abs=1e-8 * size)
    assert math.fsum(loads.up) == pytest.approx(weight, abs=1e-9 * size)
    moment = math.fsum(up * (at - x_c) for up, at in zip(loads.up, xs, strict=True))
    assert abs(moment) <= 1e-9 * size * 4000


@given(
    st.lists(st.tuples(coordinate, coordinate), min_size=2, max_size=10),
    st.floats(0.1, 500.0),
    coordinate,
)
def test_bolt_group_against_the_full_stiffness_matrix(points: Any, weight: float, x_c: Any) -> None:
    """Three unknowns (u, v, turn) of a body on springs both ways, solved by numpy; equilibrium to
    1e-9.
    """
    if max(math.dist(points[0], p) for p in points) < 5.0:
        points = [*points, (points[0][0] + 60.0, points[0][1] + 10.0)]
    loads = bolt_loads(points, weight, x_c)
    assert loads is not None
    scale = max(max(abs(x), abs(y)) for x, y in points) + 1.0
    rows = [row for x, y in points for row in ([1.0, 0.0, -y / scale], [0.0, 1.0, x / scale])]
    stretch = np.array(rows)
    d = np.linalg.lstsq(
        stretch.T @ stretch, np.array([0.0, weight, weight * x_c / scale]), rcond=None
    )[0]
    forces = stretch @ d
    size = max(loads.shear)
    assert loads.side == pytest.approx(tuple(forces[::2]), abs=1e-6 * size)
    assert loads.up == pytest.approx(tuple(forces[1::2]), abs=1e-6 * size)
    assert abs(math.fsum(loads.side)) <= 1e-9 * size
    assert abs(math.fsum(loads.up) - weight) <= 1e-9 * size
    turn = math.fsum(
        u * (x - x_c) - s * y for u, s, (x, y) in zip(loads.up, loads.side, points, strict=True)
    )
    assert abs(turn) <= 1e-9 * size * scale


@pytest.mark.parametrize(
    ("count", "off_mm", "most"),
    [(1, 1.0, 10.0), (2, 0.0, 5.0), (2, 1.0, 7.5), (2, 4.0, 10.0), (3, 4.0, 5.0)],
)
def test_of_a_column_the_other_screws_carry_what_a_low_one_leaves(
    count: int, off_mm: float, most: float
) -> None:
    """By hand, W 10 N, k 5 N/mm: of two (10 + 5 g) / 2 once the low one is met, all of it before;
    of three (10 + 20) / 3 would be more than the two others carry, 10 / 2.
    """
    assert column_uneven(count, 10.0, 5.0, off_mm) == pytest.approx(most)


@pytest.mark.parametrize("seed", range(12))
def test_springs_that_push_balance_the_weight_whichever_way_they_are_solved(seed: int) -> None:
    """F = k max(0, v + t x - g) in balance is one answer: by taking out, and by halving."""
    chance = random.Random(seed)
    xs = sorted(chance.uniform(-300, 300) for _ in range(chance.randint(2, 6)))
    gaps = [chance.choice((0.0, 0.2, 0.5)) for _ in xs]
    x_c = chance.uniform(xs[0] + 1, xs[-1] - 1)
    by_set = _by_active_set(xs, gaps, 30.0, x_c, 40.0)
    by_half = _by_halving(xs, gaps, 30.0, x_c, 40.0)
    assert by_half is not None
    assert math.fsum(by_half) == pytest.approx(30.0, rel=1e-6)
    assert math.fsum(f * (x - x_c) for f, x in zip(by_half, xs, strict=True)) == pytest.approx(
        0.0, abs=1e-2
    )
    assert by_set == pytest.approx(by_half, abs=1e-3)
    assert _by_halving(xs, gaps, 30.0, xs[-1] + 50.0, 40.0) is None  # weight beyond the last screw


@pytest.mark.parametrize(
    ("off_mm", "outer", "middle"),
    [(0.0, 10.0, 10.0), (0.5, 35 / 3, 35 / 3), (2.0, 15.0, 50 / 3), (10.0, 15.0, 30.0)],
)
def test_a_low_hole_puts_its_load_on_the_others(off_mm: float, outer: float, middle: float) -> None:
    """By hand: W 30 N over the middle of screws at -100, 0, 100, k 10 N/mm.

    A low middle one leaves (W + k g) / 3 to each outer one, at most W / 2; a low outer one leaves
    (W + k g) / 3 to the middle one, at most all.
    """
    xs = [-100.0, 0.0, 100.0]
    most = uneven_loads(xs, 30.0, 0.0, 10.0, off_mm)
    assert most == pytest.approx((outer, middle, outer))


def test_where_a_low_hole_changes_nothing() -> None:
    """Two screws share by the lever rule; all of one x hold a weight beside it with any one."""
    assert uneven_loads([0.0, 100.0], 10.0, 40.0, 10.0, 2.0) == pytest.approx((6.0, 4.0))
    assert uneven_loads([5.0, 5.0, 5.0], 10.0, 8.0, 10.0, 2.0) == (10.0, 10.0, 10.0)


def test_a_screw_taken_out_comes_back_when_others_sink() -> None:
    """In balance by hand: 3.93 + 23.33 + 2.73 = 30 N, and their moment is 30 N at 148 mm; the
    wall is lifted off the two screws on the left.
    """
    xs, gaps = [0.0, 50.0, 100.0, 150.0, 200.0], [0.0, 2.0, 0.0, 2.0, 8.0]
    loads = pushed_loads(xs, gaps, 30.0, 148.0, 10.0)
    assert loads == pytest.approx((0.0, 0.0, 59 / 15, 70 / 3, 41 / 15))


def test_a_light_wall_between_two_of_four_screws() -> None:
    """The lever rule, 1 N at 110 mm on screws at 100 and 150: the other two are left hanging, for
    the last one is 1 mm low. Taking screws out and in runs round here.
    """
    xs, gaps = [0.0, 50.0, 100.0, 150.0], [0.0, 0.0, 0.0, 1.0]
    loads = pushed_loads(xs, gaps, 1.0, 110.0, 10.0)
    assert loads == pytest.approx((0.0, 0.0, 0.8, 0.2), abs=1e-6)
    assert _by_active_set(xs, gaps, 1.0, 110.0, 10.0) is None


def test_screws_over_each_other_hold_what_hangs_under_them_alone() -> None:
    """By stiffness; half a millimetre beside them is a moment that they cannot hold."""
    even = row_loads([5.0, 5.0], 10.0, 5.0, stiff=[1.0, 3.0])
    assert even is not None
    assert even.up == even.shear == pytest.approx((2.5, 7.5))
    assert row_loads([5.0, 5.0], 10.0, 5.5) is None
    one = bolt_loads([(5.0, 2.0), (5.0, 2.0)], 10.0, 5.0)
    assert one is not None
    assert one.up == one.shear == pytest.approx((5.0, 5.0))
    assert bolt_loads([(5.0, 2.0), (5.0, 2.0)], 10.0, 5.5) is None
    near = bolt_loads([(-0.5, 0.0), (0.5, 0.0)], 10.0, 0.5)
    assert near is not None
    assert near.up == pytest.approx((0.0, 10.0))


def test_a_row_is_pushed_upwards_alone() -> None:
    even = row_loads([0.0, 100.0], 10.0, 40.0)
    assert even is not None
    assert even.side == (0.0, 0.0)
