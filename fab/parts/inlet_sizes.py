"""An inlet and its cradle. All mm."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

from fab.outlines.contour import Box, Point
from fab.parts.basis import Basis
from fab.parts.clip_sizes import ClipSizes
from fab.parts.edge_sizes import Edge
from fab.parts.floor_sizes import Floor
from fab.parts.rings import Rings

OVER_BOARD = 1.0  # how far a washer reaches over the receptacle's board and its play, mm
# beside plug or cable in the opening of the floor, mm: fingers turn it in from behind
BAY_SIDE = 1.0
BAY_LIP = 0.2  # that opening starts this far before the plug's body
STOP_SIDE = 0.4  # beside a receptacle's body between its stops
WASHER_SIDE = 0.2  # between a receptacle's body and the washer beside it, mm
PINCH = 0.3  # what lies under the washer stands this much lower than the board's top, mm
# With feet: two lips of the base wall over the board's outer end, their undersides sloped, mm
LIP = 1.0
LIP_TOP = 1.0
LIP_W = 2.5
LIP_OVER = 0.1  # over the board
CABLE_SIDE, CABLE_UP = 1.5, 1.0  # beside and under a cable between its ribs, mm
TIE_MOST = (3.6, 1.3)  # width and thickness of a cable tie that goes through the windows, mm
TIE_W, TIE_H = TIE_MOST[0] + 0.9, TIE_MOST[1] + 0.3  # those windows, mm
TIE_SPARE = 40.0  # head of a tie and an end to pull it by, mm; common practice, no source


@dataclass(frozen=True)
class InletSizes:
    """An inlet and its cradle. All mm."""

    basis: Basis
    rings: Rings
    floor: Floor
    edge: Edge
    clip: ClipSizes

    @cached_property
    def z(self) -> float:
        """Axis of the inlet."""
        inlet = self.basis.params.inlet
        if inlet.kind == "round":
            return self.floor.top_z + inlet.cable_d / 2 + CABLE_UP
        on_pad = self.floor.top_z + 0.4 + inlet.board_t + inlet.shell_h / 2
        return max(on_pad, self.floor.shell_z + 0.3 + inlet.plug_h / 2)

    @cached_property
    def board_z(self) -> float:
        """Underside of the receptacle's board."""
        return self.z - self.basis.params.inlet.shell_h / 2 - self.basis.params.inlet.board_t

    @cached_property
    def behind(self) -> bool:
        """True when plug and cable come in through the floor: bases on feet leave room for the
        cable behind them.
        """
        return self.basis.params.base.feet > 0

    @cached_property
    def stop_u(self) -> float:
        """Inner end of the receptacle's board with its play, or of the ribs beside a cable: the
        thicker the cable, the higher it pulls on them and the longer they are.
        """
        inlet, wall = self.basis.params.inlet, self.basis.params.base.wall
        if inlet.kind == "round":
            return self.edge.wall_u + max(8.0 + 2 * wall, 2.2 * inlet.cable_d)
        return self.edge.wall_u + inlet.board_l + self.basis.fit("inlet")

    @cached_property
    def rib_wall(self) -> float:
        """Thickness of the ribs, and with feet of the stops, that a cable pulls on: three printed
        lines at least.
        """
        return max(self.basis.params.base.wall, 3 * self.basis.printer.extrusion_width)

    @cached_property
    def mouth_u(self) -> float:
        """With feet: where the plug's body begins.

        A receptacle stands over its board by the thickness of the stops.
        """
        return self.stop_u + self.rib_wall

    @cached_property
    def bay_half(self) -> float:
        """With feet: half the width of the opening in the floor that plug and cable come in by."""
        inlet = self.basis.params.inlet
        return (inlet.cable_d if inlet.kind == "round" else inlet.plug_w) / 2 + BAY_SIDE

    @cached_property
    def half(self) -> float:
        """Half the width of what the inlet takes of the floor: cradle, or ribs with the cable,
        and the opening.
        """
        inlet, wall = self.basis.params.inlet, self.basis.params.base.wall
        half = (
            inlet.cable_d / 2 + CABLE_SIDE + self.rib_wall
            if inlet.kind == "round"
            else inlet.board_w / 2 + self.basis.fit("inlet") + wall
        )
        return max(half, self.bay_half if self.behind else 0.0)

    @cached_property
    def bay_limit_u(self) -> float:
        """With feet: how far the opening may reach before it meets the clip pockets of another
        edge.
        """
        inner, turn = self.rings.base_inner.apothem, 2 * math.pi / self.basis.cell.sides
        angles = [turn * k for k in range(1, self.basis.cell.sides) if math.cos(turn * k) < -1e-9]
        keep = self.clip.block_depth + self.basis.printer.nozzle + 1e-6
        ends = [(keep + self.half * abs(math.sin(a)) - inner) / -math.cos(a) for a in angles]
        return self.basis.cell.apothem - max(ends)

    @cached_property
    def end_u(self) -> float:
        """Inner end of what the inlet takes of the floor: stop or ribs, and with feet the
        opening before them.
        """
        if self.behind:
            return min(self.mouth_u + self.basis.params.inlet.room, self.bay_limit_u)
        if self.basis.params.inlet.kind == "round":
            return self.stop_u
        return self.screw_at[0] + self.boss_d / 2

    @cached_property
    def screw_at(self) -> Point:
        """Middle of the screw whose washer holds the receptacle's board down, as (u, t): behind
        its rear; with feet, where the plug comes in there, beside its rear.
        """
        if self.behind:
            beside = self.basis.params.inlet.board_w / 2 + self.washer_d / 2 - self.washer_over
            return (self.stop_u - self.washer_d / 2, beside)
        return (self.stop_u + self.washer_d / 2 - self.washer_over, 0.0)

    @cached_property
    def washer_over(self) -> float:
        """Reach of that washer over the board; with feet it stays beside the receptacle."""
        inlet = self.basis.params.inlet
        beside = (inlet.board_w - inlet.shell_w) / 2 - WASHER_SIDE
        return min(OVER_BOARD, beside) if self.behind else OVER_BOARD

    @cached_property
    def screw_box(self) -> Box:
        """The floor that boss and washer take, as (u0, t0, u1, t1)."""
        (u, t), reach = self.screw_at, max(self.boss_d, self.washer_d) / 2
        return (u - reach, t - reach, u + reach, t + reach)

    @cached_property
    def tie_u(self) -> float:
        """Middle of the windows that a cable's tie goes through, half-way along its ribs."""
        return (self.edge.wall_u + self.stop_u) / 2

    @cached_property
    def tie_long(self) -> float:
        """The shortest tie that goes around cable and ribs, in whole 10 mm."""
        cable = self.basis.params.inlet.cable_d
        wide, high = cable + 2 * (CABLE_SIDE + self.rib_wall), cable + CABLE_UP
        return 10.0 * math.ceil((2 * (wide + high) + TIE_SPARE) / 10)

    @cached_property
    def washer_d(self) -> float:
        """ISO 7089: M2 5, M2.5 6, M3 7; from memory."""
        return 2 * self.basis.params.screw_d + 1.0

    @cached_property
    def boss_d(self) -> float:
        """The boss that this screw bites in."""
        return self.rings.fix_hole_d + 2 * self.rings.boss_wall
