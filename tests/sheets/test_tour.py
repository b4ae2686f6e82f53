"""The way between cuts."""

from __future__ import annotations

import itertools
import math
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fab.outlines.contour import Point
from fab.sheets.tour import Stop, tour


def length(found: list[tuple[int, int]], stops: list[Stop], start: Point = (0.0, 0.0)) -> float:
    at, total = start, 0.0
    for stop, door in found:
        total += math.dist(at, stops[stop][door][0])
        at = stops[stop][door][1]
    return total


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(st.floats(0, 100), st.floats(0, 100)), min_size=1, max_size=6, unique=True))
def test_short_tours_against_all_orders(points: list[Point]) -> None:
    """Brute force over every order; 2-opt and or-opt stay within a few per cent of the best."""
    stops: list[Stop] = [[(p, p)] for p in points]
    found = tour(stops, (0.0, 0.0))
    assert sorted(stop for stop, _ in found) == list(range(len(points)))
    orders = itertools.permutations(points)
    best = min(
        math.fsum(math.dist(a, b) for a, b in zip(((0.0, 0.0), *order), order, strict=False)) for order in orders
    )
    assert length(found, stops) <= 1.25 * best + 1e-6


def test_many_random_points_are_near_the_known_constant() -> None:
    """Tours of n random points in area A tend to 0.7124 sqrt(n A) (Beardwood, Halton and Hammersley 1959; the constant
    from simulations by others, from memory); at n = 500 the border adds some 7 per cent."""
    dice = random.Random(7)
    stops: list[Stop] = [[(p, p)] for p in ((dice.uniform(0, 100), dice.uniform(0, 100)) for _ in range(500))]
    assert length(tour(stops, (0.0, 0.0)), stops) < 1.2 * 0.7124 * math.sqrt(500 * 1e4)


def test_the_best_doors_are_used() -> None:
    """Three bars beside each other are cut up, down, up; brute force over doors agrees."""
    stops: list[Stop] = [[((x, 0.0), (x, 50.0)), ((x, 50.0), (x, 0.0))] for x in (10.0, 20.0, 30.0)]
    found = tour(stops, (0.0, 0.0))
    assert length(found, stops) == pytest.approx(10 + 10 + 10)


def test_far_and_equal_points_are_no_trap() -> None:
    stops: list[Stop] = [[((5000.0, 5000.0), (5000.0, 5000.0))], [((5000.0, 5000.1), (5000.0, 5000.1))]]
    assert len(tour(stops, (0.0, 0.0))) == 2
    same: list[Stop] = [[((3.0, 3.0), (3.0, 3.0))] for _ in range(20)]
    assert len(tour(same, (0.0, 0.0))) == 20
    assert tour([], (0.0, 0.0)) == []
