"""The verdict of a fit: what was measured against the clearance that its class states."""

from __future__ import annotations

import math
from collections.abc import Sequence

from fab.checks.model import Verdict
from fab.parts.placed import Named
from fab.parts.plan import Plan
from fab.units import fixed

WITHIN = 0.01  # mm: a measured clearance may stray this far from what its class states
FAULT = "This is an internal error or comes from a changed part: please report it."
FIT_SOURCE = "clearance class of the shop, measured with the fit coupon"


def as_stated(
    check: str, subject: str, readings: Sequence[tuple[str, float]], stated: float, what: str
) -> Verdict:
    """The reading that strays furthest from the stated clearance decides."""
    where, worst = max(readings, key=lambda reading: abs(reading[1] - stated))
    measured = min(worst, 99.0)  # nothing to meet at all
    return Verdict(
        check,
        "pass" if abs(measured - stated) <= WITHIN else "fail",
        subject,
        measured,
        stated,
        "mm",
        f"Clearance of {what}, {where}: {fixed(measured, 2)} mm (fit: {fixed(stated, 2)} mm).",
        "" if abs(measured - stated) <= WITHIN else FAULT,
        FIT_SOURCE,
    )


def edge_way(plan: Plan, edge: int) -> tuple[float, float]:
    """Unit vector out of an edge's middle, in the panel frame."""
    angle = 2 * math.pi * edge / plan.cell.sides
    return (math.cos(angle), math.sin(angle))


def the_part(parts: Sequence[Named], part: str) -> Named:
    """The first of the parts in place that is of a kind: "base", "shell", "diffuser"."""
    return next(one for one in parts if one.part == part)
