"""What the page says of a state, as plain data: figures and checks, each with what it was before."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from fab.book.verdictpages import CONCERNS, ORDER, figures
from fab.checks.model import Verdict
from fab.layout.model import Layout
from fab.live.look import Look
from fab.live.pictures import Signs, signs

TIGHT = 0.1  # room to the limit, as a share of it, under which a check is shown; our choice

Said = tuple[str, str]  # a verdict's word and measured figure
Key = tuple[str, str]  # a check and its subject


@dataclass(frozen=True)
class Before:
    """What was known of the states before this one."""

    rows: Mapping[str, str] = field(default_factory=dict)
    checks: Mapping[Key, Said] = field(default_factory=dict)
    signs: Signs | None = None
    layout: Layout | None = None

    def then(self, look: Look) -> Before:
        """What is known after this state; what it does not tell yet stays as it was."""
        told = {(one.id, one.subject): _said(one) for one in look.verdicts or ()}
        checks = told if look.made else {**self.checks, **told}
        return Before(
            {**self.rows, **dict(look.rows)}, checks, signs(look.layout, look.design), look.layout
        )


def rows(look: Look, before: Before) -> list[dict[str, Any]]:
    """Figures with label and text, what the text was before, and whether it is of an older state."""
    now = dict(look.rows)
    found = []
    for name in dict.fromkeys([*now, *before.rows]):
        was, text = before.rows.get(name, ""), now.get(name)
        changed = text is not None and was not in ("", text)
        found.append(
            {
                "name": name,
                "text": was if text is None else text,
                "before": was if changed else "",
                "stale": text is None,
            }
        )
    return found


def checks(look: Look, before: Before) -> dict[str, Any]:
    """Checks to look at (failed, warned, tight, or another verdict than before), and all others
    counted by concern.
    """
    shown: list[dict[str, Any]] = []
    quiet: dict[str, list[Verdict]] = {}
    for one in look.verdicts or ():
        was = before.checks.get((one.id, one.subject))
        turned = was is not None and was[0] != one.verdict
        if one.verdict != "pass" or turned or room(one) < TIGHT:
            shown.append(_row(one, was, look.tried))
        else:
            quiet.setdefault(one.id.partition(".")[0], []).append(one)
    shown.sort(key=lambda row: (ORDER[row["verdict"]], not row["turned"], row["id"]))
    return {
        "known": look.verdicts is not None,
        "shown": shown,
        "quiet": [
            {
                "name": name,
                "about": CONCERNS.get(name, ""),
                "count": len(group),
                "nearest": _nearest(group),
            }
            for name, group in sorted(quiet.items())
        ],
        "counted": {
            word: sum(one.verdict == word for one in look.verdicts or ()) for word in ORDER
        },
    }


def _row(one: Verdict, was: Said | None, tried: bool) -> dict[str, Any]:
    measured, limit = figures(one)
    waits = one.verdict == "fail" and not tried and bool(one.remedy)
    return {
        "id": one.id,
        "subject": one.subject,
        "verdict": one.verdict,
        "measured": measured,
        "limit": limit,
        "says": one.says,
        "remedy": "The remedy is being tried on the whole job." if waits else one.remedy,
        "source": one.source,
        "turned": was is not None and was[0] != one.verdict,
        "before": f"{was[0]}, {was[1]}" if was is not None and was != _said(one) else "",
    }


def _said(one: Verdict) -> Said:
    return one.verdict, figures(one)[0]


def room(one: Verdict) -> float:
    """How far a measured value is from its limit, as a share of the limit."""
    return abs(one.measured - one.limit) / abs(one.limit) if one.limit else float("inf")


def _nearest(group: Sequence[Verdict]) -> str:
    """The check of a concern with the least room, in words."""
    one = min(group, key=room)
    measured, limit = figures(one)
    return f"{one.id}: {measured}, limit {limit}"
