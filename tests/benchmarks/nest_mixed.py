"""Mixed lists on sheets: our nest beside the strip library used sheet by sheet, at equal seconds in
one run.

    nice python -m tests.benchmarks.nest_mixed [--seconds 30] [SEED ...]

List N has 100 N parts of six kinds: their sizes and shares are drawn from the seed N, nothing is
picked. The lists differ in length because a few sheets are the same few for any method: with
densities that are 2 % apart, one sheet in fifty is saved. The library gets, sheet by sheet, all
that is left up to 1.1 of a sheet's area, largest first, and an equal share of the seconds by the
area bound; what sticks out waits for the next sheet. Columns: parts, sheets of the library, ours,
bound, our seconds by the clock, and what can be said of the list: `least` where ours is the
bound, so that no method needs fewer; `equal` where the library's count is the bound.
"""

from __future__ import annotations

import argparse
import math
import os
import random
import time

from fab.sheets import strip
from fab.sheets.identical import room
from fab.sheets.model import Piece
from fab.sheets.nest import nest
from fab.sheets.paths import paths
from fab.sheets.sheet_fill import Laid
from fab.sheets.stock_parts import Budget, StockParts
from tests.sheets.shop_floor import GAP, KERF, angle, coupon, disc, panel, sheet

_OFFERED = 1.1


def drawn(seed: int) -> list[Piece]:
    """List `seed`: 100 times as many parts, of six kinds; the same for the same seed."""
    dice = random.Random(seed)
    kinds = [
        panel(6, dice.uniform(60, 160), 0, 3, name="hex"),
        panel(3, dice.uniform(40, 90), 0, 3, name="tri"),
        panel(4, dice.uniform(50, 120), 0, 3, name="sq"),
        disc(0, dice.uniform(15, 40)),
        angle(0, dice.uniform(60, 110), 25),
        coupon(0),
    ]
    shares = [dice.uniform(0.5, 1.5) for _ in kinds]
    counts = [int(100 * seed * share / sum(shares)) for share in shares]
    counts[-1] += 100 * seed - sum(counts)
    return [
        Piece(kind.name, kind.outline, count, kind.stock, kind.turns)
        for kind, count in zip(kinds, counts, strict=True)
    ]


def library(pieces: list[Piece], seconds: float, sheets: int) -> int:
    """Sheets that the library needs, sheet by sheet; gaps short by 0.02 mm are not held
    against it.
    """
    one = sheet(count=500)
    parts = StockParts(paths(pieces, KERF), [one], GAP)
    left = {path.piece.name: path.piece.count for path in parts.ways}
    wide, high = room(one)
    used, share = 0, max(seconds / sheets, 1.4)
    while any(left.values()):
        used += 1
        space, wanted = _OFFERED * one.area, []
        for path in sorted(parts.ways, key=lambda p: -p.area):
            count = min(left[path.piece.name], math.floor(space / path.area))
            if count > 0:
                space -= count * path.area
                wanted.append((parts.shape(path, 0.0), count, path.turns(grain=False)))
        kept: list[Laid] = []
        # on a busy machine its process may need longer to begin: that is not held against it
        for more in (
            1,
            2,
            4,
        ):
            budget = Budget(
                time.monotonic() + more * share, 1, lambda: False, lambda _says, _share: None
            )
            turned = lambda shape, deg: parts.shape(shape.path, round(deg, 9))  # noqa: E731
            found = strip.packed(wanted, high, GAP, budget, os.cpu_count() or 1, turned)
            kept = [item for item in (found[0] if found else []) if item.right <= wide + 1e-6]
            if kept:
                break
        if not kept:
            return 10**6
        for item in kept:
            left[item.shape.path.piece.name] -= 1
    return used


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("seeds", nargs="*", type=int, default=list(range(1, 11)))
    parser.add_argument("--seconds", type=float, default=30.0)
    given = parser.parse_args()
    against: list[int] = []
    for seed in given.seeds:
        pieces = drawn(seed)
        began = time.perf_counter()
        ours = nest(pieces, [sheet(count=500)], gap_mm=GAP, kerf_mm=KERF, seconds=given.seconds)
        took = time.perf_counter() - began
        theirs = library(pieces, given.seconds, ours.lower_bound_sheets)
        count = sum(piece.count for piece in pieces)
        bound = ours.lower_bound_sheets
        says = "equal" if theirs == bound else "least" if len(ours.layups) == bound else ""
        print(
            f"{seed:4} {count:5} {theirs:7} {len(ours.layups):4} {bound:4} {took:6.2f} {says}",
            flush=True,
        )
        if theirs < 10**6:
            against.append(len(ours.layups) - theirs)
    fewer, more = sum(d < 0 for d in against), sum(d > 0 for d in against)
    print(f"fewer sheets than the library on {fewer} of {len(against)} lists, more on {more}")


if __name__ == "__main__":
    main()
