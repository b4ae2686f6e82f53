"""A general strip-packing library at work on our sheets: it packs outer polygons into one strip, we do the rest.

Its limits and how they are met here: no gap at the ends (pieces are handed over swollen by half the gap); no fixed
sheets (what sticks out of the sheet waits for the next); no holes (those are stuffed before); what it finds depends
more on its seed than on its time (several short runs, one a core, the best wins); it stops by the clock and so never
repeats itself (the result is kept in a lock); in the main thread it would swallow Ctrl-C (it never runs there, and
reports what it has found so far); its faults are no `Exception`. It is an optional extra: without it, or when it
fails, our own search has all the time.
"""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from importlib.util import find_spec
from typing import Any

from fab.sheets.board import Laid
from fab.sheets.nofit import Shape

_QUAD_SEGS = 6
_SWELL = 1.0 / math.cos(math.pi / (4 * _QUAD_SEGS))
_CLEAR_MM = 2e-4  # the library lets pieces touch within about 1e-4
_RUN_S = 2  # a usual run, whole seconds ...
_PIECES_PER_S = 25  # ... and a second more for every so many pieces
_LONG_RUN = 0.25  # of long budgets a run takes this share
_POLL_S = 0.05

Wanted = Sequence[tuple[Shape, int, Sequence[float] | None]]  # shape as drawn, copies, turns in degrees (None: any)
Turner = Callable[[Shape, float], Shape]


def available() -> bool:
    """Whether the library is installed."""
    return find_spec("spyrrow") is not None


@dataclass
class _Run:
    """One run of the library in a thread of its own."""

    seed: int
    times: tuple[int, int]
    best: Any = None
    done: bool = False


def packed(
    wanted: Wanted, height_mm: float, gap_mm: float, deadline: float, seed: int, cores: int, stop: Callable[[], bool],
    turned: Turner,
) -> list[list[Laid]]:
    """Layouts in a strip of `height_mm`, filled from x = 0 to the right, shortest first; none when none was found.

    deadline: on the clock of `time.monotonic`. The gap is kept within the strip, its upper and lower edge and its
    start are met by the cut paths themselves.
    """
    if not available() or not wanted:
        return []
    usual = _RUN_S + sum(count for _, count, _ in wanted) // _PIECES_PER_S
    items = [(str(k), claim(shape, gap_mm), count, turns) for k, (shape, count, turns) in enumerate(wanted)]
    answers: list[Any] = []
    while (times := _times(deadline, usual)) is not None and not stop():
        runs = [_Run(seed + k, times) for k in range(max(cores, 1))]
        seed += len(runs)
        threads = [threading.Thread(target=_solve, args=(run, items, height_mm + gap_mm), daemon=True) for run in runs]
        for thread in threads:
            thread.start()
        while not all(run.done for run in runs) and not stop():
            time.sleep(_POLL_S)
        found = [run.best for run in runs if run.best is not None]
        if not found:
            break
        answers += found
    answers.sort(key=lambda answer: answer.width)
    return [_laid(answer, wanted, gap_mm, turned) for answer in answers]


def _laid(answer: Any, wanted: Wanted, gap_mm: float, turned: Turner) -> list[Laid]:
    """The library's answer as shapes at places; a piece stood half a gap inside its swollen polygon."""
    laid = []
    for item in answer.placed_items:
        shape = turned(wanted[int(item.id)][0], float(item.rotation) % 360.0)
        laid.append(Laid(shape, float(item.translation[0]) - gap_mm / 2, float(item.translation[1]) - gap_mm / 2))
    return laid


def _times(deadline: float, usual: int) -> tuple[int, int] | None:
    """Whole seconds of exploring and compressing for the next run, or None when too little is left."""
    left = deadline - time.monotonic()
    total = int(min(max(usual, left * _LONG_RUN), left + _POLL_S))
    if total < 2:
        return None
    compress = max(1, total // 4)
    return (total - compress, compress)


def _solve(run: _Run, items: Sequence[tuple[str, Any, int, Any]], height: float) -> None:
    """Runs the library; the last feasible answer stands in `run.best` at any time."""
    import spyrrow

    queue = spyrrow.ProgressQueue()
    feasible = (spyrrow.ReportType.ExplFeas, spyrrow.ReportType.CmprFeas, spyrrow.ReportType.Final)
    over = threading.Event()

    def listen() -> None:
        while not over.wait(_POLL_S):
            for kind, answer in queue.drain():
                if kind in feasible:
                    run.best = answer

    ear = threading.Thread(target=listen, daemon=True)
    ear.start()
    try:
        made = [spyrrow.Item(name, shape, count, None if turns is None else list(turns)) for name, shape, count, turns in items]
        config = spyrrow.StripPackingConfig(
            early_termination=True, total_computation_time=None, exploration_time=run.times[0],
            compression_time=run.times[1], num_workers=1, seed=run.seed,
        )
        run.best = spyrrow.StripPackingInstance("sheet", height, made).solve(config, progress=queue)
    except BaseException:  # its panics are no Exception; the thread is its own, so nothing else can end up here
        pass
    finally:
        over.set()
        ear.join()
        run.done = True


def claim(shape: Shape, gap_mm: float) -> list[tuple[float, float]]:
    """The outer polygon swollen by half the gap, its chords outside."""
    import shapely

    grown = shapely.Polygon(shape.edge).buffer(gap_mm / 2 * _SWELL + _CLEAR_MM, quad_segs=_QUAD_SEGS)
    return [(float(x), float(y)) for x, y in list(grown.exterior.coords)]
