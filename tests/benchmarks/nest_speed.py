"""How long the nest takes: python -m tests.benchmarks.nest_speed

Bounds: identical diffusers on one plain sheet in 50 ms; 10,000 of them in 10 s, time and memory
near-linear. Each line is one run; the second table nests two kinds of panel, as many of each, on
the same sheets.
"""

from __future__ import annotations

import resource
import sys
import time

from fab.outlines.contour import Outline
from fab.outlines.shapes import regular
from fab.sheets.audit import audit
from fab.sheets.convex import swollen
from fab.sheets.lattice import Lattice, useful_turns
from fab.sheets.model import Piece, Sheet
from fab.sheets.nest import nest

ONE_SHEET_MS, ALL_S = 50.0, 10.0
COUNTS = (1, 10, 100, 1_000, 10_000)
GAP, KERF = 2.0, 0.18


def main() -> int:
    slow = 0
    print("{:>6} {:>9} {:>7} {:>6} {:>9}".format("sides", "across", "copies", "ms", "sheet"))
    for sides, across in (
        (6, 120),
        (6, 150),
        (6, 60),
        (3, 40),
        (3, 70),
        (4, 100),
        (4, 60),
        (5, 100),
        (8, 100),
    ):
        for width, height in ((600, 400), (1000, 600)):
            shape = swollen(regular(sides, across / 2, 3.0))
            assert shape is not None
            began = time.perf_counter()
            count = len(Lattice(shape, GAP, useful_turns(shape)).spots(width, height))
            took = (time.perf_counter() - began) * 1000
            slow += took > ONE_SHEET_MS
            print(f"{sides:6} {across:9} {count:7} {took:6.1f} {width:>5}x{height}")
    for kinds in (1, 2):
        print(
            "{:>7} {:>7} {:>8} {:>8} {:>6}".format("each of", "sheets", "nest s", "audit s", "MB")
        )
        for count in COUNTS:
            pieces = [Piece("hex", Outline(regular(6, 60, 3)), count, "s")]
            pieces += [Piece("tri", Outline(regular(3, 34.6, 3)), count, "s")] * (kinds - 1)
            sheets = [
                Sheet("s", "s", ((0, 0), (600, 0), (600, 400), (0, 400)), (), 5.0, 5_000, 14.0)
            ]
            began = time.perf_counter()
            found = nest(pieces, sheets, gap_mm=GAP, kerf_mm=KERF)
            took = time.perf_counter() - began
            wrong = audit(found, pieces, sheets, GAP, KERF)
            proof = time.perf_counter() - began - took
            slow += took > ALL_S or bool(wrong)
            megabytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            print(f"{count:7} {len(found.layups):7} {took:8.3f} {proof:8.3f} {megabytes:6.0f}")
    return 1 if slow else 0


if __name__ == "__main__":
    sys.exit(main())
