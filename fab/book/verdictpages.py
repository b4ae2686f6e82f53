"""Checks in the book: at a glance where it begins, in full at its end.

A new check shows up in both by itself.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from fab.checks.model import Verdict
from fab.files.document import Block, Chapter, Facts, Para, Table

ORDER = {"fail": 0, "warn": 1, "pass": 2}
HEADER = ("check", "of", "measured", "limit", "says", "source of the limit")
CONCERNS = {
    "board": "the circuit board against base, shell and diffuser",
    "art": "pictures on the parts",
    "cut": "the cut sheets",
    "fit": "parts against each other, measured on the solids",
    "hang": "screws, joints and the order of hanging",
    "heat": "warmth",
    "light": "evenness, dots, leaks",
    "power": "currents, volts, zones",
    "print": "walls, overhangs, bed, plates",
    "proof": "the written files, read back by other code than wrote them",
    "snap": "clips, caps and snaps",
    "openings": "openings and additions of your own",
}


def at_a_glance(verdicts: Sequence[Verdict], allow: frozenset[str]) -> Chapter:
    """What did not pass in full and first; of what passed a line a concern."""
    counted = {word: sum(1 for verdict in verdicts if verdict.verdict == word) for word in ORDER}
    open_ = sorted(
        (v for v in verdicts if v.verdict != "pass"),
        key=lambda v: (ORDER[v.verdict], v.id, v.subject),
    )
    blocks: list[Block] = [
        Facts(
            (
                ("Passed", str(counted["pass"])),
                ("Look at", str(counted["warn"])),
                ("Failed, allowed by name", str(counted["fail"])),
            )
        )
    ]
    if open_:
        rows = tuple(
            _row(v, v.subject, " Allowed by name for this build." if v.id in allow else "")
            for v in open_
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
    else:
        blocks.append(Para("Every check passed: nothing has to be looked at before you begin."))
    concerns: dict[str, list[Verdict]] = {}
    for verdict in verdicts:
        concerns.setdefault(verdict.id.split(".")[0], []).append(verdict)
    rows = tuple(
        (name, CONCERNS.get(name, ""), str(len({v.id for v in group})), _share(group))
        for name, group in sorted(concerns.items())
    )
    blocks.append(
        Table("By concern", ("concern", "asks about", "checks", "verdicts"), rows, numeric=(2,))
    )
    blocks.append(
        Para(
            "What each check measured stands at the end of this book, every single verdict in"
            " manifest.json."
        )
    )
    return Chapter("Checks at a glance", "checks", tuple(blocks))


def _share(group: Sequence[Verdict]) -> str:
    """How many passed, and what the rest did."""
    passed = sum(1 for verdict in group if verdict.verdict == "pass")
    rest = [
        f"{count} {said}"
        for word, said in (("warn", "to look at"), ("fail", "failed"))
        if (count := sum(1 for v in group if v.verdict == word))
    ]
    return ", ".join([f"{passed} of {len(group)} passed", *rest])


def in_full(verdicts: Sequence[Verdict]) -> Chapter:
    """What passed, a line a check: the verdict with the least room to its limit."""
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
                "What passed; of several, the one nearest to its limit",
                HEADER,
                rows,
                numeric=(2, 3),
            ),
        ),
    )


def _row(verdict: Verdict, subject: str, tail: str = "") -> tuple[str, ...]:
    says = f"{verdict.says}{tail} {verdict.remedy}".strip()
    return (verdict.id, subject, *figures(verdict), says, verdict.source)


def figures(verdict: Verdict) -> tuple[str, str]:
    """Measured value and limit for people: no rounding dust, no infinities."""
    dust = min(1e-4, abs(verdict.limit) * 1e-3) if verdict.limit else 1e-9
    measured = 0.0 if abs(verdict.measured) < dust else verdict.measured
    unit = f" {verdict.unit}" if verdict.unit else ""
    return _figure(measured, unit), _figure(verdict.limit, unit)


def _figure(value: float, unit: str) -> str:
    return f"{value:.4g}{unit}" if math.isfinite(value) else "none there"


def _nearest(group: Sequence[Verdict]) -> tuple[Verdict, str]:
    """The verdict with the least room to its limit, and whom the group is about."""

    def room(verdict: Verdict) -> float:
        return abs(verdict.measured - verdict.limit) / (abs(verdict.limit) or 1.0)

    worst = min(group, key=room)
    others = len(group) - 1
    return worst, worst.subject if not others else f"{worst.subject} and {others} more"
