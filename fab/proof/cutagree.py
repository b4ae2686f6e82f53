"""DXF and SVG of one name hold the same paths."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence

from fab.checks.model import Verdict, at_most, judge
from fab.proof.paths import CutPath


def agree(path: str, one: Sequence[CutPath], other: Sequence[CutPath], within: float) -> Verdict:
    """Both drawings hold the same paths on the same layers, in whatever order."""
    import shapely

    def sorted_(paths: Sequence[CutPath]) -> list[CutPath]:
        return sorted(paths, key=lambda p: (p.layer, *(round(v, 2) for v in p.box)))

    if Counter(p.layer for p in one) != Counter(p.layer for p in other):
        says = "the DXF of this name has another number of paths on a layer"
        return judge(
            "proof.cut-agree",
            path,
            at_most(float(abs(len(one) - len(other)) or 1), 0.0, "paths"),
            says,
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
    return judge(
        "proof.cut-agree",
        path,
        at_most(worst, within),
        f"a path differs from that of the DXF{where}",
    )
