"""The polygons of a panel from outside in: one shape at several insets.

Each is a regular polygon of a given apothem whose corners are cut off square at a given facet
distance (`Ring`). The shell's corners are solid below the board (they take the screws or hold the
snaps); base wall and board go round them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

from fab.outlines.contour import Contour
from fab.outlines.shapes import cut_corner, regular
from fab.parts.basis import Basis

BOSS_WALL = 2 / 3


@dataclass(frozen=True)
class Ring:
    """A regular polygon with its corners cut off square."""

    sides: int
    apothem: float
    facet: float  # distance from the centre to the cut

    def inset(self, by_mm: float) -> Ring:
        """The same polygon with every side and cut `by_mm` nearer to the centre."""
        return Ring(self.sides, self.apothem - by_mm, self.facet - by_mm)

    def contour(self, radius_mm: float = 0.0) -> Contour:
        """The polygon as a contour, counter-clockwise, corners rounded with `radius_mm`."""
        return cut_corner(self.sides, self.apothem, self.facet, radius_mm)

    @property
    def half_edge(self) -> float:
        """Half the straight length left of an edge."""
        half = math.pi / self.sides
        whole = self.apothem * math.tan(half)
        cut = (self.facet - self.apothem * math.cos(half)) / math.sin(half)
        return min(whole, cut)

    @property
    def half_facet(self) -> float:
        """Half the length of a cut corner."""
        half = math.pi / self.sides
        return max((self.apothem / math.cos(half) - self.facet) / math.tan(half), 0.0)


@dataclass(frozen=True)
class Rings:
    """The polygons of a panel. All mm, panel frame."""

    basis: Basis

    @cached_property
    def body_apothem(self) -> float:
        """Centre to the outer face of base floor and shell: half the gap between panels is taken
        off the cell.
        """
        return self.basis.cell.apothem - self.basis.params.gap / 2

    @cached_property
    def body(self) -> Contour:
        """Outline of base floor and shell."""
        return regular(self.basis.cell.sides, self.body_apothem, self.basis.params.corner_radius)

    @cached_property
    def screw_edge(self) -> float:
        """Distance of a corner screw from the two outer faces: room for its head in the floor, and
        two lines beside.
        """
        beside = max(
            self.basis.params.screw_d / 2,
            self.basis.fit("lap") + 2 * self.basis.printer.extrusion_width,
        )
        return max(
            self.fix_hole_d / 2 + self.boss_wall, self.basis.params.screw_head_d / 2 + beside
        )

    @cached_property
    def boss_wall(self) -> float:
        """Least wall round the hole that a shell screw bites in: 2/3 of the screw; common practice,
        no source.
        """
        return self.basis.params.screw_d * BOSS_WALL

    @cached_property
    def fix_hole_d(self) -> float:
        """Hole that a shell screw bites in."""
        return self.basis.params.pilot_d

    @cached_property
    def screw_radius(self) -> float:
        """Centre to corner screw."""
        return (self.body_apothem - self.screw_edge) / math.cos(math.pi / self.basis.cell.sides)

    @cached_property
    def shell_inner(self) -> Ring:
        """Inside of the shell below the board: corners are solid for the screws."""
        facet = self.screw_radius - self.fix_hole_d / 2 - self.boss_wall
        return Ring(self.basis.cell.sides, self.body_apothem - self.basis.params.shell.wall, facet)

    @cached_property
    def base_outer(self) -> Ring:
        """Outer face of the base wall: the shell's inside less the clearance of the lap."""
        return self.shell_inner.inset(self.basis.fit("lap"))

    @cached_property
    def base_inner(self) -> Ring:
        """Inner face of the base wall."""
        return self.base_outer.inset(self.basis.params.base.wall)

    @cached_property
    def board(self) -> Ring:
        """Edge of the board: the base's inside less the board's clearance."""
        return self.base_inner.inset(self.basis.params.board.fit)

    @cached_property
    def rebate_apothem(self) -> float:
        """The diffuser's rebate is the shell's inside, straight up to the rim."""
        return self.body_apothem - self.basis.params.shell.wall

    @cached_property
    def rebate(self) -> Contour:
        """Opening in the shell that the diffuser is laid into."""
        return regular(self.basis.cell.sides, self.rebate_apothem, self.rebate_radius)

    @cached_property
    def rebate_radius(self) -> float:
        """Corner radius of the rebate; no smaller than the nozzle, which prints no sharper inner
        corner.
        """
        return max(
            self.basis.params.corner_radius - self.basis.params.shell.wall,
            self.basis.printer.nozzle,
        )

    @cached_property
    def seat_gap(self) -> float:
        """Gap per side between diffuser and rebate as cut: the class plus growth of the warmest
        sheet.
        """
        growth = self.basis.stock.expansion_per_k * max(
            self.basis.params.diffuser.warm_c - self.basis.params.diffuser.cut_c, 0.0
        )
        reach = (self.rebate_apothem) / math.cos(math.pi / self.basis.cell.sides)
        return self.basis.fit("seat") + growth * reach

    @cached_property
    def diffuser(self) -> Contour:
        """The sheet part as it should measure."""
        radius = max(self.rebate_radius - self.seat_gap, 0.0)
        return regular(self.basis.cell.sides, self.rebate_apothem - self.seat_gap, radius)

    @cached_property
    def ledge_apothem(self) -> float:
        """Centre to the inner edge of the ledge that carries the diffuser."""
        return self.rebate_apothem - self.basis.params.shell.ledge

    @cached_property
    def window(self) -> Contour:
        """The lit opening inside the ledge."""
        radius = max(self.rebate_radius - self.basis.params.shell.ledge, self.basis.printer.nozzle)
        return regular(self.basis.cell.sides, self.ledge_apothem, radius)
