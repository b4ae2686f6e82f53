"""Ctrl-C: how the program leaves when it is asked to, at any moment.

The first Ctrl-C raises KeyboardInterrupt, so that what is at work cleans up behind itself. There
are two exceptions: while a library is imported nothing may be raised (a compiled library turns it
into another error, or dies of it), and after `PATIENCE_S` whoever has not heard is not waited for.
Then helpers are killed, work folders are removed and the process ends here. This module imports
nothing that Python has not loaded already: it is in place before all else.
"""

from __future__ import annotations

import _signal
import _thread
import os
import sys
import time

TYPE_CHECKING = False  # `typing` is loaded later
if TYPE_CHECKING:
    from collections.abc import Callable
    from types import FrameType
    from typing import NoReturn

CODE = 130
SAYS = "Stopped. The last good build is unchanged."
PATIENCE_S = 1.2
asked = False  # Ctrl-C was pressed
said = False  # ... and was told that it is done
_undo: list[Callable[[], object]] = []


def arm() -> None:
    """Take Ctrl-C in this process, unless its parent process ignores it."""
    if _signal.getsignal(_signal.SIGINT) != _signal.SIG_IGN:
        _signal.signal(_signal.SIGINT, stop)


def disarm() -> None:
    """The work is done: a late Ctrl-C changes nothing any more."""
    if _signal.getsignal(_signal.SIGINT) is stop:
        _signal.signal(_signal.SIGINT, _signal.SIG_IGN)


def stop(_number: int, frame: FrameType | None) -> None:
    """Handle a Ctrl-C."""
    global asked  # noqa: PLW0603
    if asked or importing(frame):
        leave()
    asked = True
    _thread.start_new_thread(_wait, ())
    raise KeyboardInterrupt


def importing(frame: FrameType | None) -> bool:
    """True while a module is being loaded in this frame or above it."""
    while frame is not None:
        if frame.f_code.co_filename.startswith("<frozen importlib"):
            return True
        frame = frame.f_back
    return False


class undone:
    """Have something done when the process leaves at once within this block."""

    def __init__(self, undo: Callable[[], object]) -> None:
        self.undo = undo

    def __enter__(self) -> None:
        _undo.append(self.undo)

    def __exit__(self, *_: object) -> None:
        _undo.remove(self.undo)


class scratch:
    """The path of a folder for files needed no longer than the block, however it ends."""

    def __enter__(self) -> str:
        from shutil import rmtree
        from tempfile import TemporaryDirectory

        self.held = TemporaryDirectory(prefix="panejig-")
        name = self.held.name
        self.undone = undone(lambda: rmtree(name, ignore_errors=True))
        self.undone.__enter__()
        return name

    def __exit__(self, *_: object) -> None:
        self.undone.__exit__()
        self.held.cleanup()


def leave() -> NoReturn:
    """Undo, kill, say it, and end without another step of Python."""
    if "multiprocessing.process" in sys.modules:
        for child in sys.modules["multiprocessing.process"].active_children():
            _try(child.kill)
    for undo in reversed(_undo):
        _try(undo)
    if not said:
        _try(lambda: os.write(2, f"{wipe()}{SAYS}\n".encode()))
    os._exit(CODE)


def wipe() -> str:
    """The bytes that take a bar, and the terminal's own ^C, off the line."""
    return "\r" + " " * 78 + "\r" if os.isatty(2) else ""


def _try(call: Callable[[], object]) -> None:
    try:
        call()
    except Exception:  # nothing may keep the process from leaving
        return


def _wait() -> None:
    time.sleep(PATIENCE_S)
    leave()
