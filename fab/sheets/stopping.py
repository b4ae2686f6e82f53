"""Ctrl-C as a question that a search asks now and then, so that it can hand over the best
so far.
"""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any


@contextmanager
def ctrl_c_asks() -> Iterator[Callable[[], bool]]:
    """Inside, the first Ctrl-C only turns the answer of the question to True; the second one stops
    the program.

    Outside the main thread, where no signal arrives, and where Ctrl-C is ignored, the answer stays
    False.
    """
    asked = threading.Event()
    before: Any = signal.getsignal(signal.SIGINT) or signal.default_int_handler
    if threading.current_thread() is not threading.main_thread() or before is signal.SIG_IGN:
        yield asked.is_set
        return

    def first(_number: int, _frame: Any) -> None:
        asked.set()
        signal.signal(signal.SIGINT, before)

    signal.signal(signal.SIGINT, first)
    try:
        yield asked.is_set
    finally:
        signal.signal(signal.SIGINT, before)
