"""Every derived dimension of one panel design, worked out once and free of the CAD kernel.

Section through an edge (u = distance inwards from the lattice edge, z = distance from the wall
plane):

       z = depth   |rim|=== diffuser ===            u = 0      lattice edge, middle of the joint
                   |   |__ledge                     body       u = gap / 2
                   |   |                            shell wall u = gap/2 .. + shell.wall
                   |   | |      board top           lap gap    + clearance.sliding
       board_z     |   | |======== board            base wall  + base.wall
       axis_z   --port--=====[socket]               board      + board.fit
                   |   | |
       shell_z     |___| |                          floor: z = 0 .. floor_z
       0           |_floor____________

The rings, the edge and the heights stand in `rings`, `edge_sizes` and `heights`; here are what
holds the board and the shell.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

from fab.layout.model import Cell
from fab.params.panel import PanelParams
from fab.parts.basis import Basis
from fab.parts.clip_sizes import ClipSizes
from fab.parts.edge_sizes import Edge
from fab.parts.fixing_sizes import Fixings
from fab.parts.floor_sizes import Floor
from fab.parts.heights import Heights
from fab.parts.inlet_sizes import InletSizes
from fab.parts.press_sizes import PressSizes
from fab.parts.rings import Rings
from fab.parts.snap_sizes import SnapSizes


@dataclass(frozen=True)
class Plan(Basis):
    """Derived dimensions of a design in a shop. All mm, panel frame, edge 0 towards +X."""

    def mounted(self, edges: int) -> Plan:
        """Return the plan in the frame of a base that is mounted `edges` edges round."""
        return self if edges == self.turned else replace(self, turned=edges)

    @cached_property
    def rings(self) -> Rings:
        """Polygons of the panel in plan view, from body to window."""
        return Rings(self)

    @cached_property
    def floor(self) -> Floor:
        """Thickness of the base's floor and the room under the shell."""
        return Floor(self)

    @cached_property
    def edge(self) -> Edge:
        """Sizes of the edge interface: header window, port, switch; the same for every polygon."""
        return Edge(self, self.rings)

    @cached_property
    def clip(self) -> ClipSizes:
        """Sizes of a clip and its pockets."""
        return ClipSizes(self, self.floor, self.edge)

    @cached_property
    def inlet(self) -> InletSizes:
        """Place and opening of the inlet."""
        return InletSizes(self, self.rings, self.floor, self.edge, self.clip)

    @cached_property
    def heights(self) -> Heights:
        """Heights over the wall plane, from floor to rim."""
        return Heights(self, self.floor, self.edge, self.clip, self.inlet)

    @cached_property
    def fixings(self) -> Fixings:
        """Screws, standoffs and the index mark."""
        return Fixings(self, self.rings, self.heights)

    @cached_property
    def press(self) -> PressSizes:
        """Sizes of the press edges; they hold whether or not `switches` asks for them."""
        return PressSizes(self, self.rings, self.floor, self.heights)

    @cached_property
    def snap(self) -> SnapSizes:
        """Sizes of the snaps that may hold the shell."""
        return SnapSizes(self, self.rings, self.heights)


def cell_of(params: PanelParams) -> Cell:
    """The lattice cell of a design."""
    half = math.pi / params.sides
    apothem = (
        params.across_flats / 2
        if params.across_flats is not None
        else (params.edge or 0.0) / 2 / math.tan(half)
    )
    return Cell(params.sides, apothem)
