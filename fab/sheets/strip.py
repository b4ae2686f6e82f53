"""A general strip-packing library at work on our sheets: it packs outer polygons into one strip, we
do the rest.

Its limits and how they are met here: it keeps its gap to the strip's edges too (so the strip is
higher by two gaps), and keeps it to about 0.02 mm (`press` puts that right, and wins the last
tenths of a per cent); no fixed sheets (what sticks out of the sheet waits for the next); no holes
(those are stuffed before); it stops by the clock and so never repeats itself (the result is kept in
a lock); it can't be interrupted and its faults end its process (so it gets one of its own). When
it fails, the quick way's answer stands.

Two workers a run, as many as the library alone has on two cores: two runs of one worker each, with
the better one kept, were by turns 2 % shorter and 2 % wider than that. Its last layouts are all
pressed. With more cores there are several runs, each with a seed of its own.
"""

from __future__ import annotations

import json
import math
import subprocess
import sys
import threading
import time
from collections import deque
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from fab.sheets import strip_worker
from fab.sheets.nofit import Shape
from fab.sheets.sheet_fill import Laid
from fab.sheets.stock_parts import Budget

_EXPLORE = 0.8  # of a run's time, as the library has it; the rest it compresses
# a run is told that it has so much more time than it gets: what it loses of compressing, `press`
# does
_MORE = 1.03
_WORKERS = 2  # of a run, at least
_MOST_RUNS = 4  # side by side; more cores become workers of these
_KEPT = 4  # of the layouts that a run tells, the last ones
_LEAST_S = 1.3  # a run has its process to start
_PATIENCE = 0.03  # share of its time by which a run that has told nothing yet may be late
_POLL_S = 0.05

# shape as drawn, copies, turns in degrees (None: any)
Wanted = Sequence[tuple[Shape, int, Sequence[float] | None]]
Turner = Callable[[Shape, float], Shape]


def packed(
    wanted: Wanted, height_mm: float, gap_mm: float, budget: Budget, cores: int, turned: Turner
) -> list[list[Laid]]:
    """Layouts in a strip of `height_mm`, filled from x = 0 to the right, shortest first; none when
    none was found.

    The gap is kept within the strip; its start and its upper and lower edge are met by the cut
    paths themselves.
    """
    if not wanted:
        return []
    items = [
        {"shape": shape.edge, "count": count, "turns": None if turns is None else list(turns)}
        for shape, count, turns in wanted
    ]
    answers: list[Any] = []
    runs = max(1, min(cores // _WORKERS, _MOST_RUNS))

    def search(seed: int) -> None:
        while (seconds := budget.left_s) >= _LEAST_S and not budget.stop():
            whole = math.ceil(seconds * _MORE)
            job = {
                "items": items,
                "height": height_mm + 2 * gap_mm,
                "gap": gap_mm,
                "workers": max(cores // runs, 1),
                "seed": seed,
                "explore_s": (explore := int(_EXPLORE * whole)),
                "compress_s": whole - explore,
            }
            told = _run(job, seconds, budget)
            if not told:
                return
            answers.extend(told)
            seed += runs

    threads = [threading.Thread(target=search, args=(budget.seed + k,)) for k in range(runs)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    answers.sort(key=lambda answer: answer[0])
    return [_laid(answer[1], wanted, gap_mm, turned) for answer in answers]


def _run(job: dict[str, Any], seconds: float, budget: Budget) -> list[Any]:
    """The last layouts that the library told in its time, or before it ended or was stopped: a
    longer one may be pressed to less.
    """
    last: deque[Any] = deque(maxlen=_KEPT)
    worker = subprocess.Popen(
        [sys.executable, strip_worker.__file__],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        encoding="ascii",
        cwd=Path(strip_worker.__file__).anchor,
    )

    def listen() -> None:
        assert worker.stdout is not None
        for line in worker.stdout:
            try:
                told = json.loads(line)
            except ValueError:  # cut off in the middle
                return
            if not last or told != last[-1]:  # its answer is the last one that it told
                last.append(told)

    ear = threading.Thread(target=listen, daemon=True)
    ear.start()
    try:
        assert worker.stdin is not None
        try:
            worker.stdin.write(json.dumps(job))
            worker.stdin.close()
        except OSError:  # it has died already
            return []
        began, told, late = time.monotonic(), None, _PATIENCE * seconds
        while worker.poll() is None and not budget.stop():
            if (spent := time.monotonic() - began) > seconds + (late if told is None else 0.0):
                break
            if last and last[-1] is not told:
                told = last[-1]
                budget.progress(f"strip of {told[0]:.1f} mm", min(spent / seconds, 1.0))
            time.sleep(_POLL_S)
    finally:
        if worker.poll() is None:
            worker.kill()
        worker.wait()
        ear.join(1.0)
    return list(last)


def _laid(
    placed: Sequence[tuple[int, float, float, float]], wanted: Wanted, gap_mm: float, turned: Turner
) -> list[Laid]:
    """The library's answer as shapes at places; its strip began a gap before ours."""
    return [
        Laid(turned(wanted[item][0], deg % 360.0), x - gap_mm, y - gap_mm)
        for item, x, y, deg in placed
    ]
