"""The edge interface of a panel: port, header window, inlet and clip pockets (u = distance inwards from the lattice edge).

It is the same for every polygon of one edge length, and mirror-symmetric about the edge's middle.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from fab.parts import fits
from fab.parts.rings import Rings

NOSE_FLAT = 0.5  # upright face of a hook's nose, mm: two layers and a bit, so that the nose prints whole
OVER_BOARD = 1.0  # how far a washer reaches over the receptacle's board and its play, mm
BAY_SIDE = 1.0  # beside plug or cable in the opening of the floor, mm: fingers turn it in from behind


@dataclass(frozen=True)
class EdgeSizes(Rings):
    """Widths and depths at an edge, and the heights that hang on the floor alone. All mm."""

    @property
    def floor_z(self) -> float:
        return self.params.base.floor

    @property
    def press_room(self) -> float:
        """How far the shell can sink: 0 without press edges."""
        switch = self.params.switch
        return switch.free + switch.travel + switch.extra if switch.on else 0.0

    @property
    def shell_z(self) -> float:
        """Lower rim of the shell at rest."""
        return self.floor_z + self.press_room

    @property
    def port_w(self) -> float:
        """Width of the shell's port: plug and cap pass here."""
        plug = self.params.inlet.plug_w if self.params.inlet.kind == "usb-c" else self.params.inlet.cable_d
        return max(plug + 1.0, self.window_w + 2.0)

    @property
    def port_chamfer(self) -> float:
        """Cut of the port's upper corners: what is left between them must bridge."""
        return max((self.port_w - self.printer.bridge + 0.5) / 2, 0.0)

    @property
    def port_chamfer_h(self) -> float:
        """Height of that cut: no steeper than the printer's overhang."""
        return self.port_chamfer / math.tan(math.radians(self.printer.overhang_deg))

    @property
    def window_w(self) -> float:
        """Width of the header's window in the base wall."""
        return self.params.header.pins * self.params.header.pitch + 2 * self.params.header.play

    @property
    def window_h(self) -> float:
        return self.params.header.body + 2 * self.params.header.play

    @property
    def window_chamfer(self) -> float:
        """Cut of the window's upper corners, over the room of the header: what is left between them must bridge."""
        return max((self.window_w - self.printer.bridge + 0.5) / 2, 0.0)

    @property
    def inlet_z(self) -> float:
        """Axis of the inlet."""
        inlet = self.params.inlet
        if inlet.kind == "round":
            return self.floor_z + inlet.cable_d / 2 + 1.0
        on_pad = self.floor_z + 0.4 + inlet.board_t + inlet.shell_h / 2
        return max(on_pad, self.shell_z + 0.3 + inlet.plug_h / 2)

    @property
    def inlet_board_z(self) -> float:
        """Underside of the receptacle's board."""
        return self.inlet_z - self.params.inlet.shell_h / 2 - self.params.inlet.board_t

    @property
    def inlet_behind(self) -> bool:
        """Whether plug and cable come in through the floor: bases on feet leave room for the cable behind them."""
        return self.params.base.feet > 0

    @property
    def inlet_stop_u(self) -> float:
        """Inner end of the receptacle's board with its play, or of a round inlet's tie bars."""
        inlet, wall = self.params.inlet, self.params.base.wall
        return self.wall_u + (8.0 + 2 * wall if inlet.kind == "round" else inlet.board_l + self.fit("inlet"))

    @property
    def inlet_mouth_u(self) -> float:
        """With feet: where the plug's body begins. A receptacle stands over its board by the base wall's thickness."""
        return self.inlet_stop_u + self.params.base.wall

    @property
    def bay_half(self) -> float:
        """With feet: half the width of the opening in the floor that plug and cable come in by."""
        inlet = self.params.inlet
        return (inlet.cable_d if inlet.kind == "round" else inlet.plug_w) / 2 + BAY_SIDE

    @property
    def inlet_half(self) -> float:
        """Half the width of what the inlet takes of the floor: cradle, or tie bars with the cable, and the opening."""
        inlet, wall = self.params.inlet, self.params.base.wall
        half = inlet.cable_d / 2 + 1.5 if inlet.kind == "round" else inlet.board_w / 2 + self.fit("inlet")
        return max(half + wall, self.bay_half if self.inlet_behind else 0.0)

    @property
    def bay_limit_u(self) -> float:
        """With feet: how far the opening may reach before it meets the clip pockets of another edge."""
        inner, turn = self.base_inner.apothem, 2 * math.pi / self.cell.sides
        angles = [turn * k for k in range(1, self.cell.sides) if math.cos(turn * k) < -1e-9]
        keep = self.clip_block_depth + self.printer.nozzle + 1e-6
        ends = [(keep + self.inlet_half * abs(math.sin(a)) - inner) / -math.cos(a) for a in angles]
        return self.cell.apothem - max(ends)

    @property
    def inlet_end_u(self) -> float:
        """Inner end of what the inlet takes of the floor: stop or tie bars, and with feet the opening before them."""
        if self.inlet_behind:
            return min(self.inlet_mouth_u + self.params.inlet.room, self.bay_limit_u)
        if self.params.inlet.kind == "round":
            return self.inlet_stop_u
        return self.inlet_screw_u + self.inlet_boss_d / 2

    @property
    def inlet_screw_u(self) -> float:
        """Middle of the screw whose washer holds the rear of the receptacle's board down."""
        return self.inlet_stop_u + self.washer_d / 2 - OVER_BOARD

    @property
    def washer_d(self) -> float:
        """ISO 7089: M2 5, M2.5 6, M3 7; from memory."""
        return 2 * self.params.screw_d + 1.0

    @property
    def inlet_boss_d(self) -> float:
        """The boss that this screw bites in."""
        return self.fix_hole_d + 2 * self.boss_wall

    @property
    def wall_u(self) -> float:
        """Inner face of the base wall, measured inwards from the lattice edge."""
        return self.cell.apothem - self.base_inner.apothem

    @property
    def clip_offset(self) -> float:
        """Middle of the inner clip from the middle of the edge; the same for every polygon with this edge interface."""
        return self.params.clip.offset

    @property
    def clip_pockets(self) -> tuple[float, ...]:
        """Middles of the clip pockets from the middle of the edge, the inner two first, mirror-symmetric; two pockets
        beside each other share a wall."""
        step = self.clip_slot_w + self.params.base.wall
        rows = (self.params.clips_per_edge + 1) // 2
        return tuple(side * (self.clip_offset + k * step) for k in range(rows) for side in (-1.0, 1.0))

    @property
    def clip_places(self) -> tuple[float, ...]:
        """Middles of the clips that a joint gets, seen from its first panel: an odd one stands on one side."""
        return self.clip_pockets[: self.params.clips_per_edge]

    @property
    def socket_half(self) -> float:
        """Half the width of a socket."""
        return self.params.header.pins * self.params.header.pitch / 2 + 0.3

    @property
    def clip_slot_w(self) -> float:
        return self.params.clip.width + 2 * self.fit("clip")

    @property
    def clip_block_w(self) -> float:
        return self.clip_slot_w + 2 * self.params.base.wall

    @property
    def clip_foot_u(self) -> float:
        """Joint side of the clip's foot; it bears on the base wall when the joint is pulled."""
        return self.wall_u + self.fit("clip")

    @property
    def clip_leg_in_u(self) -> float:
        """Joint side of the leg above the foot: the hook has room to bend this way."""
        return self.wall_u + max(self.params.clip.hook, self.fit("clip")) + 0.1

    @property
    def clip_leg_out_u(self) -> float:
        return self.clip_leg_in_u + self.params.clip.leg

    @property
    def clip_cavity_u(self) -> float:
        """Inner end of the pocket; the hook reaches over the wall behind it."""
        return self.clip_leg_out_u + self.fit("clip-hook")

    @property
    def clip_block_depth(self) -> float:
        """How far a clip pocket with its wall stands out from the base wall, inwards."""
        return self.clip_cavity_u - self.wall_u + self.params.base.wall

    @property
    def clip_bar_top_z(self) -> float:
        return self.params.clip.sunk + self.params.clip.bar

    @property
    def clip_root_z(self) -> float:
        """Where the legs begin to bend: the foot fills the floor below."""
        return self.floor_z + 0.2

    @property
    def clip_leg_length(self) -> float:
        if self.params.clip.leg_length is not None:
            return self.params.clip.leg_length
        return fits.shortest_leg(self.params.clip, self.strain_limit)

    @property
    def clip_catch_z(self) -> float:
        """The face of the hook that holds."""
        return self.clip_root_z + self.clip_leg_length

    @property
    def clip_pocket_z(self) -> float:
        """Top of a clip's pocket: so far under the hook that the clearance is kept square to its sloping face."""
        slope = math.radians(self.params.clip.return_deg)
        rest = self.fit("clip-hook")
        return self.clip_catch_z - rest * (1 - math.cos(slope)) / math.sin(slope)

    @property
    def clip_nose_z(self) -> float:
        """Where the holding face ends and the nose of the hook begins."""
        return self.clip_catch_z + self.params.clip.hook / math.tan(math.radians(self.params.clip.return_deg))

    @property
    def clip_top_z(self) -> float:
        """Highest point of a clip at rest: nose and lead-in."""
        lead_in = self.params.clip.hook / math.tan(math.radians(self.params.clip.lead_in_deg))
        return self.clip_nose_z + NOSE_FLAT + lead_in
