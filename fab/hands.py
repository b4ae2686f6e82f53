"""A second pair of hands: processes beside this one that make products while it makes others.

    this process   A B C D .......... takes what the others made, in its own order
    the other            ... H G F E  begins at the end of the same list; they meet

Work is a picklable call that returns bytes and hangs on nothing but its arguments, so it is the same whoever does it.
A helper that dies, or whose call fails, costs nothing but time: the call is made here then, and tells its fault here.
Helpers are started afresh (the CAD kernel must not be forked), end with this process, and hold no file and no lock.
"""

from __future__ import annotations

import atexit
import contextlib
import gc
import os
import pickle
import subprocess
import sys
import threading
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from functools import partial
from typing import IO, cast

from fab.leaving import on_leaving

VARIABLE = "PANEJIG_PROCESSES"  # how many processes one build may use; 1: this one alone
MOST = 3  # each holds a CAD kernel of some 400 MB
_HEAD = 8  # bytes of a length
_FAILED = (1 << 64) - 1

Call = Callable[[], bytes]


@dataclass
class Hands:
    """Calls under keys that helpers take from the end, and whoever needs one takes from here."""

    helpers: int
    _waiting: dict[str, Call] = field(default_factory=dict)
    _running: set[str] = field(default_factory=set)
    _done: dict[str, bytes | None] = field(default_factory=dict)
    _change: threading.Condition = field(default_factory=threading.Condition)
    _processes: list[subprocess.Popen[bytes]] = field(default_factory=list)

    def give(self, calls: Iterable[tuple[str, Call]]) -> None:
        """Calls in the order in which their results will be needed. Those still waiting from before are let go."""
        with self._change:
            self._waiting = {key: call for key, call in calls if key not in self._running and key not in self._done}
            if not self._waiting:
                return
            self._change.notify_all()
        alive = [process for process in self._processes if process.poll() is None]
        self._processes = alive
        for _ in range(self.helpers - len(alive)):
            self._start()

    def give_next(self, key: str, call: Call) -> bool:
        """A call that a helper takes before all that waits; False when no helper is there."""
        with self._change:
            there = any(process.poll() is None for process in self._processes)
            if there:
                self._waiting[key] = call
                self._change.notify_all()
            return there

    def take(self, key: str) -> bytes | None:
        """What a helper made of this call, waiting for one that is at it; None when it is yours to make.

        Meanwhile the next call that waits is made here: it will be asked for soon.
        """
        with self._change:
            self._waiting.pop(key, None)
            while key in self._running:
                if not self._waiting:
                    self._change.wait()
                    continue
                other = next(iter(self._waiting))
                call = self._waiting.pop(other)
                self._change.release()
                try:
                    made = _made(call)
                finally:
                    self._change.acquire()
                self._done[other] = made
            return self._done.pop(key, None)

    def rest(self) -> None:
        """Nothing more is wanted of what was given."""
        with self._change:
            self._waiting = {}
            self._done = {}

    def end(self) -> None:
        """Send all helpers home."""
        self.rest()
        for process in self._processes:
            process.kill()
        for process in self._processes:
            process.wait()
        self._processes = []

    def kill(self) -> None:
        """End all helpers without waiting for anything."""
        for process in self._processes:
            process.kill()

    def _start(self) -> None:
        like_us = f"sys.path[:] = {sys.path!r}; gc.set_threshold{gc.get_threshold()!r}"  # it finds what we find
        code = f"import gc, sys; {like_us}; from fab.hands import serve; serve()"
        try:
            process = subprocess.Popen(
                [sys.executable, "-c", code], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
                env=os.environ | {VARIABLE: "1"},
            )  # fmt: skip
        except OSError:
            return  # no second process to be had here: all is made in this one
        self._processes.append(process)
        threading.Thread(target=self._lead, args=(process,), daemon=True).start()

    def _lead(self, process: subprocess.Popen[bytes]) -> None:
        """One helper's thread: hands out calls from the end of the list until the helper is gone."""
        to, back = cast(IO[bytes], process.stdin), cast(IO[bytes], process.stdout)
        while True:
            with self._change:
                while not self._waiting:
                    self._change.wait()
                key, call = self._waiting.popitem()
                self._running.add(key)
            made: bytes | None = None
            alive = True
            try:
                send(to, pickle.dumps(call, pickle.HIGHEST_PROTOCOL))
                made = receive(back)
            except (OSError, EOFError, ValueError):
                alive = False
                process.kill()
                process.wait()  # so that whoever gives next knows it is gone
            except Exception:
                pass  # what can't be pickled is made here
            with self._change:
                self._running.discard(key)
                self._done[key] = made
                self._change.notify_all()
            if not alive:
                return


def send(stream: IO[bytes], data: bytes | None) -> None:
    """Length, then the bytes; None: the call failed."""
    stream.write((_FAILED if data is None else len(data)).to_bytes(_HEAD, "little"))
    stream.write(data or b"")
    stream.flush()


def receive(stream: IO[bytes]) -> bytes | None:
    """What `send` sent. Raises EOFError at the end of the stream."""
    head = stream.read(_HEAD)
    size = int.from_bytes(head, "little")
    if len(head) < _HEAD:
        raise EOFError
    if size == _FAILED:
        return None
    data = stream.read(size)
    if len(data) < size:
        raise EOFError
    return data


def serve() -> None:
    """A helper's life: calls on stdin, results on stdout, until stdin ends. Whoever started it handles Ctrl-C."""
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    calls, results = os.fdopen(os.dup(0), "rb"), os.fdopen(os.dup(1), "wb")
    nothing = os.open(os.devnull, os.O_RDWR)
    os.dup2(nothing, 0)
    os.dup2(nothing, 1)  # the kernel talks to stdout
    while True:
        try:
            data = receive(calls)
        except (EOFError, OSError):
            return
        try:
            send(results, _made(partial(_sent, data or b"")))
        except OSError:
            return


def _sent(data: bytes) -> bytes:
    """A call that came from somewhere else, made."""
    made: bytes = pickle.loads(data)()
    return made


def _made(call: Call) -> bytes | None:
    """What a call makes; None when it fails: whoever needs it makes it again, and tells the fault."""
    try:
        return call()
    except Exception:
        return None


_hands: Hands | None = None
_alone = False


@contextlib.contextmanager
def alone() -> Iterator[None]:
    """No helpers meanwhile: this process is one of several that share the cores already."""
    global _alone  # noqa: PLW0603
    before, _alone = _alone, True
    try:
        yield
    finally:
        _alone = before


def hands() -> Hands | None:
    """The helpers of this process, kept from build to build; None where it shall work alone."""
    global _hands  # noqa: PLW0603
    if _alone or processes() < 2 or not sys.executable:
        return None
    if _hands is None:
        _hands = Hands(processes() - 1)
        atexit.register(let_go)
        on_leaving(_hands.kill)
    return _hands


def let_go() -> None:
    """Send the helpers of this process home, if it has any."""
    if _hands is not None:
        _hands.end()


def processes() -> int:
    """How many processes a build uses: one a core this process may run on, 3 at most; PANEJIG_PROCESSES overrides it."""
    named = os.environ.get(VARIABLE, "")
    if named.isdigit():
        return max(int(named), 1)
    return min(cores(), MOST)


def cores() -> int:
    """How many cores this process may run on."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
