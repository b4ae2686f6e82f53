"""The sheet part: one outline; its solid is extruded from it, its cut file and nest are drawn from it."""

from __future__ import annotations

from fab.outlines.contour import Outline
from fab.parts.plan import Plan
from fab.solids import kernel
from fab.solids.kernel import Solid


def diffuser_outline(plan: Plan) -> Outline:
    """What the part should measure; the kerf is added where it is cut."""
    return Outline(plan.diffuser)


def diffuser(plan: Plan) -> Solid:
    """The sheet part on its ledge, at nominal thickness, in the panel frame."""
    return kernel.one_body(
        kernel.prism(diffuser_outline(plan), plan.ledge_z, plan.ledge_z + plan.stock.thickness), "diffuser"
    )
