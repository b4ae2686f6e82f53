"""Work in a thread of its own on the newest state alone: what a newer one overtakes is given up."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Callable
from typing import Generic, TypeVar

Task = TypeVar("Task")


class SupersededError(Exception):
    """A newer state of the files is there."""


class Newest(Generic[Task]):
    """Calls `work` with the newest task and a function that raises when a newer one is there."""

    def __init__(self, name: str, work: Callable[[Task, Callable[[], None]], None]) -> None:
        self.fault: BaseException | None = None  # of the program: the watching thread reports it
        self._work = work
        self._change = threading.Condition()
        self._next: Task | None = None
        self._newest = 0
        self._closed = False
        self._thread = threading.Thread(target=self._run, name=name, daemon=True)

    def start(self) -> None:
        """Begin to wait for tasks."""
        self._thread.start()

    def take(self, task: Task | None) -> None:
        """Work on this next, whatever is at work now; None: there is nothing to be done."""
        with self._change:
            self._newest, self._next = self._newest + 1, task
            self._change.notify_all()

    def close(self, seconds: float) -> bool:
        """Stop; whether the work ended within `seconds`."""
        with self._change:
            self._closed, self._next = True, None
            self._newest += 1
            self._change.notify_all()
        self._thread.join(seconds)
        return not self._thread.is_alive()

    def _run(self) -> None:
        while True:
            with self._change:
                self._change.wait_for(lambda: self._closed or self._next is not None)
                if self._closed:
                    return
                task, self._next, mine = self._next, None, self._newest
            assert task is not None
            try:
                with contextlib.suppress(SupersededError):
                    self._work(task, self._still(mine))
            except BaseException as fault:
                self.fault = fault
                return

    def _still(self, mine: int) -> Callable[[], None]:
        def still() -> None:
            if mine != self._newest:
                raise SupersededError

        return still
