"""Regions grown, shrunk and joined by the geometry library: without the warnings that its sums give
on the way, and with a look at what it made.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

_GRID_MM = 1e-7  # corners fall on this where the quick union fails
_INWARDS = 0.02  # share of the way to the middle at which a corner is looked for


def buffered(region: Any, by_mm: float, *, quad_segs: int = 16, **how: Any) -> Any:
    """A shapely value (or several) grown by `by_mm`, shrunk when that is negative; `how` as the
    library has it.

    quad_segs: chords of a quarter turn, their corners on the true curve.
    """
    import numpy as np
    import shapely

    with np.errstate(all="ignore"):  # it divides by zero where edges are parallel, and gets over it
        return shapely.buffer(region, by_mm, quad_segs=quad_segs, **how)


def joined(regions: Sequence[Any]) -> Any:
    """All of several convex polygons.

    The library's quick union now and then loses whole regions whose edges nearly lie on each other
    (version 3.14 of its kernel); where a corner of one is missing, they are joined again on a grid,
    which takes longer and holds.
    """
    import shapely

    whole = shapely.union_all(regions)
    corners, of = shapely.get_coordinates(regions, return_index=True)
    middles = shapely.get_coordinates(shapely.centroid(regions))[of]
    inwards = corners + (middles - corners) * _INWARDS
    shapely.prepare(whole)
    if shapely.contains_xy(whole, inwards[:, 0], inwards[:, 1]).all():
        return whole
    return shapely.union_all(regions, grid_size=_GRID_MM)
