"""Which pairs of parts can overlap at all: a quick and safe no before the CAD kernel is asked.

A part that has no surface of another inside its hull (its outline's convex hull, as high as it is) and does not lie
inside the other's material shares no room with it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from fab.checks.measure import hull
from fab.parts.assembly import Named

if TYPE_CHECKING:
    import numpy as np

TOUCH_MM = 1e-4  # parts that only touch are apart


class Hulls:
    """The hulls of every body of a part, and its triangles."""

    def __init__(self, one: Named) -> None:
        self.triangles = one.mesh.vertices[one.mesh.triangles]
        self.low, self.high = self.triangles.min(axis=1), self.triangles.max(axis=1)
        self.bodies = [_planes(points) for points in _bodies(one)]


def _bodies(one: Named) -> list[np.ndarray]:
    """Corners of each body of a part: connected triangles."""
    import numpy as np
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    tri, count = one.mesh.triangles, len(one.mesh.vertices)
    rows = np.concatenate([tri[:, 0], tri[:, 1]])
    cols = np.concatenate([tri[:, 1], tri[:, 2]])
    many, label = connected_components(coo_matrix((np.ones(len(rows)), (rows, cols)), shape=(count, count)), directed=False)
    order = np.argsort(label, kind="stable")
    return np.split(one.mesh.vertices[order], np.flatnonzero(np.diff(label[order])) + 1) if many > 1 else [one.mesh.vertices]


def _planes(points: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """(normals, distances, the points) of the hull prism; no plane cuts any point off. Where no surface enters the hull,
    all of its inside is alike: its middle tells whether it lies in material."""
    import numpy as np

    ring = hull(points[:, :2])
    way = np.roll(ring, -1, axis=0) - ring
    out = np.stack([way[:, 1], -way[:, 0]], axis=1) / np.linalg.norm(way, axis=1)[:, None]
    normals = np.concatenate([np.column_stack([out, np.zeros(len(out))]), [[0.0, 0.0, 1.0], [0.0, 0.0, -1.0]]])
    return normals, (points @ normals.T).max(axis=0), points


def apart(a: Hulls, b: Hulls) -> bool:
    """True when the two certainly share no room."""
    return _free_of(a, b) or _free_of(b, a)


def _free_of(whole: Hulls, small: Hulls) -> bool:
    """No surface of `whole` inside any hull of `small`, and none of those inside the material of `whole`."""
    for normals, far, points in small.bodies:
        box_low, box_high = points.min(axis=0), points.max(axis=0)
        near = ((whole.low < box_high - TOUCH_MM) & (whole.high > box_low + TOUCH_MM)).all(axis=1)
        corners = whole.triangles[near]
        if len(corners):
            outside = corners @ normals.T >= far - TOUCH_MM  # (k, 3, planes)
            if not outside.all(axis=1).any(axis=1).all():
                return False
        if _inside(points.mean(axis=0), whole.triangles):
            return False
    return True


def _inside(point: np.ndarray, triangles: np.ndarray) -> bool:
    """Whether a point lies inside a closed mesh: crossings of a slanted ray."""
    import numpy as np

    way = np.array([0.1234567, 0.2345678, 0.9642])
    a, e1, e2 = triangles[:, 0], triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]
    p = np.cross(way, e2)
    det = (e1 * p).sum(axis=1)
    with np.errstate(divide="ignore", invalid="ignore"):
        s = point - a
        u = (s * p).sum(axis=1) / det
        q = np.cross(s, e1)
        v = (q @ way) / det
        t = (e2 * q).sum(axis=1) / det
    return bool(((np.abs(det) > 1e-12) & (u >= 0) & (v >= 0) & (u + v <= 1) & (t > 0)).sum() % 2)


def near_pairs(pairs: Sequence[tuple[Named, Named]]) -> list[tuple[Named, Named]]:
    """The pairs that the kernel must be asked about."""
    hulls: dict[str, Hulls] = {}
    for pair in pairs:
        for one in pair:
            if one.name not in hulls:
                hulls[one.name] = Hulls(one)
    return [(a, b) for a, b in pairs if not apart(hulls[a.name], hulls[b.name])]
