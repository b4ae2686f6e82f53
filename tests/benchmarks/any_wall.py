"""How many random walls pass every check that needs no solid: python -m tests.benchmarks.any_wall
[COUNT [SEED]]

Bound: all of them. Hexagons, squares, triangles and mixed walls of 3 to 40 panels, grown, compact,
with a hole and
branched, written to disk as `panejig new` writes them. Told: what failed, what was decided, and how
long it took.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

from fab.errors import PanejigError
from fab.params.read import load
from fab.verdicts import early_verdicts
from fab.workshop import design_of, open_store
from tests.wall.any_walls import any_wall


def main(count: int = 300, seed: int = 15) -> int:
    failed: Counter[str] = Counter()
    of_kind: Counter[str] = Counter()
    bad, slowest, began = 0, (0.0, ""), time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        for number in range(count):
            wall = any_wall(number, seed)
            begin = time.perf_counter()
            try:
                design = design_of(load(wall.write(Path(folder))), open_store())
                ids = {v.id for v in early_verdicts(design) if v.verdict == "fail"}
            except PanejigError as error:
                ids = {f"{type(error).__name__}: {str(error).splitlines()[0][:160]}"}
            slowest = max(slowest, (time.perf_counter() - begin, wall.name))
            failed.update(ids)
            if ids:
                bad += 1
                of_kind[wall.name.partition("-")[2].partition("-")[2]] += 1
                print(f"{wall.name} ({wall.panels} panels): {', '.join(sorted(ids))}", flush=True)
    seconds = time.perf_counter() - began
    print(
        f"{count} walls, {bad} failed; {seconds:.0f} s, slowest {slowest[0]:.1f} s ({slowest[1]})"
    )
    for name, many in failed.most_common():
        print(f"  {many:4} {name}")
    for name, many in sorted(of_kind.items()):
        print(f"  {many:4} {name}")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main(*(int(word) for word in sys.argv[1:])))
