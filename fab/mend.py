"""Remedies of a whole job: each is applied, every check that needs no solid is run again, and only
what works is told.

A try is judged with panels weighed from their outlines as if printed solid, so a little too heavy:
no solid is made.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, islice

from fab.checks.changes import Change, changes_told
from fab.checks.model import Verdict
from fab.checks.remedy import NOT_ONE
from fab.errors import PanejigError
from fab.params.changing import value_of, with_values
from fab.params.job import Job
from fab.params.quoting import show
from fab.units import fixed

MOST_TRIES = 12  # single changes of one check that are tried on the whole job
MOST_PAIRS = 8
MOST_SECONDS = 3  # changes told, and of each what mends the check that it breaks
MOST_ROUNDS = 30
# What is measured in the shop, what a supply or a room is, and limits of safety and light: no
# mending of these.
KEPT = (
    "shop.",
    "light.",
    "power.supply",
    "power.ambient",
    "power.cable",
    "power.derate",
    "power.socket",
)
KEPT_KEYS = ("hang.factor", "hang.wall", "hang.drill_mm", "hang.studs", "hang.rails", "hang.zones")
LOWER_ONLY = ("hang.reach",)  # a larger one is a looser limit
Judged = tuple[Verdict, ...]
# every check that needs no solid; raises PanejigError when the wall can't be laid out
Judge = Callable[[Job], Judged]


@dataclass(frozen=True)
class MendStep:
    """One change, the check it was made for, and what was there before."""

    key: str
    value: str
    before: str
    check: str
    why: str


@dataclass(frozen=True)
class Mended:
    """A job on its way: what was changed, and what still fails."""

    job: Job
    steps: tuple[MendStep, ...]
    left: Judged

    @property
    def good(self) -> bool:
        """True when no failed check is left."""
        return not self.left


def fails(verdicts: Sequence[Verdict]) -> frozenset[tuple[str, str]]:
    """Checks that fail, each with its subject."""
    return frozenset((one.id, one.subject) for one in verdicts if one.verdict == "fail")


def cures(
    job: Job, verdict: Verdict, before: Judged, judge: Judge
) -> Iterator[tuple[Change, Judged]]:
    """Changes told by a failed verdict, and pairs of those of all failed ones, with which it passes
    and no other check fails that passed; each with what the checks then say.
    """
    told = [change for change in changes_told(verdict.remedy) if change]
    others = [
        change
        for one in before
        if one.verdict == "fail" and one is not verdict
        for change in changes_told(one.remedy)
    ]
    pairs = (_both(a, b) for a, b in combinations([*told, *others], 2) if a in told)
    for change in (*islice(told, MOST_TRIES), *islice(pairs, MOST_PAIRS)):
        after = _after(job, change, judge)
        if after is not None and works(verdict, before, after):
            yield change, after


def _both(first: Change, second: Change) -> Change:
    """Two changes as one; of a key that both set, the second's value."""
    return tuple(dict((*first, *second)).items())


def works(verdict: Verdict, before: Judged, after: Judged) -> bool:
    """True when a failed check passes and nothing fails that passed before.

    By ids: a change may rename subjects. A check that was not reached before, because the design
    could not be built, did not pass.
    """
    was, now = {name for name, _ in fails(before)}, {name for name, _ in fails(after)}
    new = {one.id for one in before if one.id in now - was}
    many = [one for one in fails(before) if one[0] == verdict.id]
    gone = verdict.id not in now or len(_of(after, verdict.id)) < len(many)
    return gone and not new


def _of(found: Judged, check: str) -> list[tuple[str, str]]:
    return [one for one in fails(found) if one[0] == check]


def _after(job: Job, change: Change, judge: Judge) -> Judged | None:
    try:
        return judge(with_values(job, change))
    except PanejigError:
        return None


def with_tried(job: Job, verdicts: Judged, judge: Judge, remedies: Judge | None = None) -> Judged:
    """The verdicts with remedies that were tried on the whole job; where a told one does not work
    and none that mends what it breaks was found, that is said. `remedies`: the checks with what
    they tell, to mend what a change breaks.
    """
    return tuple(_tried(job, one, verdicts, judge, remedies) for one in verdicts)


