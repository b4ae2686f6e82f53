"""The strip-packing library in a process of its own: a job as JSON on stdin, every better layout as
a line on stdout.

Run as a file by `strip.py`. Apart, because the library can't be stopped, takes Ctrl-C for itself
and writes its faults to stderr with a trace.
"""

from __future__ import annotations

import json
import sys
import threading
from typing import Any

_POLL_S = 0.05
_DEPTH = 3  # of its quadtree: the same layouts in 8 % less time than with its usual 4


def main() -> None:
    """Read the job, run, print layouts as [width, [[item, x, y, turn in degrees], ...]]."""
    import spyrrow

    job = json.load(sys.stdin)
    items = [
        spyrrow.Item(
            str(k), [tuple(point) for point in item["shape"]], item["count"], item["turns"]
        )
        for k, item in enumerate(job["items"])
    ]
    config = spyrrow.StripPackingConfig(
        total_computation_time=None,
        exploration_time=job["explore_s"],
        compression_time=job["compress_s"],
        min_items_separation=job["gap"] or None,
        num_workers=job["workers"],
        seed=job["seed"],
        quadtree_depth=_DEPTH,
    )
    queue = spyrrow.ProgressQueue()
    feasible = (spyrrow.ReportType.ExplFeas, spyrrow.ReportType.CmprFeas)
    over = threading.Event()

    def listen() -> None:
        while not over.wait(_POLL_S):
            better = [answer for kind, answer in queue.drain() if kind in feasible]
            if better:
                _tell(better[-1])

    ear = threading.Thread(target=listen, daemon=True)
    ear.start()
    answer = spyrrow.StripPackingInstance("sheet", job["height"], items).solve(
        config, progress=queue
    )
    over.set()
    ear.join()
    _tell(answer)


def _tell(answer: Any) -> None:
    placed = [
        [int(i.id), float(i.translation[0]), float(i.translation[1]), float(i.rotation)]
        for i in answer.placed_items
    ]
    sys.stdout.write(json.dumps([float(answer.width), placed]) + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
