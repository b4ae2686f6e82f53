"""The values from which every dimension of a panel is derived: the design, printer, sheet and cell
that were given.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from fab.layout.model import Cell
from fab.outlines.contour import Point, turn
from fab.params.panel import PanelParams
from fab.params.shop import Filament, Printer, Stock
from fab.parts import fits


@dataclass(frozen=True)
class Basis:
    """The values that were given."""

    params: PanelParams
    printer: Printer
    stock: Stock
    cell: Cell
    strain_limit: float  # of the filament when bent again and again, 1
    # before values were derived
    asked: PanelParams | None = field(default=None, compare=False, repr=False)
    filament: Filament = field(default=Filament(), compare=False, repr=False)
    # edges by which a base is mounted round: its posts stand turned back, the board keeps its place
    turned: int = 0

    def fit(self, name: str) -> float:
        """Clearance per side of a named fit, mm."""
        return fits.FITS[name].clearance(self.printer.clearance)

    def corner(self, index: int, radius_mm: float) -> Point:
        """A point on the bisector between edge `index` and the next. mm, panel frame."""
        return turn((radius_mm, 0.0), (2 * index + 1) * math.pi / self.cell.sides)
