"""The slow half of a round, in a thread of its own: zones and screws, then solids and the build.

The newest save wins: as soon as a newer one is there, the work on an older one is given up at the
next product, and its last build stays.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from fab import workshop
from fab.built import CHECKS, Built
from fab.errors import CheckFailed, InputError, PanejigError
from fab.live import look as looks
from fab.live import pieces
from fab.live.look import Look
from fab.live.newest import Newest
from fab.live.ranges import Ranges
from fab.live.screen import Screen
from fab.watch import FirstLook, Round

if TYPE_CHECKING:
    from fab.recipe.job import Recipe


Still = Callable[[], None]  # raises when a newer save is there


@dataclass(frozen=True)
class Task:
    """A saved state that was read and laid out."""

    number: int
    look: Look
    began: float

    @property
    def seconds(self) -> float:
        """Time since it was saved."""
        return time.perf_counter() - self.began


@dataclass(frozen=True)
class Orders:
    """The options of a watch."""

    out: Path
    allow: frozenset[str]
    only: frozenset[str]
    look: Callable[[FirstLook], None]
    tell: Callable[[Round], None]


class Maker:
    """Works on the newest task until it is closed."""

    def __init__(
        self, screen: Screen, scales: looks.Scales, ranges: Ranges, orders: Orders
    ) -> None:
        self.screen, self.scales, self.ranges, self.orders = screen, scales, ranges, orders
        # two threads: an older build that is at a long product must not keep the zones waiting
        self._wiring: Newest[Task] = Newest("wiring", self._wire)
        self._building: Newest[tuple[Task, Look]] = Newest("building", self._build)
        self._change = threading.Lock()
        self._works = (self._wiring, self._building, ranges.work)

    def start(self) -> None:
        """Begin to wait for tasks."""
        for work in self._works:
            work.start()

    def take(self, task: Task | None) -> None:
        """Work on this save next, whatever is at work now; None: there is nothing to be made."""
        with self._change:
            for work in self._works[1:]:
                work.take(None)
            self._wiring.take(task)

    def close(self, seconds: float) -> bool:
        """Stop; whether the work ended within `seconds`."""
        self.take(None)
        self.ranges.beside.end()
        end = time.monotonic() + seconds
        ended = [work.close(max(end - time.monotonic(), 0.0)) for work in self._works]
        return all(ended)

    @property
    def fault(self) -> BaseException | None:
        """An internal error, which the watching thread reports."""
        return next((work.fault for work in self._works if work.fault is not None), None)

    def _wire(self, task: Task, still: Still) -> None:
        """One save: zones, inlets and screws, with which its build begins."""
        try:
            known = self._wired(task, still)
        except PanejigError as error:
            self._not_made(task, error, still)
        else:
            with self._change:
                still()
                self.ranges.take(task.number, known)
                self._building.take((task, known))

    def _build(self, order: tuple[Task, Look], still: Still) -> None:
        """The build of a save."""
        task, known = order
        try:
            built = self._built(task, known, still)
            self.screen.done(task.number, "")
            self.orders.tell(Round(task.number, built, None, task.seconds))
        except PanejigError as error:
            self._not_made(task, error, still)

    def _not_made(self, task: Task, error: PanejigError, still: Still) -> None:
        still()
        if isinstance(error, CheckFailed):
            self.screen.done(task.number, "Not built: a check fails. The last build stays.")
        elif isinstance(error, InputError):
            self.screen.refuse(task.number, error, task.look.loaded.sources)
        else:
            self.screen.done(task.number, f"Not built: {error}")
        self.orders.tell(Round(task.number, None, error, task.seconds))

    def _wired(self, task: Task, still: Still) -> Look:
        """Zones, inlets and screws with the weights that are known, and their checks."""
        if task.look.unbuildable:
            return task.look
        self.screen.working("zones, inlets and screws")
        design = looks.wired(task.look.loaded, self.scales.weigh)
        still()
        known = replace(task.look, design=design, rough=not self.scales.know(design))
        self.screen.show(task.number, known)
        known = replace(known, verdicts=looks.wall_verdicts(design))
        still()
        self.screen.show(task.number, known)
        return known

    def _built(self, task: Task, known: Look, still: Still) -> Built:
        """The build; on its way, all that the page shows of it."""
        loaded, orders, seen = task.look.loaded, self.orders, [False]

        def progress(says: str, share: float) -> None:
            still()
            self.screen.working(f"{says or 'files, proof and book'} ({share:.0%})")

        def look(recipe: Recipe) -> None:
            seen[0] = True
            self._pieces(task, known, recipe, still)

        self.screen.working("weights and solids")
        built = workshop.build(
            loaded, orders.out, only=orders.only, allow=orders.allow, progress=progress, look=look
        )
        if not seen[0]:  # nothing had to be made
            wants = (CHECKS, "book")
            with workshop.run_of(workshop.open_store(), progress) as run:
                look(workshop.recipe_of(loaded, run, wants))
        return built

    def _pieces(self, task: Task, known: Look, recipe: Recipe, still: Still) -> None:
        """Show what a recipe makes, piece by piece; its values are kept for the build."""
        design = recipe.design
        self.scales.keep(design)
        still()
        if known.design is None or known.design.masses != design.masses:
            known = replace(known, design=design, verdicts=looks.wall_verdicts(design), rough=False)
            self.screen.show(task.number, known)
        known = replace(known, verdicts=recipe.early, tried=True, rough=False)
        still()
        self.orders.look(FirstLook(task.number, recipe.early, pieces.counts(design), task.seconds))
        self.screen.show(task.number, known)
        for piece in pieces.all_of(recipe):
            still()
            self.screen.add(task.number, piece)
        known = replace(known, made=pieces.rows(recipe))
        self.screen.show(task.number, known)
        known = replace(known, verdicts=recipe.checks)
        still()
        self.screen.show(task.number, known)
