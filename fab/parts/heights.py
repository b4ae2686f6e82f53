"""Heights over the wall plane. All mm."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

from fab.parts import fits
from fab.parts.basis import Basis
from fab.parts.clip_sizes import ClipSizes
from fab.parts.edge_sizes import Edge
from fab.parts.floor_sizes import Floor
from fab.parts.inlet_sizes import InletSizes

BESIDE_SOCKET_MM = 0.3  # between a socket and a clip or its pocket
LEDGE_LIP = 0.8  # thickness of the ledge at its inner edge, mm
CAP_COVER = 0.3  # a cap's plate stands higher than the window by this, mm
PORT_COVER = 0.5  # the base wall stands higher than the port by this, mm


@dataclass(frozen=True)
class Heights:
    """Heights over the wall plane. All mm."""

    basis: Basis
    floor: Floor
    edge: Edge
    clip: ClipSizes
    inlet: InletSizes

    @cached_property
    def board_z(self) -> float:
        """Underside of the board."""
        if self.basis.params.board.height is not None:
            return self.basis.params.board.height
        clear = 0.5
        over_clip = self.clip.top_z + clear
        over_screw = self.floor.top_z + self.basis.params.hanger.head_h + 1.0 + clear
        over_inlet = (
            self.inlet.z
            + self.basis.params.inlet.shell_h / 2
            + clear
            + self.basis.params.header.socket_height
        )
        over_parts = (
            self.floor.top_z
            + max(self.basis.params.board.controller_height, self.basis.params.header.socket_height)
            + clear
        )
        over_pocket = 0.0
        if self.clip.offset - self.clip.block_w / 2 < self.edge.socket_half + BESIDE_SOCKET_MM:
            over_pocket = (
                self.clip.catch_z + BESIDE_SOCKET_MM + self.basis.params.header.socket_height
            )
        return round(max(over_clip, over_screw, over_inlet, over_parts, over_pocket) + 0.0499, 1)

    @cached_property
    def board_top_z(self) -> float:
        """Upper side of the board, which carries the LEDs."""
        return self.board_z + self.basis.params.board.thickness

    @cached_property
    def led_z(self) -> float:
        """Height at which the light leaves the LEDs."""
        return self.board_top_z + self.basis.params.led.height

    @cached_property
    def axis_z(self) -> float:
        """The header's axis."""
        return self.board_z - self.basis.params.header.socket_height / 2

    @cached_property
    def window_top_z(self) -> float:
        """Top of the window with its cut corners."""
        slope = self.edge.window_chamfer / math.tan(math.radians(self.basis.printer.overhang_deg))
        return self.axis_z + self.edge.window_h / 2 + slope

    @cached_property
    def port_top_z(self) -> float:
        """Higher than the window by the cap's clearance and a bit: what an LED sees through the
        window is the cap's plate, not the gap over it. The shell may sink as far without touching
        cap or header.
        """
        return self.window_top_z + CAP_COVER + self.basis.fit("cap-port") + self.floor.press_room

    @cached_property
    def wall_top_z(self) -> float:
        """Top of the base wall: it holds the board's edge and covers the port behind it, so that no
        LED looks out.
        """
        return max(
            self.board_top_z + 0.6, self.port_top_z + max(PORT_COVER, 3 * self.basis.printer.layer)
        )

    @cached_property
    def window_closed(self) -> bool:
        """True when the base wall closes the window above, so that no LED looks through it."""
        return self.wall_top_z - self.window_top_z >= 3 * self.basis.printer.layer

    @cached_property
    def rim_z(self) -> float:
        """The shell's rim: the depth of the panel."""
        return self.basis.params.depth

    @cached_property
    def thickness_tolerance(self) -> float:
        """Spread of the sheet's thickness, per side, by its stock."""
        return fits.thickness_tolerance(self.basis.stock)

    @cached_property
    def ledge_z(self) -> float:
        """Face that the diffuser lies on: the thickest sheet stands `diffuser.proud` over the rim
        at most.
        """
        return self.rim_z - (
            self.basis.stock.thickness + self.thickness_tolerance - self.basis.params.diffuser.proud
        )

    @cached_property
    def throw(self) -> float:
        """From the LEDs to the diffuser's back."""
        return self.ledge_z - self.led_z

    @cached_property
    def corner_top_z(self) -> float:
        """Top of the shell's solid corners."""
        return self.wall_top_z + 1.5 + self.floor.press_room

    @cached_property
    def ledge_lip(self) -> float:
        """Thickness of the ledge at its inner edge."""
        return LEDGE_LIP

    @cached_property
    def ledge_foot_z(self) -> float:
        """Foot of the slope under the ledge, which is no steeper than the printer's overhang."""
        slope = self.basis.params.shell.ledge / math.tan(
            math.radians(self.basis.printer.overhang_deg)
        )
        return self.ledge_z - self.ledge_lip - slope
