"""Answers of the solver of integer programmes that were kept are those of a fresh search."""

from __future__ import annotations

import itertools

from hypothesis import given
from hypothesis import strategies as st

from fab import integers

MOST = 3.0  # of an unknown


@given(
    cost=st.lists(st.integers(-5, 5), min_size=2, max_size=4),
    factors=st.lists(st.integers(-3, 3), min_size=4, max_size=4),
    ends=st.tuples(st.integers(-6, 0), st.integers(0, 6)),
)
def test_a_kept_answer_is_the_fresh_one(
    cost: list[int], factors: list[int], ends: tuple[int, int]
) -> None:
    """The same question asked anew, kept or not, and of another one with the same numbers in other
    places; the best cost by brute force over all whole points.
    """
    many = len(cost)
    row = ({k: float(factors[k]) for k in range(many)}, float(ends[0]), float(ends[1]))

    def asked(costs: list[int]) -> integers.Solution:
        low, high = [0.0] * many, [MOST] * many
        return integers.least(list(map(float, costs)), low, high, many, [row], gap=0.0, nodes=999)

    first, other, kept = asked(cost), asked(cost[::-1]), asked(cost)
    assert kept is first  # so it was kept
    integers._kept.cache_clear()
    assert asked(cost) == first
    assert asked(cost[::-1]) == other
    for costs, answer in ((cost, first), (cost[::-1], other)):
        assert answer.best
        assert round(_cost(costs, answer.values), 6) == min(
            _cost(costs, point)
            for point in itertools.product(range(int(MOST) + 1), repeat=many)
            if ends[0] <= _cost(factors, point) <= ends[1]
        )


def _cost(factors: list[int], values: tuple[float, ...]) -> float:
    return sum(factor * value for factor, value in zip(factors, values, strict=False))
