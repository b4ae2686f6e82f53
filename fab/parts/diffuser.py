"""The sheet part: one outline; its solid is extruded from it, its cut file and nest are drawn from
it.
"""

from __future__ import annotations

from collections.abc import Sequence

from fab.outlines.contour import Contour, Outline
from fab.parts.plan import Plan
from fab.solids import kernel
from fab.solids.kernel import Solid


def diffuser_outline(plan: Plan, holes: Sequence[Contour] = ()) -> Outline:
    """The outline as the part should measure; the kerf is added where it is cut.

    `holes`: of a stencil, seen from the front.
    """
    return Outline(plan.rings.diffuser, tuple(holes))


def diffuser(plan: Plan, holes: Sequence[Contour] = ()) -> Solid:
    """The sheet part on its ledge, at nominal thickness, in the panel frame.

    Engraving takes no material here.
    """
    flat = diffuser_outline(plan, holes)
    return kernel.one_body(
        kernel.prism(flat, plan.heights.ledge_z, plan.heights.ledge_z + plan.stock.thickness),
        "diffuser",
    )
