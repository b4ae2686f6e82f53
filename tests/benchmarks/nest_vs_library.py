"""Our nest beside the strip-packing library alone, at equal seconds in one run: widths, densities,
ratios.

    python -m tests.benchmarks.nest_vs_library [--seconds 10] [--seed 1] [--public FOLDER]
        [NAME ...]

The public strips are read from --public, else from the folder named by PANEJIG_STRIPS, else from
../shared/nesting; left out when none is there. Ratios under 1 mean that ours is shorter. Both get
the same number of cores; ours includes its quick way, its moves and every start-up of a library
run. Published densities: best and mean of 100 runs of 20 minutes, J. Gardeyn and others,
arXiv:2509.13329.
"""

from __future__ import annotations

import argparse
import os
import time
from pathlib import Path

from fab.sheets.model import Sheet
from fab.sheets.paths import paths
from fab.sheets.search import searched_for
from fab.sheets.stock_parts import Budget, StockParts
from tests.benchmarks.nest_instances import Instance, own, public

PUBLISHED = {
    "albano": (89.82, 89.47),
    "shapes0": (69.98, 68.60),
    "shapes1": (76.73, 75.69),
    "trousers": (92.62, 91.73),
}


def ours(instance: Instance, seconds: float, seed: int) -> tuple[float, float, str]:
    """Width of the quick way, width after `seconds` in all, and who found it."""
    budget = Budget(time.monotonic() + seconds, seed, lambda: False, lambda _says, _share: None)
    far = 2.5 * instance.area / instance.height
    sheet = Sheet(
        "s", "strip", ((0.0, 0.0), (far, 0.0), (far, instance.height), (0.0, instance.height))
    )
    parts = StockParts(paths(instance.pieces, 0.0), [sheet], instance.gap)
    first, found = searched_for(parts, budget, ("right",))
    one, two = (max(item.right for item in answer.fillings[0].laid) for answer in (first, found))
    assert len(found.fillings[0].laid) == sum(piece.count for piece in instance.pieces)
    return one, two, found.engine


def library(instance: Instance, seconds: int, seed: int) -> float:
    """Width of the library alone: its own gap, its own splitting of the time, one worker a core.

    It keeps its gap to the ends of the strip too, so the strip is higher and the width less by two
    gaps.
    """
    import spyrrow

    ways = paths(instance.pieces, 0.0)
    parts = StockParts(ways, [], instance.gap)
    items = [
        spyrrow.Item(
            str(k),
            list(parts.shape(path, 0.0).edge),
            path.piece.count,
            list(path.turns(grain=False)),
        )
        for k, path in enumerate(ways)
    ]
    config = spyrrow.StripPackingConfig(
        total_computation_time=seconds,
        num_workers=os.cpu_count(),
        seed=seed,
        min_items_separation=instance.gap or None,
    )
    both = 2 * instance.gap
    return (
        float(spyrrow.StripPackingInstance("x", instance.height + both, items).solve(config).width)
        - both
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("names", nargs="*")
    parser.add_argument("--seconds", type=int, default=10)
    parser.add_argument("--seed", type=int, default=1)
    default = (
        os.environ.get("PANEJIG_STRIPS")
        or Path(__file__).resolve().parents[3] / "shared" / "nesting"
    )
    parser.add_argument("--public", type=Path, default=Path(default))
    given = parser.parse_args()
    instances = own() + (public(given.public) if given.public.is_dir() else [])
    heads = (
        "instance",
        "library",
        "quick",
        "ours",
        "ratio",
        "density",
        "seconds",
        "published best, mean; engine",
    )
    print("{:10} {:>10} {:>10} {:>10} {:>7} {:>8} {:>7}  {}".format(*heads))
    ratios = []
    for instance in instances:
        if given.names and instance.name not in given.names:
            continue
        theirs = library(instance, given.seconds, given.seed)
        began = time.perf_counter()
        first, mine, engine = ours(instance, given.seconds, given.seed)
        took = time.perf_counter() - began
        ratios.append(mine / theirs)
        dense = 100 * instance.area / instance.height / mine
        known = (
            "{:.2f}, {:.2f}; ".format(*PUBLISHED[instance.name])
            if instance.name in PUBLISHED
            else ""
        )
        row = (
            f"{instance.name:10} {theirs:10.2f} {first:10.2f} {mine:10.2f} {mine / theirs:7.4f}"
            f" {dense:7.2f}% {took:7.2f}"
        )
        print(f"{row}  {known}{engine}", flush=True)
    print(f"largest ratio {max(ratios):.4f}, mean {sum(ratios) / len(ratios):.4f}")


if __name__ == "__main__":
    main()
