"""Processes that make products: a pool of `concurrent.futures`, kept from run to run.

They are started afresh (a CAD kernel must not be forked), do not hear Ctrl-C (this process ends
them), and end when this process is gone, however it went.
"""

from __future__ import annotations

import contextlib
import gc
import os
import sys
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import BrokenExecutor, CancelledError, Future
from types import ModuleType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from concurrent.futures import ProcessPoolExecutor

VARIABLE = "PANEJIG_PROCESSES"  # how many processes make products; 1: this one alone
MOST = 3  # each holds a CAD kernel of some 300 MB

_pool: ProcessPoolExecutor | None = None
_many = 0
_alone = False
_starting = threading.Lock()


def cores() -> int:
    """Return how many cores this process may run on."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def processes() -> int:
    """Return the number of processes: one a core, 3 at most, or PANEJIG_PROCESSES."""
    if _alone or not sys.executable:
        return 1
    named = os.environ.get(VARIABLE, "")
    return max(int(named), 1) if named.isdigit() else min(cores(), MOST)


@contextlib.contextmanager
def alone() -> Iterator[None]:
    """No other processes meanwhile: this one is one of several that share the cores already."""
    global _alone  # noqa: PLW0603
    before, _alone = _alone, True
    try:
        yield
    finally:
        _alone = before


def submit(many: int, call: Callable[..., Any], *args: Any) -> Future[Any] | None:
    """Hand a call to one of `many` processes; None when there is no process to be had."""
    global _pool, _many
    if _pool is not None and _many != many:
        let_go(wait=False)
    try:
        with deaf(), _no_script():
            if _pool is None:
                _pool, _many = _opened(many), many
            return _pool.submit(call, *args)
    except (BrokenExecutor, OSError, RuntimeError):
        # dead, no process allowed here, or shut down meanwhile
        let_go(wait=False)
        return None


def is_open() -> bool:
    """Return whether processes were started already."""
    return _pool is not None


def current() -> object:
    """Return the pool that `submit` uses."""
    return _pool


def forget(pool: object) -> None:
    """This pool is broken, and ends by itself: the next call opens another."""
    global _pool  # noqa: PLW0603
    if _pool is pool:
        _pool = None


def let_go(*, wait: bool = True) -> None:
    """End the processes, whatever they are at; `wait` until all their work has stopped."""
    global _pool
    pool, _pool = _pool, None
    if pool is not None:
        _end(pool, wait=wait)


class Beside:
    """One process of its own, at low priority, for calls beside those that make products."""

    def __init__(self) -> None:
        self._pool: ProcessPoolExecutor | None = None
        self._ended = False

    def call(self, call: Callable[..., Any], *args: Any) -> Any:
        """Return what a call returns, made here where no process is to be had; None after `end`."""
        if not _alone and sys.executable and not self._ended:
            with contextlib.suppress(BrokenExecutor, OSError, CancelledError):
                with deaf(), _no_script():
                    self._pool = self._pool or _opened(1, calm=True)
                    asked = self._pool.submit(call, *args)
                return asked.result()
            self._pool = None
        return None if self._ended else call(*args)

    def end(self) -> None:
        """End the process, whatever it is at."""
        self._ended = True
        if self._pool is not None:
            _end(self._pool, wait=False)


def _end(pool: ProcessPoolExecutor, *, wait: bool) -> None:
    for process in list((getattr(pool, "_processes", None) or {}).values()):
        with contextlib.suppress(OSError, ValueError):
            process.kill()
    pool.shutdown(wait=wait, cancel_futures=True)


@contextlib.contextmanager
def deaf() -> Iterator[None]:
    """Started processes never hear Ctrl-C: this one hears it after this, and ends them."""
    import signal

    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


@contextlib.contextmanager
def _no_script() -> Iterator[None]:
    """A started process does not run this one's script anew: its author may not expect it."""
    with _starting:
        script = sys.modules["__main__"]
        sys.modules["__main__"] = ModuleType("__main__")
        try:
            yield
        finally:
            sys.modules["__main__"] = script


def _opened(many: int, *, calm: bool = False) -> ProcessPoolExecutor:
    import multiprocessing
    from concurrent.futures import ProcessPoolExecutor

    if os.name == "posix":
        _silent_tracker()
    context = multiprocessing.get_context("spawn")
    return ProcessPoolExecutor(many, context, _begin, (gc.get_threshold(), calm))


def _silent_tracker() -> None:
    """Start the pool's cleaner without a place to talk to: it complains of early leavers."""
    from multiprocessing import resource_tracker

    # it inherits these
    sys.warnoptions.append("ignore::UserWarning:multiprocessing.resource_tracker")
    with open(os.devnull, "w") as nothing:
        before, sys.stderr = sys.stderr, nothing
        try:
            resource_tracker.ensure_running()
        finally:
            sys.stderr = before


def _begin(threshold: tuple[int, int, int], calm: bool) -> None:
    """Make a process one of ours; `calm`: the others come first."""
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    os.environ[VARIABLE] = "1"
    gc.set_threshold(*threshold)
    if calm:
        os.environ |= dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"), "1")
        if hasattr(os, "nice"):
            os.nice(3)
    nothing = os.open(os.devnull, os.O_RDWR)
    os.dup2(nothing, 1)  # the kernel talks to stdout
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    from multiprocessing import parent_process
    from multiprocessing.connection import wait

    parent = parent_process()
    if parent is not None:
        wait([parent.sentinel])
        os._exit(0)
