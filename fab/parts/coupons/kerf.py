"""The kerf coupon: strips to push together and measure as one stack, and windows to measure from
inside.

    | 1 | 2 | ... | 10 |      strips upright: cut along Y, kerf in X      [ 1 ====== ]
                                                                          [ 2 ====== ]  kerf in Y
    [ [] [] [] []  label ]    a plate with windows of known width             ...

All lines are where the beam's middle runs: nothing is compensated, so every strip comes out one
kerf narrower and every window one kerf wider than drawn. A stack of n strips is short by n kerfs,
which divides the caliper's error by n.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from fab.errors import CheckFailed
from fab.outlines.contour import Outline, Point
from fab.outlines.shapes import rectangle
from fab.outlines.strokes import Strokes, strokes, width_mm
from fab.params.shop import Laser, Stock
from fab.parts.coupons.model import FlatCoupon, FlatPiece
from fab.units import fixed

STRIPS = 10
NARROWEST = 6.0  # width of a strip at least, mm: it must not fall over before it is measured
BY_THICKNESS = 1.5  # and this much of the thickness
LONG = 40.0  # length of a strip: wider than a caliper's jaws
WINDOWS = 4
WINDOW = 10.0  # width of a window: inside jaws go in well
WEB = 5.0  # material around windows
MARK_H = 3.0  # height of letters


@dataclass(frozen=True)
class KerfSize:
    """The nominal sizes that the readings are held against."""

    strips: int
    strip_mm: float  # drawn width of a strip
    window_mm: float  # drawn width of a window

    @property
    def stack_mm(self) -> float:
        """Width of all strips side by side as drawn, mm: what the caliper would read without a
        kerf.
        """
        return self.strips * self.strip_mm


def kerf_size(stock: Stock) -> KerfSize:
    """Strips get wider with the sheet's thickness, in whole millimetres."""
    return KerfSize(
        STRIPS, max(NARROWEST, float(math.ceil(BY_THICKNESS * stock.thickness - 1e-9))), WINDOW
    )


def kerf_coupon(name: str, stock: Stock, laser: Laser) -> FlatCoupon:
    """The coupon of one stock.

    Raises CheckFailed when it is larger than the laser's bed or the sheet.
    """
    size = kerf_size(stock)
    gap = max(laser.part_gap, 2.0, stock.thickness / 2)
    row = size.strips * (size.strip_mm + gap) - gap
    plate_h = row - LONG - gap
    # Upright strips stand over the plate; lying ones to the right of both.
    pieces = [FlatPiece("plate", _plate(row, plate_h), _words(name, stock, size, row))]
    for k in range(size.strips):
        at = k * (size.strip_mm + gap) + size.strip_mm / 2
        upright = Outline(rectangle(size.strip_mm, LONG, (at, plate_h + gap + LONG / 2)))
        pieces.append(
            FlatPiece(
                f"upright-{k + 1:02d}", upright, _number(k + 1, (at, row - MARK_H - 2.0), 0.0)
            )
        )
    for k in range(size.strips):
        y = row - size.strip_mm / 2 - k * (size.strip_mm + gap)
        lying = Outline(rectangle(LONG, size.strip_mm, (row + gap + LONG / 2, y)))
        pieces.append(
            FlatPiece(
                f"lying-{k + 1:02d}", lying, _number(k + 1, (row + gap + 2.0 + MARK_H, y), 90.0)
            )
        )
    wide = row + gap + LONG
    _must_fit(name, stock, laser, wide, row)
    notes = (
        f"kerf coupon for {name}, {fixed(stock.thickness, 2)} mm",
        "drawn where the beam's middle runs: no kerf compensation",
        (
            f"{size.strips} strips of {fixed(size.strip_mm, 2)} mm make a stack of"
            f" {fixed(size.stack_mm, 2)} mm less {size.strips} kerfs; windows of"
            f" {fixed(size.window_mm, 2)} mm come out one kerf wider"
        ),
    )
    return FlatCoupon(f"kerf-{name}", name, tuple(pieces), wide, row, notes)


def _plate(wide: float, high: float) -> Outline:
    """The plate with its windows; the words stand under them."""
    low, top = 2 * MARK_H + 3 * 2.0, high - WEB
    pitch = (wide - WEB) / WINDOWS
    middles = [WEB / 2 + pitch / 2 + k * pitch for k in range(WINDOWS)]
    windows = tuple(rectangle(WINDOW, top - low, (x, (low + top) / 2)) for x in middles)
    return Outline(rectangle(wide, high, (wide / 2, high / 2)), windows)


def _number(number: int, at: Point, turn_deg: float) -> Strokes:
    """A strip's number near one end: same end, same face in the stack."""
    height = MARK_H if number < 10 else 2.2
    shift = height / 2 if turn_deg else 0.0
    return strokes(str(number), height, "middle", (at[0] + shift, at[1]), turn_deg)


def _words(name: str, stock: Stock, size: KerfSize, wide: float) -> Strokes:
    """Two lines on the plate: what was cut, and what the numbers are."""
    lines = (
        f"{name}  {fixed(stock.thickness, 2)} mm  kerf coupon",
        (
            f"{size.strips} x {fixed(size.strip_mm, 2)} mm: stack {fixed(size.stack_mm, 2)}"
            f"   windows {fixed(size.window_mm, 2)}"
        ),
    )
    out: list[tuple[Point, ...]] = []
    for k, text in enumerate(lines):
        height = MARK_H * min(1.0, (wide - 4.0) / width_mm(text, MARK_H))
        out += strokes(text, height, "start", (2.0, 2.0 + (1 - k) * (MARK_H + 2.0)))
    return tuple(out)


def _must_fit(name: str, stock: Stock, laser: Laser, wide: float, high: float) -> None:
    for what, key, room in (
        ("the laser's bed", "laser.bed", laser.bed),
        ("the sheet less its margin", f"stock.{name}.width and height", _inside(stock)),
    ):
        if not (wide <= room[0] and high <= room[1]) and not (high <= room[0] and wide <= room[1]):
            raise CheckFailed(
                f"the kerf coupon of {name} is {fixed(wide, 1)} x {fixed(high, 1)} mm; maximum of"
                f" {what}: {fixed(room[0], 1)} x {fixed(room[1], 1)} mm ({key}). Cut it from a"
                " larger sheet of the same stock"
            )


def _inside(stock: Stock) -> Point:
    return (stock.width - 2 * stock.margin, stock.height - 2 * stock.margin)
