"""Bed edges of parts that mate there: a small chamfer, because the first layer spreads (elephant
foot).
"""

from __future__ import annotations

from fab.outlines.contour import Contour
from fab.outlines.shapes import regular
from fab.parts.plan import Plan
from fab.solids import kernel
from fab.solids.kernel import Solid

LEAST_R = 0.05  # a smaller radius or chamfer is not worth making, mm


def footed(low: Contour, full: Contour, by_mm: float, z0: float, z1: float) -> Solid:
    """`full` extruded from z0 to z1, narrowing to `low` over the lowest `by_mm`; both have equally
    many segments.
    """
    if by_mm <= 0 or len(low.segments) != len(full.segments):
        return kernel.prism(full, z0, z1)
    return kernel.fused(
        [kernel.frustum(low, z0, full, z0 + by_mm), kernel.prism(full, z0 + by_mm, z1)]
    )


def footed_body(plan: Plan, z0: float, z1: float) -> Solid:
    """The panel's outline extruded, its lowest edge relieved."""
    by, radius = plan.printer.elephant_foot, plan.params.corner_radius
    if by <= 0:
        return kernel.prism(plan.rings.body, z0, z1)
    inner = max(radius - by, min(radius, LEAST_R))
    return footed(
        regular(plan.cell.sides, plan.rings.body_apothem - by, inner), plan.rings.body, by, z0, z1
    )
