"""Straight up and down: how far one mesh can sink until it touches another, and whether it lifts
off.

Two meshes that move along z first touch with a corner of one on a face of the other, or with two
edges. Corners are taken all, edges at spots `SPOT_MM` apart.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from fab.solids.mesh import Mesh

if TYPE_CHECKING:
    import numpy as np

SPOT_MM = 0.5
TOUCH_MM = 1e-4  # parts that overlap by less only touch
LEAST_MM2 = 1e-6  # faces that cover less of the plan are upright


class Solid2:
    """A mesh made ready: faces in plan in a search tree, corners, and spots along edges."""

    def __init__(self, mesh: Mesh) -> None:
        import numpy as np
        import shapely

        corners = mesh.vertices[mesh.triangles]
        twice = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        keep = np.abs(twice[:, 2]) > 2 * LEAST_MM2
        self.faces, self.normal = corners[keep], twice[keep]
        plan = self.faces[:, :, :2].reshape(-1, 2)
        # of nothing: a box that holds nothing
        self.low: np.ndarray = plan.min(axis=0, initial=np.inf)
        self.high: np.ndarray = plan.max(axis=0, initial=-np.inf)
        self.tree: Any = shapely.STRtree(shapely.polygons(self.faces[:, :, :2]))
        self.points = _points(mesh)


def drop(mover: Solid2, other: Solid2) -> float:
    """The way `mover` can go down until it touches `other`; infinite: never, 0: overlap."""
    landed = min(_least_gap(mover.points, other, 1.0), _least_gap(other.points, mover, -1.0))
    return max(landed, 0.0) if math.isfinite(landed) else landed


def above(mover: Solid2, other: Solid2) -> tuple[float, tuple[float, float, float]]:
    """Depth of `other` over anything of `mover`, mm, and place; 0 when `mover` lifts off."""
    worst, place = 0.0, (0.0, 0.0, 0.0)
    for every, faces, sign in ((other.points, mover, 1.0), (mover.points, other, -1.0)):
        end = float((sign * faces.faces[:, :, 2]).min(initial=math.inf))  # no part of it is below
        points = every[sign * every[:, 2] > end + TOUCH_MM]
        point, height = _under(points, faces)
        over = sign * (points[point, 2] - height)
        if len(over) and float(over.max()) > max(worst, TOUCH_MM):
            worst = float(over.max())
            at = points[point[int(over.argmax())]]
            place = (float(at[0]), float(at[1]), float(at[2]))
    return worst, place


def _least_gap(points: np.ndarray, faces: Solid2, sign: float) -> float:
    """Least height of points over upper faces (sign 1), or under lower ones (sign -1)."""
    point, height, up = _under(points, faces, facing=True)
    gap = sign * (points[point, 2] - height)
    meets = (up * sign > 0) & (gap > -TOUCH_MM)
    return float(gap[meets].min()) if meets.any() else math.inf


def _under(points: np.ndarray, faces: Solid2, *, facing: bool = False) -> Any:
    """Pairs of a point and a face that it lies over or under in plan: index of the point, height of
    the face there (and the face's upward sense).
    """
    import numpy as np
    import shapely

    if len(points) == 0 or len(faces.faces) == 0:
        empty = np.zeros(0)
        return (empty.astype(int), empty, empty) if facing else (empty.astype(int), empty)
    plan = points[:, :2]
    near = np.flatnonzero(((plan >= faces.low) & (plan <= faces.high)).all(axis=1))
    point, face = faces.tree.query(shapely.points(plan[near]), predicate="within")
    point = near[point]
    a, n = faces.faces[face, 0], faces.normal[face]
    flat = points[point, :2] - a[:, :2]
    height = a[:, 2] - (flat * n[:, :2]).sum(axis=1) / n[:, 2]
    return (point, height, n[:, 2]) if facing else (point, height)


def _points(mesh: Mesh) -> np.ndarray:
    """Corners, and spots along edges longer than `SPOT_MM` where faces meet at an angle."""
    import numpy as np

    tri = mesh.triangles.astype(np.int64)
    pairs = np.concatenate([tri[:, [0, 1]], tri[:, [1, 2]], tri[:, [2, 0]]])
    normal = np.cross(
        mesh.vertices[tri[:, 1]] - mesh.vertices[tri[:, 0]],
        mesh.vertices[tri[:, 2]] - mesh.vertices[tri[:, 0]],
    )
    normal /= np.maximum(np.linalg.norm(normal, axis=1), 1e-12)[:, None]
    owner = np.tile(np.arange(len(tri)), 3)
    base = int(tri.max()) + 1
    key, back = pairs[:, 0] * base + pairs[:, 1], pairs[:, 1] * base + pairs[:, 0]
    order = np.argsort(key)
    mate = owner[order[np.searchsorted(key[order], back)]]
    bent = ((normal[owner] * normal[mate]).sum(axis=1) < 0.9999) & (pairs[:, 0] < pairs[:, 1])
    start, end = mesh.vertices[pairs[bent, 0]], mesh.vertices[pairs[bent, 1]]
    flat = np.linalg.norm((end - start)[:, :2], axis=1)
    parts = np.ceil(flat / SPOT_MM).astype(int)
    row = np.repeat(np.arange(len(parts)), np.maximum(parts - 1, 0))
    step = (
        np.arange(len(row))
        - np.repeat(
            np.cumsum(np.maximum(parts - 1, 0)) - np.maximum(parts - 1, 0), np.maximum(parts - 1, 0)
        )
        + 1
    )
    spots = start[row] + (step / np.maximum(parts[row], 1))[:, None] * (end - start)[row]
    return np.concatenate([mesh.vertices, spots])
