"""Crossings are counted, and a drawing that has too many of them is given up early."""

from __future__ import annotations

import random

import pytest

from fab.outlines.crossing_count import tangled

MANY = 20


def grating() -> list[list[tuple[float, float]]]:
    """Thin bars across thin bars: each of 2 x 20 long sides crosses each of 2 x 20 others once,
    1600 by hand.
    """
    across = [[(0, k), (100, k), (100, k + 0.2), (0, k + 0.2)] for k in range(1, MANY + 1)]
    upright = [[(k, 0), (k + 0.2, 0), (k + 0.2, 100), (k, 100)] for k in range(1, MANY + 1)]
    return [*across, *upright]  # type: ignore[list-item]


def test_the_count_is_exact() -> None:
    assert not tangled(grating(), (2 * MANY) ** 2)
    assert tangled(grating(), (2 * MANY) ** 2 - 1)


def test_lines_that_only_touch_do_not_cross() -> None:
    assert not tangled([[(0, 0), (1, 0), (1, 1), (0, 1)], [(1, 0), (2, 0), (2, 1), (1, 1)]], 0)
    assert not tangled([], 0)


@pytest.mark.slow
def test_a_star_of_a_thousand_corners_is_given_up() -> None:
    rng = random.Random(1)
    assert tangled([[(rng.random(), rng.random()) for _ in range(1_000)]])


def test_lines_that_lie_over_each_other_without_crossing_are_given_up(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Boxes of slanted lines all overlap: without a bound every pair of them would be looked at."""
    bars = [[(k * 1e-3, 0), (50 + k * 1e-3, 50), (50 + k * 1e-3 + 5e-4, 50)] for k in range(120)]
    assert not tangled(bars)
    monkeypatch.setattr("fab.outlines.crossing_count.MOST_PAIRS", 10_000)
    assert tangled(bars)
