"""Pictures of the coupons' sheets: line drawings of the very pieces, and where the caliper goes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from fab.outlines.contour import Box, Contour, Point, around, polygon
from fab.outlines.figures import dimension
from fab.outlines.inks import BLUE
from fab.outlines.page import HAIR_MM, Group, Item, Text, polyline, ring
from fab.parts.coupons.bed import ARM, POST, BedSize
from fab.parts.coupons.fit import DEEP, edge_reach
from fab.parts.coupons.kerf import LONG, KerfSize
from fab.parts.coupons.model import FlatCoupon, PrintedCoupon
from fab.parts.coupons.snap import with_snap
from fab.parts.plan import Plan
from fab.solids import kernel
from fab.solids.hiddenline import line_art
from fab.solids.kernel import Solid

WORDS_MM = 2.8
_ABOVE = (-0.3, -0.8, 1.2)  # where the eye stands


def flat_picture(coupon: FlatCoupon, size: KerfSize, wide: float) -> tuple[Item, Point]:
    """The coupon as cut, and beside it the stack and where to measure; as large as `wide` mm
    allows.
    """
    strip, long = size.strip_mm, LONG
    scale = wide / (coupon.width + 24.0 + size.stack_mm)
    items: list[Item] = []
    for piece in coupon.pieces:
        items += [
            ring(_scaled(contour, scale), HAIR_MM * 1.5) for contour in piece.outline.contours
        ]
        items += [
            polyline([(x * scale, y * scale) for x, y in path], HAIR_MM) for path in piece.marks
        ]
    left, low = (coupon.width + 20.0) * scale, 24.0 * scale
    for k in range(size.strips):
        x = left + k * strip * scale
        corners = [
            (x, low),
            (x + strip * scale, low),
            (x + strip * scale, low + long * scale),
            (x, low + long * scale),
        ]
        items.append(polyline(corners, HAIR_MM * 1.5, closed=True))
    right = left + size.stack_mm * scale
    items.append(
        dimension(
            (left, low + long * scale),
            (right, low + long * scale),
            6.0,
            f"across all {size.strips}",
            size_mm=WORDS_MM,
            colour=BLUE,
        )
    )
    items.append(Text((left + right) / 2, low - 5.0, "pushed together", WORDS_MM, "middle"))
    window = coupon.pieces[0].outline.holes[0].box
    at = window[3] * scale
    items.append(
        dimension(
            (window[0] * scale, at),
            (window[2] * scale, at),
            -(window[3] - window[1]) / 2 * scale,
            " ",
            size_mm=WORDS_MM,
            colour=BLUE,
        )
    )
    return Group(tuple(items)), (wide, coupon.height * scale)


def _scaled(contour: Contour, scale: float) -> Contour:
    """A contour of straight lines at another scale."""
    return polygon([(seg.start[0] * scale, seg.start[1] * scale) for seg in contour.segments])


def fit_pictures(plan: Plan, pieces: Mapping[str, PrintedCoupon]) -> list[tuple[str, list[Solid]]]:
    """Peg over slots, ring over laps, cap before the window."""
    slots, laps, edge = (pieces[name].solid for name in ("fit-slots", "fit-laps", "fit-edge"))
    peg, ring_, cap = (pieces[name].solid for name in ("fit-peg", "fit-ring", "fit-cap-minus-05"))
    over_slot = peg_over(slots, peg)
    over_lap = kernel.moved(kernel.tilted(ring_, "x", 180.0), *_hover(laps, 0.9, 0.75), DEEP + 36.0)
    a, gap = edge_reach(plan), plan.params.gap / 2
    upright = kernel.moved(kernel.tilted(cap, "y", -90.0), a - gap + 16.0, 0.0, plan.heights.axis_z)
    pair = [kernel.turned(edge, -90.0), kernel.turned(upright, -90.0)]
    return [
        ("LOCATION: peg, slots", [slots, over_slot]),
        ("SLIDING: ring, laps", [laps, over_lap]),
        ("PRESS: cap, window", pair),
    ]


def peg_over(slots: Solid, peg: Solid) -> Solid:
    """The peg upside down over one of its slots."""
    return kernel.moved(kernel.tilted(peg, "x", 180.0), *_hover(slots, 0.9, 0.75), DEEP + 32.0)


def seat_pictures(
    plan: Plan, openings: PrintedCoupon, square: FlatCoupon
) -> list[tuple[str, list[Solid]]]:
    """The square over an opening."""
    plate = kernel.prism(square.pieces[0].outline, 0.0, plan.stock.thickness)
    x, y = _hover(openings.solid, 0.9, 0.75)
    over = kernel.moved(plate, x - square.width / 2, y - square.height / 2, DEEP + 24.0)
    return [("SEAT: square, openings", [openings.solid, over])]


def _hover(solid: Solid, across: float, up: float) -> Point:
    low_x, low_y, _, high_x, high_y, _ = kernel.box_of(solid)
    return (low_x + across * (high_x - low_x), low_y + up * (high_y - low_y))


def snap_pictures(plan: Plan, pieces: Mapping[str, PrintedCoupon]) -> list[tuple[str, list[Solid]]]:
    """Two pieces edge to edge as laid down; then both turned over with the clip above."""
    piece, made = pieces["snap-edge-15"].solid, pieces["snap-clip"].solid
    one = kernel.moved(piece, -edge_reach(with_snap(plan, 15)), 0.0, 0.0)
    other = kernel.turned(one, 180.0)
    upright = kernel.tilted(made, "x", 90.0)
    placed = kernel.moved(upright, 0.0, plan.params.clip.width / 2, -24.0)
    over = [kernel.tilted(solid, "x", 180.0) for solid in (one, other, placed)]
    return [
        ("1. same number, edge to edge", [one, other]),
        ("2. turned over, clip from the back", over),
    ]


def drawn(solids: Sequence[Solid], wide: float, high: float) -> tuple[Item, Point]:
    """The solids as a line drawing that fits `wide` x `high` mm."""
    art = line_art(solids, _ABOVE)
    return _fitted(art.visible, art.box, wide, high)


def _fitted(
    paths: Sequence[Sequence[Point]], box: Box, wide: float, high: float
) -> tuple[Item, Point]:
    scale = min(wide / (box[2] - box[0]), high / (box[3] - box[1]))
    lines = [
        polyline([((x - box[0]) * scale, (y - box[1]) * scale) for x, y in path], HAIR_MM * 1.3)
        for path in paths
        if _long(path, scale)
    ]
    return Group(tuple(lines)), ((box[2] - box[0]) * scale, (box[3] - box[1]) * scale)


def _long(path: Sequence[Point], scale: float) -> bool:
    """Lines shorter than their own width are left out."""
    x0, y0, x1, y1 = around(path)
    return max(x1 - x0, y1 - y0) * scale > HAIR_MM


def bed_picture(coupon: PrintedCoupon, size: BedSize, wide: float) -> tuple[Item, Point]:
    """From above, with the four distances."""
    art = line_art([coupon.solid], (0.0, 0.0, 1.0), (0.0, 1.0, 0.0))
    box = art.box
    scale = wide / (box[2] - box[0] + 60.0)
    lines, _ = _fitted(art.visible, box, (box[2] - box[0]) * scale, (box[3] - box[1]) * scale)
    edge, half = ARM / 2, POST / 2  # the posts' middles lie half an arm from the coupon's edge

    def at(x: float, y: float) -> Point:
        return (x * scale, y * scale)

    items: list[Item] = [Group((lines,))]
    x0, x1 = edge, edge + size.x
    items += [
        dimension(
            at(x0 - half, edge + half),
            at(x1 + half, edge + half),
            9.0,
            "X outside",
            size_mm=WORDS_MM,
            colour=BLUE,
        ),
        dimension(
            at(x0 + half, edge + half),
            at(x1 - half, edge + half),
            3.5,
            "X inside",
            size_mm=WORDS_MM,
            colour=BLUE,
        ),
    ]
    y1 = edge + size.y
    items += [
        dimension(
            at(edge + half, edge - half),
            at(edge + half, y1 + half),
            -14.0,
            "Y outside",
            size_mm=WORDS_MM,
            colour=BLUE,
        ),
        dimension(
            at(edge + half, edge + half),
            at(edge + half, y1 - half),
            -7.0,
            "Y inside",
            size_mm=WORDS_MM,
            colour=BLUE,
        ),
    ]
    return Group(tuple(items)), ((box[2] - box[0]) * scale, (box[3] - box[1]) * scale)
