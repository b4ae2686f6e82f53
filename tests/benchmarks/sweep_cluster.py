"""200 variants on a local Dask cluster of two workers and on two processes: the same table? And how
long does each take?

    python tests/benchmarks/sweep_cluster.py [--variants 200]

Each way has an empty cache of its own. A worker of the cluster is killed in the middle; the table
stays the same.
"""

from __future__ import annotations

import argparse
import os
import signal
import tempfile
import threading
import time
from pathlib import Path
from typing import Any

from fab.sweep import Variant, grid, sweep

JOB = Path(__file__).parents[2] / "params" / "bedside-lamp.toml"


def variants(count: int) -> tuple[Variant, ...]:
    """Depth x wall x stock's thickness x brightness; the first two need solids of their own."""
    found = grid(
        {
            "panel.depth": ["36", "38"],
            "panel.shell.wall": ["1.8", "2.25"],
            "shop.stock.opal-3.kerf": ["0.16", "0.18", "0.2", "0.22", "0.24"],
            "power.brightness": [f"0.{k}" for k in range(11, 21)],
        }
    )
    return found[:: max(len(found) // count, 1)][:count]


def timed(where: str, run: Any) -> list[dict[str, Any]]:
    began = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        os.environ["PANEJIG_CACHE"] = f"{folder}/cache"
        rows: list[dict[str, Any]] = run(Path(folder) / "rows.journal")
    print(f"{where:34s}{time.perf_counter() - began:8.1f} s")
    return rows


def on_cluster(todo: tuple[Variant, ...], journal: Path, kill: bool) -> list[dict[str, Any]]:
    import distributed

    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, host="127.0.0.1", dashboard_address=None
    ) as cluster:

        def stop_one() -> None:
            while not journal.is_file() or journal.read_text().count("\n") < len(todo) // 3:
                time.sleep(0.1)
            os.kill(next(iter(cluster.workers.values())).pid, signal.SIGKILL)

        if kill:
            threading.Thread(target=stop_one, daemon=True).start()
        return sweep(JOB, todo, journal, address=cluster.scheduler_address)


def main() -> None:
    words = argparse.ArgumentParser()
    words.add_argument("--variants", type=int, default=200)
    todo = variants(words.parse_args().variants)
    print(f"{len(todo)} variants")
    here = timed("two processes", lambda journal: sweep(JOB, todo, journal, workers=2))
    there = timed("cluster of two workers", lambda journal: on_cluster(todo, journal, False))
    killed = timed("the same, a worker killed", lambda journal: on_cluster(todo, journal, True))
    print(
        f"same table: {here == there}; with a worker killed: {here == killed}; refused or failed"
        f" rows: {sum(row['exit'] > 0 for row in here)}"
    )


if __name__ == "__main__":
    main()
