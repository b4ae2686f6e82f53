"""The seat coupon: a square of the diffuser's own sheet, tried in the lap openings of the fit
coupon.

The square is cut as a diffuser is, kerf compensation and all, so what the number says is what a
diffuser will have in its rebate: walls of the same thickness, printed the same way round.
"""

from __future__ import annotations

from fab.outlines.contour import Outline
from fab.outlines.shapes import rectangle
from fab.outlines.strokes import strokes, width_mm
from fab.parts.coupons.fit import LAP_RADIUS, lap_side, laps
from fab.parts.coupons.model import FlatCoupon, FlatPiece, PrintedCoupon
from fab.parts.plan import Plan
from fab.units import fixed

MARK_H = 3.0  # height of letters, mm


def seat_openings(plan: Plan) -> PrintedCoupon:
    """The openings that the square is tried in."""
    return PrintedCoupon("fit-laps", 1, laps(plan))


def seat_square(plan: Plan) -> FlatCoupon:
    """The square, `lap_side` mm wide as it should measure; its mark says which side was up on the
    laser.
    """
    name, side = plan.params.diffuser.stock, lap_side(plan)
    words = f"{fixed(plan.stock.thickness, 2)} mm"
    height = MARK_H * min(1.0, (side - 4.0) / width_mm(words, MARK_H))
    marks = strokes(words, height, "middle", (side / 2, (side - height) / 2))
    square = Outline(rectangle(side, side, (side / 2, side / 2), LAP_RADIUS))
    notes = (
        (
            f"seat coupon for {name}: kerf compensation as for a diffuser,"
            f" {fixed(plan.stock.kerf, 3)} mm"
        ),
    )
    return FlatCoupon(
        f"seat-{name}",
        name,
        (FlatPiece("square", square, marks),),
        side,
        side,
        notes,
        compensated=True,
    )
