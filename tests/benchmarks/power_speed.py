"""How long zones, inlets, network and headers take: python -m tests.benchmarks.power_speed

Bounds: 1,000 panels in 2 s; 10,000 panels without failing. Layouts are strips (every zone can reach
the rim), heaps of random cells, and a solid block, so both the easy and the hard way of zoning are
timed.
"""

from __future__ import annotations

import resource
import sys
import time
from typing import Any

from fab.params.job import PowerParams
from fab.power.wire import wire
from tests.power.walls import design, loads, random_cells, wall

BOUND_S = {1_000: 2.0}


def cases() -> Any:
    for count in (100, 1_000, 10_000):
        rows = 4
        yield (
            f"strip {count}",
            [(q, r) for q in range(count // rows) for r in range(rows)],
            PowerParams(),
        )
        if count <= 1_000:  # the heap of the tests is slow to draw beyond that
            yield f"heap {count}", random_cells(count, 1), PowerParams(supply_a=3.0, brightness=0.1)
        side = round(count**0.5)
        yield (
            f"block {side * side}",
            [(q, r) for q in range(side) for r in range(side)],
            PowerParams(supply_a=10.0),
        )


def main() -> int:
    slow = 0
    panel = design()
    heads = ("wall", "layout s", "wire s", "zones", "bound", "possible", "residual A", "MB")
    print("{:>14} {:>9} {:>8} {:>6} {:>6} {:>9} {:>11} {:>6}".format(*heads))
    for name, cells, power in cases():
        begin = time.perf_counter()
        layout = wall(cells, panel)
        laid = time.perf_counter()
        wired = wire(layout, loads(layout), power, {"panel": panel})
        took = time.perf_counter() - laid
        memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        bound = BOUND_S.get(round(len(cells), -3), float("inf"))
        slow += took > bound
        print(
            f"{name:>14} {laid - begin:9.2f} {took:8.2f} {len(wired.zones):6d}"
            f" {wired.least_zones:6d} {wired.possible:9.3f} {wired.residual_a:11.1e} {memory:6.0f}"
            + ("  TOO SLOW" if took > bound else "")
        )
    return 1 if slow else 0


if __name__ == "__main__":
    sys.exit(main())
