"""Rays that meet a soup of triangles: all at once, largest triangles first, the rest in blocks."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from fab.solids.mesh import Mesh

if TYPE_CHECKING:
    import numpy as np

LARGEST = (24, 96, 280)  # the largest triangles catch most rays; tried in these portions
BLOCK = 96  # triangles that lie near each other, behind one box
# ray and triangle pairs that are reckoned in one go: more do not fit the processor's cache, and
# take thrice as long
PAIRS = 40_000
EDGE_TOL = 1e-7  # rays along a seam between two triangles are caught


def soup(meshes: Sequence[Mesh]) -> np.ndarray:
    """All triangles (k, 3, 3), the largest first."""
    import numpy as np

    corners = np.concatenate([mesh.vertices[mesh.triangles] for mesh in meshes])
    normal = _cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    return corners[np.argsort(-np.linalg.norm(normal, axis=1), kind="stable")]


def unblocked(origins: np.ndarray, ways: np.ndarray, triangles: np.ndarray) -> np.ndarray:
    """Indices of the rays that meet no triangle; quick when `triangles` come from `soup`."""
    import numpy as np

    left, begin = np.arange(len(origins)), 0
    for size in LARGEST:
        left = _free_of(origins, ways, left, triangles[begin : begin + size])
        begin += size
    for block in _blocks(triangles[begin:]):
        if len(left) == 0:
            break
        near = _meets_box(origins[left], ways[left], block.min(axis=(0, 1)), block.max(axis=(0, 1)))
        if near.any():
            free = _free_of(origins, ways, left[near], block)
            left = np.concatenate([left[~near], free])
    return np.sort(left)


def _free_of(
    origins: np.ndarray, ways: np.ndarray, rows: np.ndarray, triangles: np.ndarray
) -> np.ndarray:
    """Those of the rows that meet none of the triangles."""
    import numpy as np

    if len(triangles) == 0 or len(rows) == 0:
        return rows
    per = max(PAIRS // len(triangles), 1)
    parts = [rows[start : start + per] for start in range(0, len(rows), per)]
    return np.concatenate([part[~_hits(origins[part], ways[part], triangles)] for part in parts])


def _blocks(triangles: np.ndarray) -> list[np.ndarray]:
    """Triangles in blocks of neighbours along a curve through space (Morton's order)."""
    import numpy as np

    if len(triangles) == 0:
        return []
    middle = triangles.mean(axis=1)
    low = middle.min(axis=0)
    cells = ((middle - low) / max(float((middle.max(axis=0) - low).max()), 1e-9) * 1023).astype(
        np.int64
    )
    key = np.zeros(len(cells), np.int64)
    for bit in range(10):
        for axis in range(3):
            key |= ((cells[:, axis] >> bit) & 1) << (3 * bit + axis)
    ordered = triangles[np.argsort(key, kind="stable")]
    return [ordered[start : start + BLOCK] for start in range(0, len(ordered), BLOCK)]


def _meets_box(
    origin: np.ndarray, way: np.ndarray, low: np.ndarray, high: np.ndarray
) -> np.ndarray:
    """The rays that pass through a box (slabs; a hair wider than it is)."""
    import numpy as np

    with np.errstate(divide="ignore", invalid="ignore"):
        a, b = (low - 1e-6 - origin) / way, (high + 1e-6 - origin) / way
    enter = np.fmax.reduce(np.minimum(a, b), axis=1)  # a ray within a slab's face: not a number
    leave = np.fmin.reduce(np.maximum(a, b), axis=1)
    meets: np.ndarray = (enter <= leave) & (leave >= 0)
    return meets


def _hits(origin: np.ndarray, way: np.ndarray, triangles: np.ndarray) -> np.ndarray:
    """Moeller and Trumbore's test, every ray against every triangle; True where a ray meets any."""
    import numpy as np

    a = triangles[:, 0]
    e1 = triangles[:, 1] - triangles[:, 0]
    e2 = triangles[:, 2] - triangles[:, 0]
    normal = _cross(e1, e2)
    det = -(way @ normal.T)  # (rays, triangles)
    along = origin @ normal.T - np.einsum("kj,kj->k", a, normal)
    # with s = origin - a: u = (s x way) . e2 / det, v = -(s x way) . e1 / det, written with
    # products of matrices
    moment = _cross(origin, way)
    u = moment @ e2.T - way @ _cross(e2, a).T
    v = way @ _cross(e1, a).T - moment @ e1.T
    sign = np.sign(det)
    size = np.abs(det)
    u, v, along = u * sign, v * sign, along * sign
    slack = EDGE_TOL * size
    meets: np.ndarray = (
        (size > 1e-12) & (u >= -slack) & (v >= -slack) & (u + v <= size + slack) & (along > 1e-9)
    ).any(axis=1)
    return meets


def _cross(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Vector products of rows; the library's own takes five times as long for few of them."""
    import numpy as np

    (ax, ay, az), (bx, by, bz) = a.T, b.T
    return np.stack([ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx], axis=1)
