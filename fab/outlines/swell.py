"""Regions grown and shrunk by the geometry library, without the warnings that its sums give on the way."""

from __future__ import annotations

from typing import Any


def swell(region: Any, by_mm: float, *, quad_segs: int = 16, **how: Any) -> Any:
    """A shapely value (or several) grown by `by_mm`, shrunk when that is negative; `how` as the library has it.

    quad_segs: chords of a quarter turn, their corners on the true curve.
    """
    import numpy as np
    import shapely

    with np.errstate(all="ignore"):  # it divides by zero where edges are parallel, and gets over it
        return shapely.buffer(region, by_mm, quad_segs=quad_segs, **how)
