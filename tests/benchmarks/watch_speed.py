"""Seconds from a save to the picture of the wall, and to zones, screws and their checks, as a page
hears of them; for 9, 40 and 300 panels.

    python tests/benchmarks/watch_speed.py [--panels 9,40,300] [--runs 5]

Three changes: a word (title), a value of the panel (depth: all weights change), and the layout (one
panel less). Medians, and the best for the checks of the plan, also as a share of an import of
numpy and scipy in a process of its own in the same run: other work on the machine slows both.
Nothing is asserted, nothing built: solids follow in another thread.
"""

from __future__ import annotations

import argparse
import json
import math
import statistics
import subprocess
import sys
import tempfile
import threading
import time
import urllib.request
from collections.abc import Callable
from pathlib import Path
from typing import Any

from fab.live import maker
from fab.live.follow import follow

WIDE = 8
DESIGN_S = {40: 0.3, 300: 1.0}  # the bounds of the design for the picture and the plan's checks


def job(count: int, title: str, depth: float) -> str:
    """A block of hexagons, as wide as one inlet's current reaches."""
    wide = min(WIDE, math.ceil(math.sqrt(count)))
    cells = [[k % wide - (k // wide) // 2, k // wide] for k in range(count)]
    return (
        f'job = "block"\ntitle = "{title}"\n[shop]\nextends = "metric-bench"\n'
        f'stock.opal-3.count = 1000\n[panel]\nextends = "hexagon-120"\ndepth = {depth}\n'
        f'[layout]\ncells = {cells}\n[power]\nbrightness = 0.2\n[hang]\nwall = "plaster"\n'
    )


class Page:
    """A page that hears news and fetches the state, as the browser's does."""

    def __init__(self, address: str) -> None:
        self.address = address
        self.state: Any = None
        self.news = urllib.request.urlopen(f"{address}events")

    def until(self, number: int, holds: Callable[[Any], bool]) -> float:
        """The time at which the page has a state of this save of which something holds."""
        while True:
            line = self.news.readline()
            if line.startswith(b"data:"):
                self.state = self.fetched()
            if self.state and self.state["save"] == number and holds(self.state):
                return time.perf_counter()

    def fetched(self) -> Any:
        """The state as it is now."""
        with urllib.request.urlopen(f"{self.address}state.json") as answer:
            return json.load(answer)

    def steps(self, number: int, began: float) -> tuple[float, float, float]:
        """Seconds until picture, checks of the plan, and wiring with its checks."""
        picture = self.until(number, lambda state: bool(state["wall"]))
        known = bool(self.state["checks"]["known"])
        checks = picture if known else self.until(number, lambda one: one["checks"]["known"])
        wiring = self.until(number, lambda one: not one["busy"])
        return picture - began, checks - began, wiring - began


def measured(count: int, runs: int) -> dict[str, list[tuple[float, float, float]]]:
    """Change to the seconds until picture, checks of the plan, and wiring with its checks."""
    with tempfile.TemporaryDirectory() as folder:
        path, ready, stopped = Path(folder) / "job.toml", threading.Event(), threading.Event()
        path.write_text(job(count, "0", 40))
        found: list[str] = []

        def opened(address: str) -> None:
            found.append(address)
            ready.set()

        thread = threading.Thread(
            target=follow,
            args=(path, (), Path(folder) / "out", opened, lambda _: None),
            kwargs={"stop": stopped.is_set},
        )
        thread.start()
        ready.wait()
        page, number = Page(found[0]), 1
        page.until(number, lambda state: not state["busy"])
        spent: dict[str, list[tuple[float, float, float]]] = {}
        for k in range(runs):
            for change, text in (
                ("word", job(count, f"w{k}", 40)),
                ("depth", job(count, f"d{k}", 41 + k)),
                ("layout", job(count - 1 - k, f"l{k}", 40)),
            ):
                number += 1
                began = time.perf_counter()
                path.write_text(text)
                spent.setdefault(change, []).append(page.steps(number, began))
        stopped.set()
        thread.join()
        return spent


def bare_import() -> float:
    """Seconds of an import that has nothing of ours in it, the best of three."""
    spent = []
    for _ in range(3):
        began = time.perf_counter()
        subprocess.run([sys.executable, "-c", "import numpy, scipy.sparse.linalg"], check=True)
        spent.append(time.perf_counter() - began)
    return min(spent)


def main() -> None:
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--panels", default="9,40,300")
    words.add_argument("--runs", type=int, default=5)
    asked = words.parse_args()
    maker.Maker._built = lambda *_: None  # type: ignore[method-assign,assignment]
    bare = bare_import()
    print(f"bare import {bare:.3f} s")
    for count in map(int, asked.panels.split(",")):
        for change, rows in measured(count, asked.runs).items():
            picture, checks, wiring = (
                statistics.median(column) for column in zip(*rows, strict=True)
            )
            best = min(row[1] for row in rows)
            bound = DESIGN_S.get(count)
            tail = f" (bound {bound:g} s)" if bound else ""
            print(
                f"{count:4d} panels, {change:6s}: picture {picture:.3f} s, checks of the plan"
                f" {checks:.3f} s, best {best:.3f} s, {best / bare:.2f} of the import{tail},"
                f" zones and screws with their checks {wiring:.3f} s",
                flush=True,
            )


if __name__ == "__main__":
    main()
