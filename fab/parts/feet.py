"""The foot of a base as a solid; its sizes and places stand in `footsizes`.

Print orientation: the wall face on the bed, the stub up. Nothing of it hangs over.
"""

from __future__ import annotations

import math

from fab.outlines.contour import circle
from fab.parts.cap import RIB_R
from fab.parts.footsizes import FOOT_R, STUB_R, recess_depth, recesses
from fab.parts.plan import Plan
from fab.solids import kernel
from fab.solids.kernel import PAST, Solid

RIBS = 3  # crush ribs on the stub
SHORT_MM = 0.2  # the stub ends this far under the recess's roof, which sags by a layer


def foot(plan: Plan) -> Solid:
    """Return a foot as printed: the pillar from z = 0 to `base.feet`, the stub with its crush ribs
    on top.
    """
    high = plan.params.base.feet
    top = high + recess_depth(plan) - SHORT_MM
    by = plan.printer.elephant_foot
    pillar = kernel.prism(circle((0.0, 0.0), FOOT_R), by, high)
    relieved = kernel.cone(0.0, 0.0, 0.0, FOOT_R - by, by, FOOT_R) if by > 0 else None
    stub = kernel.prism(circle((0.0, 0.0), STUB_R - plan.fit("foot-stub")), high - 0.3, top)
    reach = STUB_R - plan.fit("foot") - RIB_R
    ribs = [
        kernel.prism(circle((reach * math.cos(a), reach * math.sin(a)), RIB_R), high - 0.3, top)
        for a in (2 * math.pi * k / RIBS for k in range(RIBS))
    ]
    solids = [pillar, stub, *ribs]
    return kernel.one_body(
        kernel.fused([*solids, relieved] if relieved is not None else solids), "foot"
    )


def recess_cuts(plan: Plan) -> list[Solid]:
    """Return the recesses to be cut into a base."""
    deep = recess_depth(plan)
    return [kernel.prism(circle(spot, STUB_R), -PAST, deep) for spot in recesses(plan)]
