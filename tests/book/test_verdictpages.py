"""The line of a concern in the checks at a glance."""

from __future__ import annotations

from fab.book.verdictpages import tightest
from fab.checks.model import Verdict


def verdict(measured: float, limit: float, says: str) -> Verdict:
    return Verdict("fit.overlap", "pass", "wall", measured, limit, "mm3", says)


NOTHING = verdict(0.0, 0.0, "Overlap of all parts")


def test_nothing_where_nothing_is_allowed_is_no_margin() -> None:
    """ "0 of 0 mm3" would be told as the tightest margin, and says nothing."""
    assert tightest([NOTHING]) == ""


def test_a_measure_with_a_limit_is_told_beside_it() -> None:
    told = tightest([NOTHING, verdict(4.0, 5.0, "Overlap of a clip"), NOTHING])
    assert told == "fit.overlap, wall: 4 mm³ (maximum 5 mm³)"
