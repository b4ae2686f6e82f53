"""Names of the lists, words of their columns, and the verdict on whatever differs from them."""

from __future__ import annotations

from collections.abc import Iterable

from fab.checks.model import Verdict, at_most, judge

PANELS, JOINTS, PARTS = "lists/panels.csv", "lists/joints.csv", "lists/parts.csv"
PLACE_MM = 0.0011  # lists have three decimals
SUPPLY = ("full", "header")  # kinds of joint that pass supply on
HEADERS = ("full", "header", "no-supply", "header without supply")


def same(check: str, path: str, wrong: Iterable[str], good: str, unit: str = "places") -> Verdict:
    """Fails with the first of what is wrong."""
    told = list(wrong)
    more = f" and {len(told) - 3} more" if len(told) > 3 else ""
    return judge(
        check,
        path,
        at_most(float(len(told)), 0.0, unit),
        "; ".join(told[:3]) + more if told else good,
    )
