"""A clip and its pocket. All mm."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

from fab.parts import fits
from fab.parts.basis import Basis
from fab.parts.edge_sizes import Edge
from fab.parts.fits import NOSE_FLAT
from fab.parts.floor_sizes import Floor


@dataclass(frozen=True)
class ClipSizes:
    """A clip and its pocket. All mm."""

    basis: Basis
    floor: Floor
    edge: Edge

    @cached_property
    def offset(self) -> float:
        """Middle of the inner clip from the middle of the edge; the same for every polygon with
        this edge interface.
        """
        return self.basis.params.clip.offset

    @cached_property
    def pockets(self) -> tuple[float, ...]:
        """Middles of the clip pockets from the middle of the edge, the inner two first,
        mirror-symmetric; two pockets beside each other share a wall.
        """
        step = self.slot_w + self.basis.params.base.wall
        rows = (self.basis.params.clips_per_edge + 1) // 2
        return tuple(side * (self.offset + k * step) for k in range(rows) for side in (-1.0, 1.0))

    @cached_property
    def places(self) -> tuple[float, ...]:
        """Middles of the clips that a joint gets, seen from its first panel: an odd one stands on
        one side.
        """
        return self.pockets[: self.basis.params.clips_per_edge]

    @cached_property
    def slot_w(self) -> float:
        """Width of a pocket along the edge: clip and its clearance on both sides."""
        return self.basis.params.clip.width + 2 * self.basis.fit("clip")

    @cached_property
    def block_w(self) -> float:
        """Width of a pocket with a wall on either side."""
        return self.slot_w + 2 * self.basis.params.base.wall

    @cached_property
    def foot_u(self) -> float:
        """Joint side of the clip's foot; it bears on the base wall when the joint is pulled."""
        return self.edge.wall_u + self.basis.fit("clip")

    @cached_property
    def leg_in_u(self) -> float:
        """Joint side of the leg above the foot: the hook has room to bend this way."""
        return self.edge.wall_u + max(self.basis.params.clip.hook, self.basis.fit("clip")) + 0.1

    @cached_property
    def leg_out_u(self) -> float:
        """Inner side of the leg, from the edge line inwards."""
        return self.leg_in_u + self.basis.params.clip.leg

    @cached_property
    def cavity_u(self) -> float:
        """Inner end of the pocket; the hook reaches over the wall behind it."""
        return self.leg_out_u + self.basis.fit("clip-hook")

    @cached_property
    def block_depth(self) -> float:
        """Distance by which a clip pocket with its wall stands out from the base wall, inwards."""
        return self.cavity_u - self.edge.wall_u + self.basis.params.base.wall

    @cached_property
    def bar_top_z(self) -> float:
        """Upper side of the bar that crosses the joint, over the wall plane."""
        return self.basis.params.clip.sunk + self.basis.params.clip.bar

    @cached_property
    def root_z(self) -> float:
        """Height at which the legs begin to bend: the foot fills the floor below."""
        return self.floor.top_z + 0.2

    @cached_property
    def leg_length(self) -> float:
        """Length of a leg: the maker's, or the shortest that keeps the filament's permissible
        strain.
        """
        if self.basis.params.clip.leg_length is not None:
            return self.basis.params.clip.leg_length
        return fits.shortest_leg(self.basis.params.clip, self.basis.strain_limit)

    @cached_property
    def catch_z(self) -> float:
        """The face of the hook that holds."""
        return self.root_z + self.leg_length

    @cached_property
    def pocket_z(self) -> float:
        """Top of a clip's pocket: so far under the hook that the clearance is kept square to its
        sloping face.
        """
        slope = math.radians(self.basis.params.clip.return_deg)
        rest = self.basis.fit("clip-hook")
        return self.catch_z - rest * (1 - math.cos(slope)) / math.sin(slope)

    @cached_property
    def nose_z(self) -> float:
        """Height at which the holding face ends and the nose of the hook begins."""
        return self.catch_z + self.basis.params.clip.hook / math.tan(
            math.radians(self.basis.params.clip.return_deg)
        )

    @cached_property
    def top_z(self) -> float:
        """Highest point of a clip at rest: nose and lead-in."""
        lead_in = self.basis.params.clip.hook / math.tan(
            math.radians(self.basis.params.clip.lead_in_deg)
        )
        return self.nose_z + NOSE_FLAT + lead_in
