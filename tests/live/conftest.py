"""A watch with its page in a thread of the test, its folder, and what the page would fetch."""

from __future__ import annotations

import json
import threading
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from fab.live import maker, ranges
from fab.live.follow import follow

JOB = """job = "{name}"
title = "{title}"

[shop]
extends = "metric-bench"

[panel]
extends = "hexagon-120"

[layout]
{layout}

[power]
brightness = 0.2

[hang]
wall = "plaster"
"""
ROOT = Path(__file__).parents[2]
PATIENCE_S = 30.0


def job_text(layout: str = 'map = "A B"', name: str = "corner", title: str = "") -> str:
    """A job of a reading corner."""
    return JOB.format(layout=layout, name=name, title=title)


def row(state: Any, name: str) -> Any:
    """A line of the figures by its name."""
    return next(one for one in state["rows"] if one["name"] == name)


@dataclass
class Watched:
    """A watch that is at work, and its job file."""

    path: Path
    address: str = ""
    stopped: bool = False
    thread: threading.Thread | None = None
    rounds: list[Any] = field(default_factory=list)

    def save(self, text: str) -> None:
        """Save the job file, as an editor does."""
        self.path.write_text(text, encoding="utf-8")

    def fetched(self, path: str = "state.json") -> Any:
        """What the page would fetch."""
        with urllib.request.urlopen(self.address + path, timeout=10) as answer:
            return json.load(answer)

    def asked(self, path: str, question: Any, **headers: str) -> Any:
        """The answer to a question of the page."""
        request = urllib.request.Request(
            self.address + path,
            json.dumps(question).encode(),
            {"Content-Type": "application/json", **headers},
        )
        with urllib.request.urlopen(request, timeout=30) as answer:
            return json.load(answer)

    def until(self, holds: Callable[[Any], bool], seconds: float = PATIENCE_S) -> Any:
        """The state, once something holds of it."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            state = self.fetched()
            if state is not None and holds(state):
                return state
            time.sleep(0.03)
        raise AssertionError(f"the page never showed it; it shows {str(state)[:600]}")


def watching(path: Path, out: Path) -> Watched:
    """A watch of a job that is at work when this returns."""
    found = Watched(path)
    ready = threading.Event()

    def opened(address: str) -> None:
        found.address = address
        ready.set()

    found.thread = threading.Thread(
        target=follow,
        args=(path, (), out, opened, found.rounds.append),
        kwargs={"stop": lambda: found.stopped},
        daemon=True,
    )
    found.thread.start()
    assert ready.wait(PATIENCE_S)
    return found


def ended(found: Watched) -> None:
    """Stop a watch, and wait for it."""
    found.stopped = True
    assert found.thread is not None
    found.thread.join(PATIENCE_S)
    assert not found.thread.is_alive()


@pytest.fixture(scope="module")
def watched(
    tmp_path_factory: pytest.TempPathFactory, request: pytest.FixtureRequest
) -> Iterator[Watched]:
    """One watch for all tests of a module, of a file that each saves anew. It builds nothing: what
    is tested is known before; the ranges of the sliders are worked out if the module says so.
    """
    folder = tmp_path_factory.mktemp("watched")
    path = folder / "corner.toml"
    path.write_text(job_text(), encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(maker.Maker, "_built", lambda *_: None)
        if not getattr(request.module, "RANGED", False):
            patch.setattr(ranges.Ranges, "take", lambda *_: None)
        patch.setattr(ranges, "JUDGES", getattr(request.module, "JUDGES", ranges.JUDGES[:1]))
        found = watching(path, folder / "out")
        yield found
        ended(found)
    assert sorted(one.name for one in folder.iterdir()) == ["corner.toml"]  # nothing was written
