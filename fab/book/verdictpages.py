"""Checks in the book: a line a concern where it begins, in full in its appendix.

A new check shows up in both by itself.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from fab.checks.model import Verdict
from fab.files.document import Block, Chapter, Facts, Para, Table
from fab.units import figure, some

ORDER = {"fail": 0, "warn": 1, "pass": 2}
HEADER = ("check", "of", "measured", "limit", "says", "source of the limit")
CONCERNS = {
    "board": "the circuit board against base, shell and diffuser",
    "art": "pictures on the parts",
    "cut": "the cut sheets",
    "fit": "parts against each other, measured on the solids",
    "hang": "screws, joints and the order of hanging",
    "heat": "temperatures",
    "light": "evenness, dots, leaks",
    "power": "currents, voltages, zones",
    "print": "walls, overhangs, bed, plates",
    "proof": "the written files, read back by a second program",
    "snap": "clips, caps and snaps",
    "openings": "openings and additions of your own",
}
# Units of what is measured. All others are counts: a count that just holds is not a near thing.
MEASURES = ("mm", "mm2", "mm3", "%", "N", "N/mm2", "A", "V", "W", "K", "degC", "deg", "g", "kg")


def at_a_glance(verdicts: Sequence[Verdict], allow: frozenset[str]) -> Chapter:
    """Checks that did not pass, in full and first; of what passed a line a concern."""
    counted = {word: sum(1 for verdict in verdicts if verdict.verdict == word) for word in ORDER}
    open_ = sorted(
        (v for v in verdicts if v.verdict != "pass"),
        key=lambda v: (ORDER[v.verdict], v.id, v.subject),
    )
    blocks: list[Block] = [
        Facts(
            (
                ("Checks passed", str(counted["pass"])),
                ("Warnings", str(counted["warn"])),
                ("Failed, accepted with --allow", str(counted["fail"])),
            )
        )
    ]
    if open_:
        rows = tuple(
            _row(v, v.subject, " Accepted for this build." if v.id in allow else "") for v in open_
        )
        blocks.append(
            Table(
                "What did not pass",
                HEADER,
                rows,
                numeric=(2, 3),
                marks=tuple(v.verdict for v in open_),
            )
        )
    concerns: dict[str, list[Verdict]] = {}
    for verdict in verdicts:
        concerns.setdefault(verdict.id.split(".")[0], []).append(verdict)
    rows = tuple(
        (name, CONCERNS.get(name, ""), _share(group), tightest(group))
        for name, group in sorted(concerns.items())
    )
    blocks.append(
        Table("By concern", ("concern", "checks", "result", "tightest margin of a measure"), rows)
    )
    blocks.append(
        Para(
            "The appendix has what each check measured; `manifest.json` has every single verdict,"
            " also those of the checks that read this book once it is written."
        )
    )
    return Chapter("Checks at a glance", "checks", tuple(blocks))


def _share(group: Sequence[Verdict]) -> str:
    """The number that passed, and the verdicts of the rest."""
    passed = sum(1 for verdict in group if verdict.verdict == "pass")
    rest = [
        f"{count} {said}"
        for word, said in (("warn", "with a warning"), ("fail", "failed"))
        if (count := sum(1 for v in group if v.verdict == word))
    ]
    whole = f"{passed} of {len(group)}" if rest else str(passed)
    return ", ".join([f"{whole} passed", *rest])


def tightest(group: Sequence[Verdict]) -> str:
    """The measure with the least room to its limit, as a label, a figure and the limit; "" when
    all are counts or nothing at all.
    """
    measured = [
        v
        for v in group
        if math.isfinite(v.measured)
        and math.isfinite(v.limit)
        and (v.measured or v.limit)  # nothing over, of nothing allowed: no margin to tell
        and (v.unit in MEASURES or (not v.unit and v.limit != round(v.limit)))
    ]
    if not measured:
        return ""
    least, _ = _nearest(measured)
    value, limit = figures(least)
    return f"{least.id}, {least.subject}: {value} ({bound(least)} {limit})"


def bound(verdict: Verdict) -> str:
    """The side on which the limit holds: "minimum", "maximum", or "limit" for a measure on it."""
    if math.isclose(verdict.measured, verdict.limit, rel_tol=1e-3, abs_tol=1e-9):
        return "limit"  # a check has its tolerance, so which side it is on says nothing
    held = verdict.verdict == "pass"
    return "minimum" if (verdict.measured > verdict.limit) == held else "maximum"


def in_full(verdicts: Sequence[Verdict]) -> Chapter:
    """Checks that passed, a line each: the verdict with the least room to its limit."""
    groups: dict[str, list[Verdict]] = {}
    for verdict in verdicts:
        if verdict.verdict == "pass":
            groups.setdefault(verdict.id, []).append(verdict)
    rows = tuple(_row(*_nearest(group)) for _, group in sorted(groups.items()))
    return Chapter(
        "Checks in full",
        "checks-in-full",
        (
            Table(
                "Passed checks; of several, the one nearest to its limit",
                HEADER,
                rows,
                numeric=(2, 3),
            ),
        ),
        folded=True,
    )


def _row(verdict: Verdict, subject: str, tail: str = "") -> tuple[str, ...]:
    says = f"{verdict.says}{tail} {verdict.remedy}".strip()
    return (verdict.id, subject, *figures(verdict), says, verdict.source)


def figures(verdict: Verdict) -> tuple[str, str]:
    """Measured value and limit for people: no rounding dust, no infinities."""
    dust = min(1e-4, abs(verdict.limit) * 1e-3) if verdict.limit else 1e-9
    measured = 0.0 if abs(verdict.measured) < dust else verdict.measured
    return figure(measured, verdict.unit), figure(verdict.limit, verdict.unit)


def _nearest(group: Sequence[Verdict]) -> tuple[Verdict, str]:
    """The verdict with the least room to its limit, and whom the group is about."""

    def room(verdict: Verdict) -> float:
        return abs(verdict.measured - verdict.limit) / (abs(verdict.limit) or 1.0)

    worst = min(group, key=room)
    others = len(group) - 1
    about = worst.subject if not others else f"{worst.subject} and {some(others, 'other')}"
    return worst, about
