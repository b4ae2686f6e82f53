"""The bed coupon: three posts on an L, whose distances tell the printer's scale along X and along
Y.

Y post
  |            distance of two posts' middles = (outside + inside) / 2:
  |            a line that prints too wide adds to one what it takes from the other
corner ----- X post
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from fab.errors import CheckFailed
from fab.outlines.contour import polygon
from fab.outlines.shapes import rectangle
from fab.params.shop import Printer
from fab.parts.coupons.model import LETTER_H, PrintedCoupon
from fab.parts.coupons.raised import letters, raised
from fab.solids import kernel
from fab.units import fixed

POST = 10.0  # side of a post, mm
TALL = 10.0  # height of the posts: jaws go well over the first layers
ARM = 12.0  # width of the arms
THICK = 2.4  # thickness of the arms
MOST = 120.0  # distance of middles: 130 mm outside is what a 150 mm caliper takes
LEAST = 40.0  # under this a caliper's error hides the printer's


@dataclass(frozen=True)
class BedSize:
    """Distance of the posts' middles along each axis."""

    x: float
    y: float


def bed_size(printer: Printer) -> BedSize:
    """The largest distances, in whole tens, that bed and caliper take.

    CheckFailed for a bed that is too small.
    """
    room = [side - 2 * printer.bed_margin - ARM for side in printer.bed]
    x, y = (min(MOST, math.floor(side / 10) * 10.0) for side in room)
    if min(x, y) < LEAST:
        least = LEAST + ARM + 2 * printer.bed_margin
        raise CheckFailed(
            f"the bed coupon needs a bed of {fixed(least, 1)} mm each way with a margin of"
            f" {fixed(printer.bed_margin, 1)} mm; it is [{fixed(printer.bed[0], 1)},"
            f" {fixed(printer.bed[1], 1)}]"
        )
    return BedSize(x, y)


def bed_coupon(printer: Printer) -> PrintedCoupon:
    """One piece, its corner post's middle at the origin's near side, X to the right."""
    size = bed_size(printer)
    low = -ARM / 2
    shape = polygon(
        [
            (low, low),
            (size.x - low, low),
            (size.x - low, -low),
            (-low, -low),
            (-low, size.y - low),
            (low, size.y - low),
        ]
    )
    posts = [
        kernel.prism(rectangle(POST, POST, at), THICK - 0.3, THICK + TALL)
        for at in ((0.0, 0.0), (size.x, 0.0), (0.0, size.y))
    ]
    half = LETTER_H / 2
    words = [
        *letters(f"X {fixed(size.x, 0)}".replace("0", "O"), (size.x / 2, -half), printer),
        *letters(
            f"Y {fixed(size.y, 0)}".replace("0", "O"), (half, size.y / 2), printer, turn_deg=90.0
        ),
    ]
    foot = kernel.chamfered_foot(kernel.prism(shape, 0, THICK), printer.elephant_foot)
    solid = kernel.fused([foot, *posts, *raised(tuple(words), THICK, printer)])
    return PrintedCoupon(
        "bed-scale", 1, kernel.one_body(kernel.moved(solid, -low, -low, 0.0), "bed-scale")
    )
