"""The fit proof against the making of the parts it proves, in processor seconds of this one
process.

    python tests/benchmarks/fit_speed.py [job.toml]

Parts: every solid and mesh of the job, made anew. Checks: all that are measured on them (prints,
fits, joints, leaks) and those of the plan. Nothing is asserted.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

from fab import verdicts
from fab.built import CHECKS
from fab.graph.run import Run
from fab.graph.store import Store
from fab.params.read import load
from fab.solids.loading import kernel
from fab.workshop import recipe_of

ROOT = Path(__file__).parents[2]


def main() -> None:
    import scipy.sparse.csgraph
    import scipy.spatial  # noqa: F401
    import shapely  # noqa: F401

    kernel()
    loaded = load(Path(sys.argv[1]) if len(sys.argv) > 1 else ROOT / "params" / "reading-nook.toml")
    run = Run(Store(None))
    recipe = recipe_of(loaded, run, (CHECKS,))
    began = time.process_time()
    design, made = recipe.design, recipe.made  # the design weighs the parts, so it makes some
    parts = time.process_time() - began
    print(f"parts            {parts:6.2f} s   {len(made)} parts")
    prepared = recipe.prepared
    total = 0.0
    _, prints, measured = recipe.judged
    for name, judge in (
        ("plan and snaps", lambda: verdicts.plan_verdicts(design)),
        ("cut", lambda: verdicts.cut_verdicts(prepared)),
        ("prints", lambda: [one for some in run.values(prints) for one in some]),
        ("fits and leaks", lambda: [one for some in run.values(measured) for one in some]),
    ):
        began = time.process_time()
        found = judge()
        spent = time.process_time() - began
        total += spent
        print(f"{name:16s} {spent:6.2f} s   {len(found)} verdicts")
    print(f"checks           {total:6.2f} s   {total / parts:.2f} of making the parts")


if __name__ == "__main__":
    main()
