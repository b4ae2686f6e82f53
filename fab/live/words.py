"""A state in plain data for the page: figures and checks, each with its value before."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from fab.book.verdictpages import CONCERNS, ORDER, figures
from fab.checks.model import Verdict
from fab.layout.model import Layout
from fab.live.look import ABOUT, Look
from fab.live.pictures import Signs, signs

TIGHT = 0.1  # room to the limit, as a share of it, under which a check is shown; our choice
ON_LIMIT = 0.002  # less is rounding

Said = tuple[str, str]  # a verdict's word and measured figure
Key = tuple[str, str]  # a check and its subject


@dataclass(frozen=True)
class Before:
    """The figures of the states before this one."""

    rows: Mapping[str, str] = field(default_factory=dict)
    checks: Mapping[Key, Said] = field(default_factory=dict)
    signs: Signs | None = None
    layout: Layout | None = None

    def then(self, look: Look) -> Before:
        """The figures after this state; what it does not tell yet stays as it was."""
        told = {(one.id, one.subject): _said(one) for one in look.verdicts or ()}
        checks = told if look.made else {**self.checks, **told}
        return Before(
            {**self.rows, **dict(look.rows)}, checks, signs(look.layout, look.design), look.layout
        )


def rows(look: Look, before: Before) -> list[dict[str, Any]]:
    """Figures with label and text, what it was before, and whether it is of an older state."""
    now = dict(look.rows)
    found = []
    for name in dict.fromkeys([*now, *before.rows]):
        was, text = before.rows.get(name, ""), now.get(name)
        rough = was.startswith(ABOUT) or (text or "").startswith(ABOUT)
        changed = text is not None and was not in ("", text) and not rough
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
    """Checks to look at (failed, warned, or another verdict than before) in full; of those that
    pass narrowly a line each, all others counted by concern.
    """
    shown: list[dict[str, Any]] = []
    tight: dict[str, list[Verdict]] = {}
    quiet: dict[str, list[Verdict]] = {}
    for one in look.verdicts or ():
        was = before.checks.get((one.id, one.subject))
        if one.verdict != "pass" or (was is not None and was[0] != one.verdict):
            shown.append(_row(one, was, _remedy(one, look)))
        elif narrow(one):
            tight.setdefault(one.id, []).append(one)
        else:
            quiet.setdefault(one.id.partition(".")[0], []).append(one)
    shown.sort(key=lambda row: (ORDER[row["verdict"]], not row["turned"], row["id"]))
    nearest = sorted((min(group, key=room) for group in tight.values()), key=room)
    return {
        "known": look.verdicts is not None,
        "shown": shown,
        "tight": [_line(one, len(tight[one.id]) - 1) for one in nearest],
        "quiet": [
            {"name": name, "text": f"{name} ({CONCERNS.get(name, 'checks')}): {len(group)}"}
            for name, group in sorted(quiet.items())
        ],
        "others": sum(map(len, quiet.values())),
        "counted": {
            word: sum(one.verdict == word for one in look.verdicts or ()) for word in ORDER
        },
    }


def _remedy(one: Verdict, look: Look) -> str:
    """The remedy, once it was tried: the checks of a plan alone try theirs on the plan, those of
    the whole job are tried with the build.
    """
    if look.tried or look.design is None or one.verdict != "fail" or not one.remedy:
        return one.remedy
    return "" if look.trial else "The remedy is being tried on the whole job."


def _row(one: Verdict, was: Said | None, remedy: str) -> dict[str, Any]:
    measured, limit = figures(one)
    return {
        "id": one.id,
        "subject": one.subject,
        "verdict": one.verdict,
        "measured": measured,
        "limit": limit,
        "says": one.says,
        "remedy": remedy,
        "source": one.source,
        "turned": was is not None and was[0] != one.verdict,
        "before": f"{was[0]}, {was[1]}" if was is not None and was != _said(one) else "",
    }


def _line(one: Verdict, more: int) -> dict[str, str]:
    """A check that passes narrowly, in one line."""
    measured, limit = figures(one)
    others = f" and {more} more" if more else ""
    return {"name": one.id, "text": f"{one.id}, {one.subject}{others}: {measured}, limit {limit}"}


def _said(one: Verdict) -> Said:
    return one.verdict, figures(one)[0]


def room(one: Verdict) -> float:
    """Distance of a measured value from its limit, as a share of the limit."""
    return abs(one.measured - one.limit) / abs(one.limit) if one.limit else float("inf")


def narrow(one: Verdict) -> bool:
    """True when little room is left; not for fits, which are made to lie on it, nor for counts."""
    return one.unit != "" and ON_LIMIT < room(one) < TIGHT
