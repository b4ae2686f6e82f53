"""A general strip-packing library at work on our sheets: it packs outer polygons into one strip, we
do the rest.

Its limits and how they are met here: it keeps its gap to the strip's edges too (so the strip is
higher by two gaps), and keeps it to about 0.02 mm (`press` puts that right, and wins the last
tenths of a per cent); no fixed sheets (what sticks out of the sheet waits for the next); no holes
(those are stuffed before); it stops by the clock and so never repeats itself (the result is kept in
a lock); it can't be interrupted and its faults end its process (so it gets one of its own). When
it fails, the quick way's answer stands.

Two workers a run, as many as the library alone has on two cores: with one worker a run stays 1 to
2 % wider, with four it gains nothing. Its workers wait for each other after every step, so two runs
side by side each get on with 0.62 to 0.7 of the speed of one alone, not half; and runs that differ
only in their seed end 1 % apart. So two start, and after three quarters of the time the one that is
ahead goes on alone. Its last layouts are all pressed. With more cores there are several such pairs.
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
_MOST_LANES = 4  # side by side; more cores become workers of these
_KEPT = 4  # of the layouts that a run tells, the last ones
_LEAST_S = 1.3  # a run has its process to start
_LEAST_PAIR_S = 6.0  # time in which two runs side by side come far enough
_DECIDED = 0.75  # share of the time after which only the run that is ahead goes on
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
    lanes = max(1, min(cores // _WORKERS, _MOST_LANES))

    def search(seed: int) -> None:
        while (seconds := budget.left_s) >= _LEAST_S and not budget.stop():
            whole = math.ceil(seconds * _MORE)
            explore = int(_EXPLORE * whole)
            workers = max(cores // lanes, 1)
            starters = 2 if workers > 1 and seconds >= _LEAST_PAIR_S else 1
            jobs = [
                {
                    "items": items,
                    "height": height_mm + 2 * gap_mm,
                    "gap": gap_mm,
                    "workers": workers,
                    "seed": seed + k * lanes,
                    "explore_s": explore,
                    "compress_s": whole - explore,
                }
                for k in range(starters)
            ]
            told = _raced(jobs, seconds, budget)
            if not told:
                return
            answers.extend(told)
            seed += starters * lanes

    threads = [threading.Thread(target=search, args=(budget.seed + k,)) for k in range(lanes)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    answers.sort(key=lambda answer: answer[0])
    return [_laid(answer[1], wanted, gap_mm, turned) for answer in answers]


class _Run:
    """The library at work on one job, in a process of its own; `last` are the layouts that it told
    last: a longer one may be pressed to less.
    """

    def __init__(self, job: dict[str, Any]) -> None:
        self.last: deque[Any] = deque(maxlen=_KEPT)
        self._worker = subprocess.Popen(
            [sys.executable, strip_worker.__file__],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
            encoding="ascii",
            cwd=Path(strip_worker.__file__).anchor,
        )
        self._ear = threading.Thread(target=self._listen, daemon=True)
        self._ear.start()
        assert self._worker.stdin is not None
        try:
            self._worker.stdin.write(json.dumps(job))
            self._worker.stdin.close()
        except OSError:  # it has died already
            self.end()

    def _listen(self) -> None:
        assert self._worker.stdout is not None
        for line in self._worker.stdout:
            try:
                told = json.loads(line)
            except ValueError:  # cut off in the middle
                return
            if not self.last or told != self.last[-1]:  # its answer is the last one that it told
                self.last.append(told)

    @property
    def width(self) -> float:
        """Of its shortest layout until now, mm; infinite before the first one."""
        return float(self.last[-1][0]) if self.last else math.inf

    @property
    def ended(self) -> bool:
        """True when nothing more comes from it."""
        return self._worker.poll() is not None

    def end(self) -> None:
        """End its process if it still runs, and hear the rest of what it told."""
        if not self.ended:
            self._worker.kill()
        self._worker.wait()
        self._ear.join(1.0)


def _raced(jobs: Sequence[dict[str, Any]], seconds: float, budget: Budget) -> list[Any]:
    """The last layouts of runs that start together; after a share of the time only the one that is
    ahead goes on. None of a run that was ended for that.
    """
    began, shortest, late = time.monotonic(), math.inf, _PATIENCE * seconds
    runs: list[_Run] = []
    try:
        for job in jobs:
            runs.append(_Run(job))
        while not all(run.ended for run in runs) and not budget.stop():
            spent = time.monotonic() - began
            if spent > seconds + (late if math.isinf(shortest) else 0.0):
                break
            if len(runs) > 1 and spent > _DECIDED * seconds:
                runs = _without_losers(runs)
            if (ahead := min(run.width for run in runs)) < shortest:
                shortest = ahead
                budget.progress(f"strip of {shortest:.1f} mm", min(spent / seconds, 1.0))
            time.sleep(_POLL_S)
    finally:
        for run in runs:
            run.end()
    return [told for run in runs for told in run.last]


def _without_losers(runs: Sequence[_Run]) -> list[_Run]:
    """The runs that have ended and, of those at work, the one with the shortest strip."""
    done = [run for run in runs if run.ended]
    at_work = sorted((run for run in runs if run not in done), key=lambda run: run.width)
    for run in at_work[1:]:
        run.end()
    return [*done, *at_work[:1]]


def _laid(
    placed: Sequence[tuple[int, float, float, float]], wanted: Wanted, gap_mm: float, turned: Turner
) -> list[Laid]:
    """The library's answer as shapes at places; its strip began a gap before ours."""
    return [
        Laid(turned(wanted[item][0], deg % 360.0), x - gap_mm, y - gap_mm)
        for item, x, y, deg in placed
    ]
