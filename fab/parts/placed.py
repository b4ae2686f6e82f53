"""Parts as named solids in their places, each meshed once, and how a printed part gets there."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from fab.solids import kernel
from fab.solids.kernel import Solid
from fab.solids.mesh import Mesh
from fab.solids.meshing import mesh as mesh_of


@dataclass(frozen=True)
class Pose:
    """The way of a part from its print orientation to its place: the axes it is turned to, moved,
    then turned about z.
    """

    # the old axis (1 x, 2 y, 3 z) that each new one takes, negative: backwards
    axes: tuple[int, int, int] = (1, 2, 3)
    shift: tuple[float, float, float] = (0.0, 0.0, 0.0)
    turn_deg: float = 0.0

    def mesh(self, flat: Mesh) -> Mesh:
        """The posed mesh."""
        import numpy as np

        placed = np.stack(
            [math.copysign(1, axis) * flat.vertices[:, abs(axis) - 1] for axis in self.axes], axis=1
        )
        placed = placed + np.array(self.shift)
        cos, sin = math.cos(math.radians(self.turn_deg)), math.sin(math.radians(self.turn_deg))
        return Mesh(
            placed @ np.array([[cos, sin, 0.0], [-sin, cos, 0.0], [0.0, 0.0, 1.0]]), flat.triangles
        )


@dataclass(frozen=True, eq=False)
class Named:
    """A solid in place.

    `part` says what it is; `group` joins what comes as one thing (a board with its sockets).
    """

    name: str
    part: str
    solid: Solid
    group: str = ""
    # a mesh, or what has one, and how it comes into place
    net: tuple[Mesh | Named, Pose] | None = None

    @cached_property
    def mesh(self) -> Mesh:
        """Its mesh in place. The same part elsewhere is not meshed anew."""
        if self.net is None:
            return mesh_of(self.solid, self.name)
        flat, pose = self.net
        return pose.mesh(flat if isinstance(flat, Mesh) else flat.mesh)

    @cached_property
    def box(self) -> tuple[float, float, float, float, float, float]:
        """Box of the solid in its frame: (x0, y0, z0, x1, y1, z1), mm."""
        return kernel.box_of(self.solid)

    def moved(self, dx: float = 0.0, dy: float = 0.0, dz: float = 0.0) -> Named:
        """The same solid elsewhere."""
        return self.placed(self.name, 0.0, (dx, dy, dz), self.group)

    def placed(
        self, name: str, turn_deg: float, shift: tuple[float, float, float], group: str
    ) -> Named:
        """The same solid turned about z, then moved, under another name."""
        solid = kernel.moved(kernel.turned(self.solid, turn_deg), *shift)
        turned = (
            self
            if not turn_deg
            else Named(self.name, self.part, solid, "", (self, Pose(turn_deg=turn_deg)))
        )
        return Named(name, self.part, solid, group, (turned, Pose(shift=shift)))


@dataclass(frozen=True, eq=False)
class Printed:
    """The made parts of one panel as they come off the machines: print orientation, the diffuser in
    the panel frame.

    `meshes` by the part's name, where they are known already.
    """

    base: Solid
    shell: Solid
    diffuser: Solid
    clip: Solid
    cap: Solid
    foot: Solid | None = None  # of bases on feet
    meshes: Mapping[str, Mesh] = field(default_factory=dict)
    steps: int = 0  # edges by which the base is mounted round

    @cached_property
    def flat(self) -> dict[str, Named]:
        """Every part as printed, meshed once."""
        solids = {
            "base": self.base,
            "shell": self.shell,
            "diffuser": self.diffuser,
            "clip": self.clip,
            "cap": self.cap,
        }
        if self.foot is not None:
            solids["foot"] = self.foot
        known = {part: (mesh, Pose()) for part, mesh in self.meshes.items()}
        return {
            part: Named(part, part, solid, "", known.get(part)) for part, solid in solids.items()
        }

    def named(self, name: str, part: str, solid: Solid, pose: Pose) -> Named:
        """A part of these in place."""
        return Named(name, part, solid, "", (self.flat[part], pose))
