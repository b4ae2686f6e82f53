"""How long hangers, order and template take: python -m tests.benchmarks.hang_speed

Bound (shared by all rooms): 1,000 panels from layout to lists in 10 s and 500 MB, near-linear from
100 to 10,000. The gap is screws over the proven bound.
"""

from __future__ import annotations

import resource
import sys
import time

from fab.params.job import HangParams
from fab.params.shop import Paper, WallType
from fab.wall.choose import choose
from fab.wall.order import assemble, hanging_order
from fab.wall.template import template
from fab.wall.to_hang import WallToHang
from tests.wall.walls import masses, plan_of, wall

BOUND_S = {1_024: 10.0}
SIDES = (3, 9, 10, 16, 32, 100)  # panels along each side of a block


def main() -> int:
    slow = 0
    plans = {"panel": plan_of(6)}
    heads = (
        "panels",
        "choose s",
        "screws",
        "bound",
        "gap %",
        "order s",
        "mated %",
        "pages s",
        "pages",
        "MB",
    )
    print("{:>7} {:>9} {:>7} {:>6} {:>6} {:>8} {:>8} {:>8} {:>6} {:>6}".format(*heads))
    for side in SIDES:
        layout = wall(6, [(q - r // 2, r) for r in range(side) for q in range(side)])
        mass = masses(layout)
        begin = time.perf_counter()
        hung = choose(WallToHang(layout, plans, mass, HangParams(), WallType()))
        chosen = time.perf_counter()
        assembly = assemble(layout, plans)
        hanging_order(layout, plans, assembly, hung, {name: m.grams for name, m in mass.items()})
        put = time.perf_counter()
        made = template(layout, plans, hung, Paper(), WallType())
        done = time.perf_counter()
        count = len(layout.panels)
        gap = 100 * hung.gap / hung.least
        mated = 100 * len(assembly.mates) / max(len(layout.joints), 1)
        megabytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(
            f"{count:>7} {chosen - begin:>9.2f} {len(hung.hangers):>7} {hung.least:>6} {gap:>6.1f}"
            f" {put - chosen:>8.2f} {mated:>8.1f} {done - put:>8.2f} {len(made.pages):>6}"
            f" {megabytes:>6.0f}"
        )
        slow += done - begin > BOUND_S.get(count, float("inf"))
    return 1 if slow else 0


if __name__ == "__main__":
    sys.exit(main())
