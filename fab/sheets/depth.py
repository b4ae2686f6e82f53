"""Depth of each cut inside others: 0 frees a part from the sheet, 1 a hole in it, 2 a part in that
hole, ...
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from fab.outlines.contour import Contour
from fab.outlines.facets import facets

_LARGER = 1 + 1e-6  # equal parts differ in the last bits


@dataclass(frozen=True)
class Loop:
    """One closed cut of one copy."""

    owner: str
    contour: Contour
    is_hole: bool
    depth: int = 0


def depths(loops: Sequence[Loop]) -> list[Loop]:
    """The loops with their depth: the number of other loops that enclose them.

    Cut paths never cross.
    """
    if not any(loop.is_hole for loop in loops):
        return list(loops)
    import shapely

    areas = [shapely.Polygon(facets(loop.contour, outside=True)) for loop in loops]
    tree = shapely.STRtree(areas)
    starts = [shapely.Point(loop.contour.segments[0].start) for loop in loops]
    found = [0] * len(loops)
    for inner, outer in tree.query(starts, predicate="within").T:
        # a start on its own edge, or on a shared one, is no proof; equal sizes can't enclose each
        # other
        if inner != outer and areas[outer].area > areas[inner].area * _LARGER:
            found[inner] += 1
    return [replace(loop, depth=depth) for loop, depth in zip(loops, found, strict=True)]
