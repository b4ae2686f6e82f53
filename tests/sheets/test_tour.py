"""The way between cuts."""

from __future__ import annotations

import itertools
import math
import random
from itertools import pairwise

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from fab.outlines.contour import Point, polygon
from fab.sheets.freed import Freed
from fab.sheets.passes import Pass
from fab.sheets.tour import Stop, tour


def length(found: list[tuple[int, int]], stops: list[Stop], start: Point = (0.0, 0.0)) -> float:
    at, total = start, 0.0
    for stop, door in found:
        total += math.dist(at, stops[stop][door][0])
        at = stops[stop][door][1]
    return total


POINTS = st.tuples(st.floats(0, 100), st.floats(0, 100))


@settings(max_examples=40, deadline=None)
@given(st.lists(POINTS, min_size=1, max_size=6, unique=True))
@example(
    [(0.0, 48.0), (4.0, 20.0), (10.0, 6.0), (11.0, 0.0), (29.0, 0.0)]
)  # 2-opt and or-opt: 115.6; best 92.4
def test_short_tours_are_the_best_of_all_orders(points: list[Point]) -> None:
    """Brute force over every order."""
    stops: list[Stop] = [[(p, p)] for p in points]
    found = tour(stops, (0.0, 0.0))
    assert sorted(stop for stop, _ in found) == list(range(len(points)))
    best = min(
        length([(k, 0) for k in order], stops)
        for order in itertools.permutations(range(len(points)))
    )
    assert length(found, stops) == pytest.approx(best, abs=1e-6)


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.lists(st.tuples(POINTS, POINTS), min_size=1, max_size=3), min_size=2, max_size=4)
)
def test_doors_and_order_are_chosen_together(stops: list[Stop]) -> None:
    """Brute force over every order and every choice of doors."""
    every = [
        list(zip(order, doors, strict=True))
        for order in itertools.permutations(range(len(stops)))
        for doors in itertools.product(*(range(len(stops[k])) for k in order))
    ]
    found = tour(stops, (0.0, 0.0))
    assert length(found, stops) == pytest.approx(min(length(way, stops) for way in every), abs=1e-6)


CELLS = [(0, 0), (1, 0), (2, 0), (0, 1), (1, 1)]


@settings(max_examples=15, deadline=None)
@given(
    st.lists(
        st.tuples(st.sampled_from(CELLS), st.integers(1, 3)),
        min_size=2,
        max_size=5,
        unique_by=lambda c: c[0],
    )
)
@example(
    [((0, 0), 1), ((1, 0), 1), ((2, 0), 1)]
)  # all from the left: only the way back from the far end is clear
def test_ways_over_what_is_free_are_dearer_than_any_way_round(
    cells: list[tuple[tuple[int, int], int]],
) -> None:
    """Squares entered from the left, the right or either; brute force, with the tolls as `Freed`
    tells them for one order.
    """
    steps = [_square(20.0 * x + 10, 20.0 * y + 10, 14.0) for (x, y), _ in cells]
    middles = [[step.segments[0].start, step.segments[3].start] for step in steps]
    stops: list[Stop] = [
        [(p, p) for k, p in enumerate(pair) if sides >> k & 1]
        for pair, (_, sides) in zip(middles, cells, strict=True)
    ]
    freed = Freed(steps, stops)

    def cost(way: list[tuple[int, int]]) -> float:
        extra = freed.tolls([k for k, _ in way])
        return length(way, stops) + sum(
            leg[a][b] for leg, ((_, a), (_, b)) in zip(extra, pairwise(way), strict=True)
        )

    every = [
        list(zip(order, doors, strict=True))
        for order in itertools.permutations(range(len(stops)))
        for doors in itertools.product(*(range(len(stops[k])) for k in order))
    ]
    assert cost(tour(stops, (0.0, 0.0), freed)) == pytest.approx(min(map(cost, every)), abs=1e-6)


def _square(x: float, y: float, side: float) -> Pass:
    """Begins in the middle of its left side; the fourth line begins in the middle of the
    right one.
    """
    mid, right, top = y + side / 2, x + side, y + side
    return Pass(
        "outer",
        "s",
        polygon([(x, mid), (x, y), (right, y), (right, mid), (right, top), (x, top)]).segments,
    )


def test_many_random_points_are_near_the_known_constant() -> None:
    """Tours of n random points in area A tend to 0.7124 sqrt(n A) (Beardwood, Halton and Hammersley
    1959; the constant from simulations by others, from memory); at n = 500 the border adds some 7
    per cent.
    """
    dice = random.Random(7)
    stops: list[Stop] = [
        [(p, p)] for p in ((dice.uniform(0, 100), dice.uniform(0, 100)) for _ in range(500))
    ]
    assert length(tour(stops, (0.0, 0.0)), stops) < 1.2 * 0.7124 * math.sqrt(500 * 1e4)


def test_the_best_doors_are_used() -> None:
    """Three bars beside each other are cut up, down, up; brute force over doors agrees."""
    stops: list[Stop] = [[((x, 0.0), (x, 50.0)), ((x, 50.0), (x, 0.0))] for x in (10.0, 20.0, 30.0)]
    found = tour(stops, (0.0, 0.0))
    assert length(found, stops) == pytest.approx(10 + 10 + 10)


def test_far_and_equal_points_are_no_trap() -> None:
    stops: list[Stop] = [
        [((5000.0, 5000.0), (5000.0, 5000.0))],
        [((5000.0, 5000.1), (5000.0, 5000.1))],
    ]
    assert len(tour(stops, (0.0, 0.0))) == 2
    same: list[Stop] = [[((3.0, 3.0), (3.0, 3.0))] for _ in range(20)]
    assert len(tour(same, (0.0, 0.0))) == 20
    assert tour([], (0.0, 0.0)) == []
