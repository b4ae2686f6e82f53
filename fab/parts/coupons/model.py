"""Values of coupons: printed pieces, a flat piece, and the steps that their numbers stand for."""

from __future__ import annotations

from dataclasses import dataclass

from fab.outlines.contour import Outline
from fab.outlines.strokes import Strokes
from fab.params.shop import Printer
from fab.solids.kernel import Solid

KINDS = ("kerf", "fit", "seat", "snap", "bed")

# Clearance per side in hundredths of a millimetre: the numbers on the pieces.
FIT_STEPS = tuple(range(5, 55, 5))  # pegs and laps: 0.05 to 0.5 mm
PRESS_STEPS = (
    5,
    0,
    -5,
    -10,
    -15,
)  # caps, the loosest first; below 0 the part is larger than its window
SNAP_STEPS = (5, 10, 15, 20, 25)

RISE_LAYERS = 3  # height of raised numbers
LETTER_H = 5.0  # mm: with lines two extrusions wide a figure this high keeps its inside open


@dataclass(frozen=True)
class PrintedCoupon:
    """One printed piece: in print orientation, lowest face at z = 0, near the origin."""

    name: str
    count: int
    solid: Solid


@dataclass(frozen=True)
class FlatPiece:
    """One piece to cut, where it lies in the coupon."""

    name: str
    outline: Outline
    marks: Strokes


@dataclass(frozen=True)
class FlatCoupon:
    """Pieces to cut side by side from one stock.

    Not `compensated`: drawn as the beam's middle runs.
    """

    name: str
    stock: str
    pieces: tuple[FlatPiece, ...]
    width: float  # of the whole, its lower left corner at (0, 0)
    height: float
    notes: tuple[str, ...]
    compensated: bool = False


def written(step: int) -> str:
    """The number as it stands on a piece.

    The round letter for the figure 0: a slash in it would fill with plastic.
    """
    return f"{'-' if step < 0 else ''}{abs(step):02d}".replace("0", "O") if step else "O"


def line_mm(printer: Printer) -> float:
    """Width of the lines of raised letters: two extrusions."""
    return 2 * printer.extrusion_width


def rise_mm(printer: Printer) -> float:
    """Height of raised letters."""
    return RISE_LAYERS * printer.layer
