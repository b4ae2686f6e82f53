"""Spots that rays are aimed at: every gap of a panel that could let light through."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from fab.outlines import clip2d
from fab.parts.features import features
from fab.parts.jumpersizes import jumper_sizes
from fab.parts.openings import wall_faces
from fab.parts.plan import Plan

if TYPE_CHECKING:
    import numpy as np

STEP_MM = 1.2  # spots along a gap
FINE_MM = 0.4  # heights in a port: what an LED sees past the board's edge is a narrow band


def gap_spots(plan: Plan, *, inlet: bool) -> np.ndarray:
    """Spots in every gap of the outside: ports and the caps in them, the lap's lower end, the rim,
    the inlet, corners.
    """
    import numpy as np

    a, half = plan.cell.apothem, plan.edge.port_w / 2
    outer = a - plan.params.gap / 2
    inner = outer - plan.params.shell.wall
    top, low = plan.heights.port_top_z, plan.floor.top_z
    edge = []
    across = np.linspace(-half + 0.02, half - 0.02, max(int(2 * half / STEP_MM), 2))
    upright = np.linspace(low + 0.02, top - 0.02, max(int((top - low) / STEP_MM), 2))
    slot = plan.fit("cap-port") / 2
    for x in (outer, inner):
        edge += [
            (x, t, z)
            for t in across
            for z in (top - slot, top - slot - plan.floor.press_room, low + 0.05)
        ]
        edge += [(x, side * (half - slot), z) for z in upright for side in (-1, 1)]
    edge += [(outer, t, z) for t in across[1::3] for z in np.arange(low + 0.3, top, FINE_MM)]
    length = plan.rings.body_apothem * math.tan(math.pi / plan.cell.sides)
    along = np.arange(-length, length, STEP_MM * 3)
    edge += [
        (x, t, z)
        for t in along
        for x, z in (
            (inner - plan.fit("lap") / 2, plan.floor.shell_z),
            (outer, plan.floor.top_z + plan.floor.press_room / 2 + 0.01),
            (plan.rings.rebate_apothem - plan.rings.seat_gap / 2, plan.heights.rim_z),
            (plan.rings.rebate_apothem - plan.rings.seat_gap / 2, plan.heights.ledge_z),
        )
    ]
    if inlet and not plan.inlet.behind:
        edge += [(outer, t, z) for t in across for z in upright]
    spots = np.array(edge)
    return np.concatenate([_at_edge(plan, spots, k) for k in range(plan.cell.sides)])


def _at_edge(plan: Plan, spots: np.ndarray, edge: int) -> np.ndarray:
    """Spots of edge 0 at another edge of the panel."""
    import numpy as np

    angle = 2 * math.pi * edge / plan.cell.sides
    cos, sin = math.cos(angle), math.sin(angle)
    x, y, z = spots.T
    return np.stack([x * cos - y * sin, x * sin + y * cos, z], axis=1)


def channel_spots(plan: Plan, edges: Sequence[int]) -> list[np.ndarray]:
    """Spots in the mouth of each jumper's channel, and in the header window over it, which is empty
    there.
    """
    import numpy as np

    found = []
    for edge in edges:
        size, x = jumper_sizes(plan), plan.cell.apothem - plan.params.gap / 2
        half = size.channel_w / 2
        mouth = [
            (x, t, z)
            for t in np.arange(-half, half, STEP_MM)
            for z in np.arange(0.1, size.channel_d, FINE_MM)
        ]
        low, high, wide = (
            plan.heights.axis_z - plan.edge.window_h / 2,
            plan.heights.window_top_z,
            plan.edge.window_w / 2,
        )
        window = [
            (plan.cell.apothem, t, z)
            for t in np.arange(-wide, wide, STEP_MM)
            for z in np.arange(low, plan.heights.rim_z if plan.params.gap > 0 else high, FINE_MM)
        ]
        found.append(_at_edge(plan, np.array([*mouth, *window]), edge))
    return found


def opening_spots(plan: Plan, steps: int) -> list[np.ndarray]:
    """Spots in every opening that a design has in its own shell, outer and inner face."""
    import numpy as np
    import shapely

    found = []
    faces = wall_faces(plan, "shell")
    for item in (one.turned_back(steps, plan.cell.sides) for one in features(plan)):
        if not item.through or item.part != "shell" or item.edge is None:
            continue
        for shape in item.shapes:
            region = clip2d.of_outline(shape)
            t0, z0, t1, z1 = region.bounds
            t, z = np.meshgrid(
                *(
                    np.linspace(low, high, max(int((high - low) / STEP_MM), 3) + 2)[1:-1]
                    for low, high in ((t0, t1), (z0, z1))
                )
            )
            inside = shapely.contains_xy(region, t.ravel(), z.ravel())
            along, up = t.ravel()[inside], z.ravel()[inside]
            for face in faces:
                out = np.full(len(along), plan.cell.apothem - face)
                found.append(_at_edge(plan, np.stack([out, along, up], axis=1), item.edge))
    return found
