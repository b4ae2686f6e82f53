"""The ranges of the sliders, worked out beside the watch: at once by the checks of the plan, then
by every check that needs no solid. Each try is judged in a process of its own, so that a save is
read and drawn as quickly as without.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import asdict, replace

from fab import verdicts
from fab.checks import light
from fab.checks.edges import edge_checks
from fab.checks.model import Verdict
from fab.checks.snap import all_faults
from fab.colours import reflectance
from fab.decisions import decide, lay_out, plans_of
from fab.errors import PanejigError
from fab.graph.workers import Beside
from fab.live.board import Board
from fab.live.look import Look
from fab.live.newest import Newest
from fab.live.sliders import Search, Slider, narrowed, passing, sliders, spanning
from fab.params.changing import with_values
from fab.params.job import Job
from fab.units import fixed
from fab.weigh import rough_masses

RANGES = "/ranges.json"
CANNOT_BE = "cannot be built"  # in place of the id of a check

Failing = frozenset[str]  # ids of checks
Judge = Callable[[Job, Failing], Failing]


class Ranges:
    """Puts the sliders of the newest good state on the board, again when one is narrowed."""

    def __init__(self, board: Board) -> None:
        self.board, self.beside = board, Beside()
        self.work: Newest[tuple[int, Look]] = Newest("ranges", self._round)

    def take(self, number: int, look: Look) -> None:
        """Work on the sliders of this save next."""
        self.work.take((number, look))

    def _round(self, task: tuple[int, Look], still: Callable[[], None]) -> None:
        number, look = task
        job, began = look.loaded.job, time.perf_counter()
        found = sliders(look)
        if not self.board.content(RANGES).startswith(b"{"):
            self._show(number, found, began)  # the first ones, as far as each can go at all
        for judge, search in JUDGES:
            last = (judge, search) == JUDGES[-1] or look.design is None
            allowed = self._failing(judge, job, still)
            for place, one in reversed(list(enumerate(found))):  # the quick ones to judge first

                def fails(value: float, key: str = one.key) -> Failing:
                    return self._failing(judge, job, still, key, value, allowed)  # noqa: B023

                if one.plan or judge is by_all:
                    found[place] = narrowed(one, search, fails)
                if last:
                    found[place] = replace(found[place], working=False)
                    self._show(number, found, began)
            self._show(number, found, began)
            if last:
                return

    def _failing(
        self,
        judge: Judge,
        job: Job,
        still: Callable[[], None],
        key: str = "",
        value: float = 0.0,
        allowed: Failing = frozenset(),
    ) -> Failing:
        """Checks that fail with another value and are not allowed to."""
        still()
        found: Failing | None = self.beside.call(tried, judge, job, key, value, allowed)
        still()
        return found or frozenset()

    def _show(self, number: int, found: list[Slider], began: float) -> None:
        seconds = round(time.perf_counter() - began, 2)
        rows = [asdict(one) for one in found]
        self.board.publish({RANGES: {"save": number, "sliders": rows, "seconds": seconds}})


def tried(judge: Judge, job: Job, key: str, value: float, allowed: Failing) -> Failing:
    """A judge's faults of a job with another value, the allowed left out."""
    try:
        changed = with_values(job, [(key, fixed(value, 4))]) if key else job
        return judge(changed, allowed) - allowed
    except (PanejigError, ValueError, ZeroDivisionError):
        return frozenset((CANNOT_BE,))


def by_plan(job: Job, _allowed: Failing = frozenset()) -> Failing:
    """Checks of plan and layout that fail."""
    plans, layout = plans_of(job), lay_out(job)
    edges = {one.id for one in edge_checks(layout, plans) if one.verdict == "fail"}
    return frozenset(edges.union(*map(all_faults, plans.values())))


def by_all(job: Job, allowed: Failing = frozenset()) -> Failing:
    """Checks that fail of all that need no solid, panels weighed from their outlines; no more are
    asked as soon as one fails that is not allowed to.
    """
    found: Failing = frozenset()
    for more in _in_turn(job):
        found |= more
        if not found <= allowed:
            break
    return found


def _in_turn(job: Job) -> Iterator[Failing]:
    """Failing checks, those first that are known soonest."""
    yield by_plan(job)
    for plan in plans_of(job).values():
        yield light.failing(plan, reflectance(job, plan.params), job.light)
    design = decide(job, rough_masses)
    yield _ids(verdicts.plan_verdicts(design))
    yield _ids(verdicts.electric_verdicts(design, ways=False))
    yield _ids(verdicts.hang_verdicts(design))


def _ids(found: Iterable[Verdict]) -> Failing:
    return frozenset(one.id for one in found if one.verdict == "fail")


JUDGES: tuple[tuple[Judge, Search], ...] = ((by_plan, passing), (by_all, spanning))
