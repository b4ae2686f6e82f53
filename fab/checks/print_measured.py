"""Measures of a printed part that take long: overhangs, bridges, thin walls and gaps."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fab.checks import measure, overhang
from fab.params.shop import Printer
from fab.solids.cuts import cut_at

if TYPE_CHECKING:
    from fab.solids.mesh import Mesh

FIRST_LAYERS = 2
SAME_MM2 = 0.01  # areas of one shape, meshed twice
Place = tuple[float, float, float]


@dataclass(frozen=True)
class Measured:
    """The slow measures of a mesh: worst overhang, longest bridge, thinnest wall and gap."""

    leaning_mm2: float  # area of all faces that look down
    hanging_mm: float
    hanging_at: Place | None
    floating: bool  # it hangs in the air altogether
    bridge_mm: float
    bridge_at: Place | None
    wall: tuple[float, Place]
    gap: tuple[float, Place]


def measured(mesh: Mesh, printer: Printer) -> Measured:
    """Measure overhangs and thin places of a mesh."""
    found = overhang.regions(
        mesh, printer.overhang_deg, printer.extrusion_width, FIRST_LAYERS * printer.layer
    )
    reach = max(found, key=lambda region: region.reach, default=None)
    bridge = max(found, key=lambda region: region.bridge, default=None)
    furthest, longest = reach.reach if reach else 0.0, bridge.bridge if bridge else 0.0
    air = overhang.in_the_air(mesh)
    place = air[0] if air else reach.place if reach else None
    floating = bool(air) or math.isinf(furthest)
    if floating and place:
        furthest = place[2] - float(mesh.box[0][2])  # all the way down to the bed
    wall, gap = _thinnest(mesh, measure.levels(mesh, printer.layer))
    return Measured(
        _leaning_mm2(mesh),
        furthest,
        place,
        floating,
        longest,
        bridge.place if bridge else None,
        wall,
        gap,
    )


def with_name(plain: Measured, mesh: Mesh, printer: Printer, z: float, high: float) -> Measured:
    """The measures of a part, by those of the same part without a name of this height on a face at
    z. The name's sides are upright and its top looks up, so that it can hang out nowhere (measured:
    no more of the part looks down); walls and gaps are measured at the heights of the name alone.
    """
    if abs(_leaning_mm2(mesh) - plain.leaning_mm2) > SAME_MM2:
        return measured(mesh, printer)
    wall, gap = _thinnest(
        mesh, [level for level in measure.levels(mesh, 0.0) if z < level < z + high]
    )
    return replace(plain, wall=min(plain.wall, wall), gap=min(plain.gap, gap))


def _leaning_mm2(mesh: Mesh) -> float:
    import numpy as np

    corners = mesh.vertices[mesh.triangles]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    down = normal[:, 2] < -1e-6 * np.linalg.norm(normal, axis=1)
    return float(np.linalg.norm(normal[down], axis=1).sum() / 2)


def _thinnest(
    mesh: Mesh, levels: Sequence[float]
) -> tuple[tuple[float, Place], tuple[float, Place]]:
    """The thinnest wall and the narrowest gap at these heights, each with its place."""
    wall, gap = (measure.FAR, (0.0, 0.0, 0.0)), (measure.FAR, (0.0, 0.0, 0.0))
    for z in levels:
        (thick, at), (wide, beside) = measure.thinnest(cut_at(mesh, z))
        wall = min(wall, (thick, (*at, z)))
        gap = min(gap, (wide, (*beside, z)))
    return wall, gap
