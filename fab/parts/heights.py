"""The heights of a panel, from the board up to the rim (z = distance from the wall plane)."""

from __future__ import annotations

import math
from dataclasses import dataclass

from fab.parts import fits
from fab.parts.edge_sizes import EdgeSizes

BESIDE_SOCKET_MM = 0.3  # between a socket and a clip or its pocket
LEDGE_LIP = 0.8  # thickness of the ledge at its inner edge, mm
CAP_COVER = 0.3  # a cap's plate stands higher than the window by this, mm
PORT_COVER = 0.5  # the base wall stands higher than the port by this, mm


@dataclass(frozen=True)
class Heights(EdgeSizes):
    """Heights over the wall plane. All mm."""

    @property
    def board_z(self) -> float:
        """Underside of the board."""
        if self.params.board.height is not None:
            return self.params.board.height
        clear = 0.5
        over_clip = self.clip_top_z + clear
        over_screw = self.floor_z + self.params.hanger.head_h + 1.0 + clear
        over_inlet = self.inlet_z + self.params.inlet.shell_h / 2 + clear + self.params.header.socket_height
        over_parts = self.floor_z + max(self.params.board.controller_height, self.params.header.socket_height) + clear
        over_pocket = 0.0
        if self.clip_offset - self.clip_block_w / 2 < self.socket_half + BESIDE_SOCKET_MM:
            over_pocket = self.clip_catch_z + BESIDE_SOCKET_MM + self.params.header.socket_height
        return round(max(over_clip, over_screw, over_inlet, over_parts, over_pocket) + 0.0499, 1)

    @property
    def board_top_z(self) -> float:
        return self.board_z + self.params.board.thickness

    @property
    def led_z(self) -> float:
        """Where the light leaves."""
        return self.board_top_z + self.params.led.height

    @property
    def axis_z(self) -> float:
        """The header's axis."""
        return self.board_z - self.params.header.socket_height / 2

    @property
    def window_top_z(self) -> float:
        """Top of the window with its cut corners."""
        slope = self.window_chamfer / math.tan(math.radians(self.printer.overhang_deg))
        return self.axis_z + self.window_h / 2 + slope

    @property
    def port_top_z(self) -> float:
        """Higher than the window by the cap's clearance and a bit: what an LED sees through the window is the cap's
        plate, not the gap over it. The shell may sink as far without touching cap or header."""
        return self.window_top_z + CAP_COVER + self.fit("cap-port") + self.press_room

    @property
    def wall_top_z(self) -> float:
        """Top of the base wall: it holds the board's edge and covers the port behind it, so that no LED looks out."""
        return max(self.board_top_z + 0.6, self.port_top_z + max(PORT_COVER, 3 * self.printer.layer))

    @property
    def window_closed(self) -> bool:
        """Whether the base wall closes the window above, so that no LED looks through it."""
        return self.wall_top_z - self.window_top_z >= 3 * self.printer.layer

    @property
    def rim_z(self) -> float:
        return self.params.depth

    @property
    def thickness_tolerance(self) -> float:
        return fits.thickness_tolerance(self.stock)

    @property
    def ledge_z(self) -> float:
        """Face that the diffuser lies on: the thickest sheet stands `diffuser.proud` over the rim at most."""
        return self.rim_z - (self.stock.thickness + self.thickness_tolerance - self.params.diffuser.proud)

    @property
    def throw(self) -> float:
        """From the LEDs to the diffuser's back."""
        return self.ledge_z - self.led_z

    @property
    def corner_top_z(self) -> float:
        """Top of the shell's solid corners."""
        return self.wall_top_z + 1.5 + self.press_room

    @property
    def ledge_lip(self) -> float:
        """Thickness of the ledge at its inner edge."""
        return LEDGE_LIP

    @property
    def ledge_foot_z(self) -> float:
        """Where the slope under the ledge starts: no steeper than the printer's overhang."""
        slope = self.params.shell.ledge / math.tan(math.radians(self.printer.overhang_deg))
        return self.ledge_z - self.ledge_lip - slope
