"""A bound holds at its limit and fails past it; its sentence is label, figure, limit."""

from __future__ import annotations

import math

import pytest

from fab.checks.model import Bound, at_least, at_most, judge


@pytest.mark.parametrize(
    ("bound", "holds"),
    [
        (at_least(0.3, 0.3), True),
        (at_least(0.29, 0.3), False),
        (at_least(0.29, 0.3, tolerance=0.01), True),
        (at_most(0.3, 0.3), True),
        (at_most(0.31, 0.3), False),
        (at_most(0.31, 0.3, tolerance=0.01), True),
        (at_least(math.nan, 0.3), False),
        (at_most(math.nan, 0.3), False),
        (at_least(math.inf, 0.3), True),
        (at_most(math.inf, 0.3), False),
    ],
)
def test_a_bound_holds_up_to_its_limit(bound: Bound, holds: bool) -> None:
    assert bound.holds is holds


def test_a_result_is_label_figure_and_limit() -> None:
    assert at_least(0.56, 0.3).sentence("Gap") == "Gap: 0.56 mm (minimum 0.3 mm)."
    assert at_most(2.0, 1.5, "").sentence("Ratio") == "Ratio: 2 (maximum 1.5)."
    assert at_least(math.inf, 3.0, "N").sentence("Pull") == "Pull: unlimited (minimum 3 N)."


def test_what_remains_is_told_as_missing_where_it_is_negative() -> None:
    told = at_least(-0.2, 0.5).sentence("Remaining floor thickness")
    assert told == "Missing floor thickness: 0.7 mm (maximum 0 mm)."


def test_a_remedy_stands_only_where_the_bound_does_not_hold() -> None:
    bad = judge("fit.gap", "panel", at_least(0.1, 0.3), "Gap.", remedy="More.", otherwise="warn")
    good = judge("fit.gap", "panel", at_least(0.4, 0.3), "Gap.", remedy="More.", otherwise="warn")
    assert (bad.verdict, bad.remedy) == ("warn", "More.")
    assert (good.verdict, good.remedy) == ("pass", "")
    assert (good.measured, good.limit, good.unit) == (0.4, 0.3, "mm")
