"""The slow half of a round, in a thread of its own: zones and screws, then solids and the build.

The newest save wins: as soon as a newer one is there, the work on an older one is given up at the
next product, and its last build stays.
"""

from __future__ import annotations

import contextlib
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from fab import workshop
from fab.built import CHECKS, Built
from fab.errors import CheckFailed, PanejigError
from fab.graph.run import Run
from fab.graph.workers import processes
from fab.live import look as looks
from fab.live import pieces
from fab.live.look import Look
from fab.live.screen import Screen
from fab.watch import FirstLook, Round

if TYPE_CHECKING:
    from fab.recipe import Recipe


class Superseded(Exception):
    """A newer state of the files is there."""


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
    """What a watch was asked for."""

    out: Path
    allow: frozenset[str]
    only: frozenset[str]
    look: Callable[[FirstLook], None]
    tell: Callable[[Round], None]


class Maker:
    """Works on the newest task until it is closed."""

    def __init__(self, screen: Screen, scales: looks.Scales, orders: Orders) -> None:
        self.screen, self.scales, self.orders = screen, scales, orders
        self.fault: BaseException | None = None  # of the program: told by the thread that watches
        self._change = threading.Condition()
        self._next: Task | None = None
        self._newest = 0
        self._closed = False
        self._thread = threading.Thread(target=self._work, name="maker", daemon=True)

    def start(self) -> None:
        """Begin to wait for tasks."""
        self._thread.start()

    def take(self, number: int, task: Task | None) -> None:
        """Work on this save next, whatever is at work now; None: there is nothing to be made."""
        with self._change:
            self._newest, self._next = number, task
            self._change.notify_all()

    def close(self, seconds: float) -> bool:
        """Stop; whether the work ended within `seconds`."""
        with self._change:
            self._closed, self._next = True, None
            self._newest += 1
            self._change.notify_all()
        self._thread.join(seconds)
        return not self._thread.is_alive()

    def _work(self) -> None:
        while True:
            with self._change:
                self._change.wait_for(lambda: self._closed or self._next is not None)
                if self._closed:
                    return
                task, self._next = self._next, None
            assert task is not None
            try:
                with contextlib.suppress(Superseded):
                    self._round(task)
            except BaseException as fault:
                self.fault = fault
                return

    def _still(self, task: Task) -> None:
        if task.number != self._newest:
            raise Superseded

    def _round(self, task: Task) -> None:
        """One save: all that can be made of it."""
        orders = self.orders
        try:
            known = self._wired(task)
            built = self._built(task, known)
            self.screen.done(task.number, "")
            orders.tell(Round(task.number, built, None, task.seconds))
        except PanejigError as error:
            self._still(task)
            if isinstance(error, CheckFailed):
                self.screen.done(task.number, "Not built: a check fails. The last build stays.")
            else:
                self.screen.refuse(task.number, error, task.look.loaded.sources)
            orders.tell(Round(task.number, None, error, task.seconds))

    def _wired(self, task: Task) -> Look:
        """Zones, inlets and screws with the weights that are known, and their checks."""
        if task.look.unbuildable:
            return task.look
        self.screen.working("zones, inlets and screws")
        design = looks.wired(task.look.loaded, self.scales.weigh)
        self._still(task)
        known = replace(task.look, design=design, rough=not self.scales.know(design))
        self.screen.show(task.number, known)
        known = replace(known, verdicts=looks.wall_verdicts(design))
        self._still(task)
        self.screen.show(task.number, known)
        return known

    def _built(self, task: Task, known: Look) -> Built:
        """The build; on its way, all that the page shows of it."""
        loaded, orders, seen = task.look.loaded, self.orders, [False]

        def progress(says: str, share: float) -> None:
            self._still(task)
            self.screen.working(f"{says or 'files, proof and book'} ({share:.0%})")

        def look(recipe: Recipe) -> None:
            seen[0] = True
            self._pieces(task, known, recipe)

        self.screen.working("weights and solids")
        built = workshop.build(
            loaded, orders.out, only=orders.only, allow=orders.allow, progress=progress, look=look
        )
        if not seen[0]:  # nothing had to be made
            wants = (CHECKS, "book")
            told = lambda name, done, of: progress(name, done / max(of, 1))  # noqa: E731
            with Run(workshop.open_store(), processes(), told) as run:
                look(workshop.recipe_of(loaded, run, wants))
        return built

    def _pieces(self, task: Task, known: Look, recipe: Recipe) -> None:
        """Show what a recipe makes, piece by piece; its values are kept for the build."""
        design = recipe.design
        self.scales.keep(design)
        self._still(task)
        if known.design is None or known.design.masses != design.masses:
            known = replace(known, design=design, verdicts=looks.wall_verdicts(design), rough=False)
            self.screen.show(task.number, known)
        known = replace(known, verdicts=recipe.early, tried=True, rough=False)
        self._still(task)
        self.orders.look(FirstLook(task.number, recipe.early, pieces.counts(design), task.seconds))
        self.screen.show(task.number, known)
        for piece in pieces.all_of(recipe):
            self._still(task)
            self.screen.add(task.number, piece)
        known = replace(known, made=pieces.rows(recipe))
        self.screen.show(task.number, known)
        known = replace(known, verdicts=recipe.checks)
        self._still(task)
        self.screen.show(task.number, known)
