"""DXF and SVG of one name hold the same paths, and the picture of a sheet shows them."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from typing import Any

from fab.checks.model import Verdict, at_most
from fab.proof.paths import Path
from fab.proof.tree import Tree


def agree(path: str, one: Sequence[Path], other: Sequence[Path], within: float) -> Verdict:
    """Both drawings hold the same paths on the same layers, in whatever order."""
    import shapely

    def sorted_(paths: Sequence[Path]) -> list[Path]:
        return sorted(paths, key=lambda p: (p.layer, *(round(v, 2) for v in p.box)))

    if Counter(p.layer for p in one) != Counter(p.layer for p in other):
        says = "the DXF of this name has another number of paths on a layer"
        return at_most(
            "proof.cut-agree", path, float(abs(len(one) - len(other)) or 1), 0.0, "paths", says
        )
    worst, where = 0.0, ""
    left = sorted_(other)
    lines = [shapely.LineString(p.points) for p in left]
    tree = shapely.STRtree(lines)
    taken: set[int] = set()
    for p in one:
        line = shapely.LineString(p.points)
        near = [
            int(k)
            for k in tree.query(line, predicate="dwithin", distance=1.0)
            if k not in taken and left[k].layer == p.layer
        ]
        off, k = min(((line.hausdorff_distance(lines[k]), k) for k in near), default=(math.inf, -1))
        taken.add(k)
        if off > worst:
            worst, where = off, f" at x {p.centre[0]:.1f}, y {p.centre[1]:.1f} on layer {p.layer}"
    return at_most(
        "proof.cut-agree",
        path,
        worst,
        within,
        "mm",
        f"a path differs from that of the DXF{where}",
    )


def pictures(tree: Tree, lines: dict[str, Any]) -> list[Verdict]:
    """Every sheet has a picture that is a whole PNG."""
    found = []
    for path in tree.names("cut/sheet-", ".png"):
        data = tree.read(path)
        whole = data[:8] == b"\x89PNG\r\n\x1a\n" and data[-8:-4] == b"IEND"
        found.append(
            at_most(
                "proof.cut-picture",
                path,
                0.0 if whole else 1.0,
                0.0,
                "faults",
                "the picture of the sheet is a whole PNG",
            )
        )
    return found
