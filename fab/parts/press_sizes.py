"""A switch and the rib that presses it. All mm."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

from fab.outlines.contour import turn
from fab.parts.basis import Basis
from fab.parts.floor_sizes import Floor
from fab.parts.given import given
from fab.parts.heights import Heights
from fab.parts.rings import Rings

PLUNGER_R = 1.5  # half the plunger of an edge switch, mm
RIB_T = 4.0  # thickness of a press rib over its flat, mm


@dataclass(frozen=True)
class PressSizes:
    """A switch and the rib that presses it. All mm."""

    basis: Basis
    rings: Rings
    floor: Floor
    heights: Heights

    @cached_property
    def switch_u(self) -> float:
        """Centre of a plunger, inwards from the lattice edge; the innermost one of a board that was
        given.
        """
        rows = given(self.basis.params, "switch")
        if not rows:
            return round(
                self.basis.cell.apothem - self.rings.board.apothem + self.basis.params.switch.inset,
                4,
            )
        pitch = 2 * math.pi / self.basis.cell.sides
        edges = [round(math.atan2(row.y, row.x) / pitch + 1e-9) for row in rows]
        reach = min(
            turn((row.x, row.y), -edge * pitch)[0] for row, edge in zip(rows, edges, strict=True)
        )
        return round(self.basis.cell.apothem - reach, 4)

    @cached_property
    def rib_z(self) -> float:
        """Flat of a press rib at rest: free play over the plunger."""
        return (
            self.heights.board_top_z
            + self.basis.params.switch.height
            + self.basis.params.switch.free
        )

    @cached_property
    def rib_tip_u(self) -> float:
        """Inner end of a press rib: past the plunger's centre."""
        return self.switch_u + PLUNGER_R

    @cached_property
    def rib_foot_z(self) -> float:
        """Height at which the cheeks of a press rib leave the wall: the slope ends at the flat,
        clear of the pressed-down base wall.
        """
        reach = self.rib_tip_u - self.basis.params.gap / 2 - self.basis.params.shell.wall
        slope = reach / math.tan(math.radians(self.basis.printer.overhang_deg))
        return max(self.rib_z - slope, self.heights.wall_top_z + self.floor.press_room + 0.3)

    @cached_property
    def rib_top_z(self) -> float:
        """Top of a press rib: under it the diffuser stays free."""
        return min(self.rib_z + RIB_T, self.heights.ledge_z - self.heights.ledge_lip)
