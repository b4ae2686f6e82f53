"""The page's content as ready bytes with a revision number; waiting readers get the next."""

from __future__ import annotations

import json
import threading
from collections.abc import Mapping
from typing import Any


class Board:
    """The newest content of every path of the page, and news for the pages that are open."""

    def __init__(self) -> None:
        self._change = threading.Condition()
        self._content: dict[str, bytes] = {}
        self._working = ""
        self.revision = 0
        self.closed = False

    def publish(self, contents: Mapping[str, Any], working: str = "") -> None:
        """Show new content (path to plain data) and what is worked on."""
        ready = {
            path: json.dumps(value, ensure_ascii=True, allow_nan=False).encode()
            for path, value in contents.items()
        }
        with self._change:
            self._content |= ready
            self._working = working
            self.revision += 1
            self._change.notify_all()

    def tell(self, working: str) -> None:
        """Say what is worked on; the content stays."""
        with self._change:
            if working != self._working:
                self._working = working
                self._change.notify_all()

    def content(self, path: str) -> bytes:
        """The newest content of a path; empty data where there is none yet."""
        with self._change:
            return self._content.get(path, b"null")

    def news(self, seen: tuple[int, str], seconds: float) -> tuple[int, str] | None:
        """Revision and work as soon as they are others than `seen`; what was seen after `seconds`
        without news; None when the board is closed.
        """
        with self._change:
            self._change.wait_for(lambda: self.closed or self._now != seen, seconds)
            return None if self.closed else self._now

    @property
    def _now(self) -> tuple[int, str]:
        return self.revision, self._working

    def close(self) -> None:
        """Nothing more comes: those who wait go."""
        with self._change:
            self.closed = True
            self._change.notify_all()