def _tried(
    job: Job, verdict: Verdict, verdicts: Judged, judge: Judge, remedies: Judge | None
) -> Verdict:
    changes = changes_told(verdict.remedy)
    if verdict.verdict != "fail" or not changes:
        return verdict
    first = next((change for change, _ in cures(job, verdict, verdicts, judge)), None)
    if first == changes[0]:
        return verdict
    if first is None and remedies is not None:
        first = next(_with_second(job, verdict, changes, verdicts, judge, remedies), None)
    if first is None:
        keys = ", ".join(dict.fromkeys(key for change in changes for key, _ in change))
        words = (
            "No single change repairs it without breaking another check. The result depends on"
            f" {keys}."
        )
        return replace(verdict, remedy=words)
    words = " and ".join(f"{key} = {value}" for key, value in first)
    alone = first in changes or len(first) == 1
    return replace(verdict, remedy=f"{'' if alone else NOT_ONE + ' '}Set {words}.")


def _with_second(
    job: Job,
    verdict: Verdict,
    changes: Sequence[Change],
    before: Judged,
    judge: Judge,
    remedies: Judge,
) -> Iterator[Change]:
    """A change told, with one that mends what it breaks, as the checks then tell it."""
    for change in changes[:MOST_SECONDS]:
        found = _after(job, change, remedies) or ()
        broken = [one for one in found if one.verdict == "fail" and one.id != verdict.id]
        for one in broken:
            for second in changes_told(one.remedy)[:MOST_SECONDS]:
                both = _both(change, second)
                after = _after(job, both, judge)
                if after is not None and works(verdict, before, after):
                    yield both


def may_change(job: Job, change: Change) -> bool:
    """True when mending may set these values: no measurement of the shop, no limit of safety."""
    for key, value in change:
        if key.startswith(KEPT) or key in KEPT_KEYS:
            return False
        if key in LOWER_ONLY and float(value) > value_of(job, key):
            return False
    return True


def mend(
    job: Job,
    judge: Judge,
    tries: Judge | None = None,
    look: Callable[[Judged], None] = lambda _found: None,
) -> Mended:
    """Change values until every check that needs no solid passes, or none of the told changes helps
    any more. `tries`: the same checks at their quickest, for what is only tried.
    """
    steps: list[MendStep] = []
    now = judge(job)
    for _ in range(MOST_ROUNDS):
        look(now)
        broken = [one for one in now if one.verdict == "fail"]
        found = next(_next(job, broken, now, tries or judge), None) or next(
            _mended_twice(job, broken, now, tries or judge, judge), None
        )
        if found is None:
            break
        verdict, change = found
        for key, value in change:
            steps.append(MendStep(key, value, _shown(value_of(job, key)), verdict.id, verdict.says))
        job = with_values(job, change)
        now = judge(job)
    return Mended(job, tuple(steps), tuple(one for one in now if one.verdict == "fail"))


def _next(
    job: Job, broken: Sequence[Verdict], now: Judged, judge: Judge
) -> Iterator[tuple[Verdict, Change]]:
    """Changes that cure one check and break no other, in the order of the checks."""
    for verdict in broken:
        for change, _ in cures(job, verdict, now, judge):
            if may_change(job, change):
                yield verdict, change


def _mended_twice(
    job: Job, broken: Sequence[Verdict], now: Judged, judge: Judge, remedies: Judge
) -> Iterator[tuple[Verdict, Change]]:
    """Changes told by one check, each with one that mends what it breaks."""
    for verdict in broken:
        changes = changes_told(verdict.remedy)
        for change in _with_second(job, verdict, changes, now, judge, remedies):
            if may_change(job, change):
                yield verdict, change


def _shown(value: object) -> str:
    return "left out" if value is None else show(value)


def dimmer(steps: Sequence[MendStep]) -> str:
    """The cut in brightness, in words; "" when there is none."""
    found = [step for step in steps if step.key == "power.brightness"]
    if not found:
        return ""
    before, after = found[0].before, found[-1].value
    share = (
        f" ({fixed(100 * (1 - float(after) / float(before)), 0)} % less)"
        if before.replace(".", "").isdigit()
        else ""
    )
    return f"Brightness: {after} in place of {before}{share}."
