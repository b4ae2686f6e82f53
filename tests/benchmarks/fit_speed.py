"""The fit proof against the making of the parts it proves, in processor seconds of this one process.

    python tests/benchmarks/fit_speed.py [job.toml]

Parts: every solid and mesh of the job, made anew. Checks: all that are measured on them (prints, fits, joints, leaks)
and those of the plan. Nothing is asserted.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

from fab import verdicts
from fab.outputs.prepared import prepare
from fab.params.read import load
from fab.solids.loading import kernel
from fab.store import Store
from fab.workshop import design_of, parts_of

ROOT = Path(__file__).parents[2]


def main() -> None:
    import scipy.sparse.csgraph
    import scipy.spatial  # noqa: F401
    import shapely  # noqa: F401

    kernel()
    loaded = load(Path(sys.argv[1]) if len(sys.argv) > 1 else ROOT / "params" / "reading-nook.toml")
    store = Store(None)
    began = time.process_time()
    design = design_of(loaded, store)  # weighs the parts, so it makes some
    made = parts_of(design, store).made
    parts = time.process_time() - began
    print(f"parts            {parts:6.2f} s   {len(made)} parts")
    prepared = prepare(design, made)
    total = 0.0
    for name, judge in (
        ("plan and snaps", lambda: verdicts.plan_verdicts(design)),
        ("cut", lambda: verdicts.cut_verdicts(prepared)),
        ("prints", lambda: verdicts.kept(store, verdicts.print_tasks(design, made))),
        ("fits and leaks", lambda: verdicts.kept(store, verdicts.fit_tasks(design, made))),
    ):
        began = time.process_time()
        found = judge()
        spent = time.process_time() - began
        total += spent
        print(f"{name:16s} {spent:6.2f} s   {len(found)} verdicts")
    print(f"checks           {total:6.2f} s   {total / parts:.2f} of making the parts")


if __name__ == "__main__":
    main()
