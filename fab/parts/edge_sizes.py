"""Widths at an edge: the shell's port, the header's window, the base wall. All mm."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

from fab.parts.basis import Basis
from fab.parts.rings import Rings


@dataclass(frozen=True)
class Edge:
    """Widths at an edge: the shell's port, the header's window, the base wall. All mm."""

    basis: Basis
    rings: Rings

    @cached_property
    def port_w(self) -> float:
        """Width of the shell's port: plug and cap pass here."""
        plug = (
            self.basis.params.inlet.plug_w
            if self.basis.params.inlet.kind == "usb-c"
            else self.basis.params.inlet.cable_d
        )
        return max(plug + 1.0, self.window_w + 2.0)

    @cached_property
    def port_chamfer(self) -> float:
        """Cut of the port's upper corners: what is left between them must bridge."""
        return max((self.port_w - self.basis.printer.bridge + 0.5) / 2, 0.0)

    @cached_property
    def port_chamfer_h(self) -> float:
        """Height of that cut: no steeper than the printer's overhang."""
        return self.port_chamfer / math.tan(math.radians(self.basis.printer.overhang_deg))

    @cached_property
    def window_w(self) -> float:
        """Width of the header's window in the base wall."""
        return (
            self.basis.params.header.pins * self.basis.params.header.pitch
            + 2 * self.basis.params.header.play
        )

    @cached_property
    def window_h(self) -> float:
        """Height of the header's window in the base wall."""
        return self.basis.params.header.body + 2 * self.basis.params.header.play

    @cached_property
    def window_chamfer(self) -> float:
        """Cut of the window's upper corners, over the room of the header: what is left between them
        must bridge.
        """
        return max((self.window_w - self.basis.printer.bridge + 0.5) / 2, 0.0)

    @cached_property
    def wall_u(self) -> float:
        """Inner face of the base wall, measured inwards from the lattice edge."""
        return self.basis.cell.apothem - self.rings.base_inner.apothem

    @cached_property
    def socket_half(self) -> float:
        """Half the width of a socket."""
        return self.basis.params.header.pins * self.basis.params.header.pitch / 2 + 0.3
