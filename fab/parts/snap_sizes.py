"""The shell's snap tongues, at its corners. All mm."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from fab.outlines.contour import Contour, polygon
from fab.parts.basis import Basis
from fab.parts.fits import NOSE_FLAT
from fab.parts.heights import Heights
from fab.parts.rings import Rings


@dataclass(frozen=True)
class SnapSizes:
    """The shell's snap tongues, at its corners. All mm."""

    basis: Basis
    rings: Rings
    heights: Heights

    @cached_property
    def slit(self) -> float:
        """Slit beside a tongue: two printed lines may not close it."""
        return max(2 * self.basis.printer.extrusion_width, 0.8)

    @cached_property
    def width(self) -> float:
        """Width of a tongue."""
        return min(2 * self.rings.base_inner.half_facet - 2 * self.slit - 1.0, 8.0)

    @cached_property
    def reach(self) -> float:
        """Overhang of a tongue's nose over the base wall's face."""
        return self.basis.fit("lap") + self.basis.params.shell.snap_engage

    @cached_property
    def catch_z(self) -> float:
        """Foot of the nose's sloped holding face."""
        return self.heights.wall_top_z - 2 * self.reach - NOSE_FLAT

    @cached_property
    def profile(self) -> Contour:
        """Nose of a tongue in (distance from the centre, z): 45 degrees below and above."""
        face, reach, low = self.rings.base_outer.facet, self.reach, self.catch_z
        inner = face - self.basis.params.shell.snap_tongue / 2
        return polygon(
            [
                (inner, low),
                (face, low),
                (face + reach, low + reach),
                (face + reach, low + reach + NOSE_FLAT),
                (face, self.heights.wall_top_z),
                (inner, self.heights.wall_top_z),
            ]
        )
