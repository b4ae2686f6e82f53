"""Clearances between two cuts: how far one part can move in a direction before it meets the other."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from fab.checks.measure import Cut
from fab.solids.mesh import Mesh

if TYPE_CHECKING:
    import numpy as np

Way = tuple[float, float]


def travel(mover: Cut, other: Cut, way: Way) -> float:
    """How far `mover` can go along `way` (of length 1) until it touches `other`; infinite when it never does.

    Exact for straight sides: it is a corner of one that first meets a side of the other.
    """
    import numpy as np

    d = np.array(way, dtype=np.float64)
    return min(_first_hit(mover.segments, other.segments, d), _first_hit(other.segments, mover.segments, -d))


def _first_hit(corners_of: np.ndarray, sides: np.ndarray, d: np.ndarray) -> float:
    import numpy as np

    if len(corners_of) == 0 or len(sides) == 0:
        return math.inf
    points = corners_of[:, 0]  # loops are closed: every corner starts one segment
    across = np.array([-d[1], d[0]])
    s0, s1 = sides[:, 0] @ across, sides[:, 1] @ across
    low, high = np.minimum(s0, s1), np.maximum(s0, s1)
    begin, end = sides[:, 0] @ d, sides[:, 1] @ d
    at, along = points @ across, points @ d
    meets = (at[:, None] >= low - 1e-9) & (at[:, None] <= high + 1e-9) & (high - low > 1e-9)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.clip((at[:, None] - s0) / (s1 - s0), 0.0, 1.0)
    reach = begin + share * (end - begin) - along[:, None]
    reach = np.where(meets & (reach > -1e-6), reach, np.inf)
    return float(reach.min())


def beside_edge(mesh: Mesh, angle_rad: float) -> Mesh:
    """Turned so that a cut at "height" x is a plane square to the edge's direction; coordinates (t, z)."""
    return _axes(turned(mesh, -angle_rad), (1, 2, 0))


def across_edge(mesh: Mesh, angle_rad: float) -> Mesh:
    """Turned so that a cut at "height" t is an upright plane in that direction, t aside; coordinates (z, outwards)."""
    return _axes(turned(mesh, -angle_rad), (2, 0, 1))


def _axes(mesh: Mesh, order: tuple[int, int, int]) -> Mesh:
    return Mesh(mesh.vertices[:, list(order)], mesh.triangles)


def turned(mesh: Mesh, angle_rad: float) -> Mesh:
    """Turned about z."""
    import numpy as np

    cos, sin = math.cos(angle_rad), math.sin(angle_rad)
    return Mesh(mesh.vertices @ np.array([[cos, sin, 0.0], [-sin, cos, 0.0], [0.0, 0.0, 1.0]]), mesh.triangles)


def scaled(cut: Cut, factor: float) -> Cut:
    """The cut of a part that has grown about the centre."""
    return Cut(cut.z, cut.segments * factor, cut.normals)


def shifted(cut: Cut, dx: float, dy: float) -> Cut:
    import numpy as np

    return Cut(cut.z, cut.segments + np.array([dx, dy]), cut.normals)
