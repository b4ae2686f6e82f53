"""Ctrl-C: how the program leaves when it is asked to, at any moment.

The first Ctrl-C raises KeyboardInterrupt, so that what is at work cleans up behind itself. There are two exceptions:
while a library is imported nothing may be raised (a compiled library turns it into another error, or dies of it), and
after `PATIENCE_S` whoever has not heard is not waited for. Then helpers are killed, work folders are removed and the
process ends here. This module imports next to nothing: it is in place before anything else is loaded.
"""

from __future__ import annotations

import _signal
import _thread
import os
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from types import FrameType
from typing import NoReturn

CODE = 130
SAYS = "Stopped. The last good build is as it was."
PATIENCE_S = 1.2
asked = False  # somebody pressed Ctrl-C
said = False  # ... and was told that it is done
_undo: list[Callable[[], None]] = []


def arm() -> None:
    """Take Ctrl-C in this process, unless whoever started it has it ignored."""
    if _signal.getsignal(_signal.SIGINT) != _signal.SIG_IGN:
        _signal.signal(_signal.SIGINT, stop)


def disarm() -> None:
    """The work is done: a late Ctrl-C changes nothing any more."""
    if _signal.getsignal(_signal.SIGINT) is stop:
        _signal.signal(_signal.SIGINT, _signal.SIG_IGN)


def stop(_number: int, frame: FrameType | None) -> None:
    """What a Ctrl-C does."""
    global asked  # noqa: PLW0603
    if asked or importing(frame):
        leave()
    asked = True
    _thread.start_new_thread(_wait, ())
    raise KeyboardInterrupt


def importing(frame: FrameType | None) -> bool:
    """Whether a module is being loaded in this frame or above it."""
    while frame is not None:
        if frame.f_code.co_filename.startswith("<frozen importlib"):
            return True
        frame = frame.f_back
    return False


def on_leaving(undo: Callable[[], None]) -> None:
    """Have something done when the process leaves at once. It must take no lock and import nothing."""
    _undo.append(undo)


@contextmanager
def undone(undo: Callable[[], None]) -> Iterator[None]:
    """Have something done when the process leaves at once within this block."""
    _undo.append(undo)
    try:
        yield
    finally:
        _undo.remove(undo)


@contextmanager
def scratch() -> Iterator[str]:
    """The path of a folder for files that nobody needs afterwards; it goes however the block ends."""
    import shutil
    import tempfile

    held = tempfile.TemporaryDirectory(prefix="panejig-")
    with held as folder, undone(lambda: shutil.rmtree(folder, ignore_errors=True)):
        yield folder


def leave() -> NoReturn:
    """Undo, kill, say it, and end without another step of Python."""
    if "multiprocessing.process" in sys.modules:
        for child in sys.modules["multiprocessing.process"].active_children():
            with suppress(Exception):
                child.kill()
    for undo in reversed(_undo):
        with suppress(Exception):
            undo()
    if not said:
        with suppress(OSError):
            wipe = b"\r" + b" " * 78 + b"\r" if os.isatty(2) else b""
            os.write(2, wipe + SAYS.encode() + b"\n")
    os._exit(CODE)


def _wait() -> None:
    time.sleep(PATIENCE_S)
    leave()
