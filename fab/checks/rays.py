"""Which of many straight rays meet a soup of triangles: all at once, the largest triangles first."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from fab.solids.mesh import Mesh

if TYPE_CHECKING:
    import numpy as np

FIRST = 24  # the largest triangles catch most rays
PAIRS = 1_500_000  # ray and triangle pairs that are reckoned in one go
EDGE_TOL = 1e-7  # rays along a seam between two triangles are caught


def soup(meshes: Sequence[Mesh]) -> np.ndarray:
    """All triangles (k, 3, 3), the largest first."""
    import numpy as np

    corners = np.concatenate([mesh.vertices[mesh.triangles] for mesh in meshes])
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    return corners[np.argsort(-np.linalg.norm(normal, axis=1), kind="stable")]


def unblocked(origins: np.ndarray, ways: np.ndarray, triangles: np.ndarray) -> np.ndarray:
    """Indices of the rays that meet no triangle. Triangles that bound the scene's big faces must come first."""
    import numpy as np

    left = np.arange(len(origins))
    begin, size = 0, FIRST
    while begin < len(triangles) and len(left):
        part = triangles[begin : begin + size]
        free = np.ones(len(left), bool)
        per = max(PAIRS // len(part), 1)
        for start in range(0, len(left), per):
            rows = left[start : start + per]
            free[start : start + per] = ~_hits(origins[rows], ways[rows], part)
        left = left[free]
        begin += len(part)
        size = min(size * 4, 4096)
    return left


def _hits(origin: np.ndarray, way: np.ndarray, triangles: np.ndarray) -> np.ndarray:
    """Moeller and Trumbore's test, every ray against every triangle; True where a ray meets any."""
    import numpy as np

    a, e1, e2 = triangles[:, 0], triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]
    normal = np.cross(e1, e2)
    det = -(way @ normal.T)  # (rays, triangles)
    along = origin @ normal.T - np.einsum("kj,kj->k", a, normal)
    # with s = origin - a: u = (s x way) . e2 / det, v = -(s x way) . e1 / det, written with products of matrices
    moment = np.cross(origin, way)
    u = moment @ e2.T - way @ np.cross(e2, a).T
    v = way @ np.cross(e1, a).T - moment @ e1.T
    sign = np.sign(det)
    size = np.abs(det)
    u, v, along = u * sign, v * sign, along * sign
    slack = EDGE_TOL * size
    return ((size > 1e-12) & (u >= -slack) & (v >= -slack) & (u + v <= size + slack) & (along > 1e-9)).any(axis=1)
