"""Shaded pictures of the printed coupons: how each goes together when it is measured."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from fab.book.shadedart import shape
from fab.parts.clip import clip
from fab.parts.coupons import pictures
from fab.parts.coupons.fit import peg, slot_parts
from fab.parts.coupons.model import PrintedCoupon
from fab.parts.coupons.snap import plain_pocket
from fab.parts.plan import Plan
from fab.solids.kernel import Solid
from fab.solids.meshing import mesh
from fab.solids.shaded import Shaded, shaded

EYE = (-0.35, -1.0, 1.1)  # from the front and above
COLUMNS = 480  # dots across
SNAP_SHOWN = 15  # the step that is drawn


def fit(plan: Plan) -> Shaded:
    """The peg over its slots: of all pieces those that take least to make."""
    block, *letters = slot_parts(plan.printer)
    over = pictures.peg_over(block, peg(plan.printer))
    return _beside([block, over, *letters], ("base", "clip", *("base" for _ in letters)))


def snap(plan: Plan) -> Shaded:
    """Two pieces edge to edge, turned over, and the clip over their pockets; their numbers, inside
    the panel, are not seen.
    """
    pieces = {
        name: PrintedCoupon(name, 1, solid)
        for name, solid in (
            ("snap-edge-15", plain_pocket(plan, SNAP_SHOWN)),
            ("snap-clip", clip(plan)),
        )
    }
    _, (_, over) = pictures.snap_pictures(plan, pieces)
    return _beside(over, ("base", "base", "clip"))


DRAWN: Mapping[str, Callable[[Plan], Shaded]] = {"fit": fit, "snap": snap}


def _beside(solids: Sequence[Solid], colours: Sequence[str]) -> Shaded:
    shapes = [
        shape(mesh(solid, f"coupon {k}"), colour, named=False)
        for k, (solid, colour) in enumerate(zip(solids, colours, strict=True))
    ]
    return shaded(shapes, EYE, columns=COLUMNS)
