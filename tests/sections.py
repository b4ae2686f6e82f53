"""Cuts through solids, for tests that measure what is made."""

from __future__ import annotations

from fab.solids.kernel import Solid
from fab.solids.loading import kernel


def section_area(solid: Solid, z: float) -> float:
    """Area of the cut through the solid at height z."""
    cq = kernel()
    b = solid.BoundingBox()
    plane = cq.Face.makePlane(
        4 * b.xlen + 10, 4 * b.ylen + 10, cq.Vector(b.center.x, b.center.y, z), cq.Vector(0, 0, 1)
    )
    return float(plane.intersect(solid).Area())
