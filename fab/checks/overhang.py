"""Overhangs and bridges measured on a mesh that stands as it is printed, z = 0 the bed.

Faces that lean out further than the printer's angle are gathered into regions. An edge of a region
is an anchor where the face beyond it leads downwards: there the print already stands. Every spot of
a region must lie on a straight line between two anchors (a bridge; the shortest such line counts)
or near one (a small overhang).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np

    from fab.solids.mesh import Mesh

ANGLE_TOL_DEG = 0.5
SLIVER_MM = 0.005  # a region of nothing but thinner triangles is none
DIRECTIONS = 24  # of lines through a spot, over half a turn
SPOT_MM = 1.5  # spots of a region lie no further apart
PAIRS = 20_000  # of spot and edge, reckoned in one go: they fit the processor's cache


@dataclass(frozen=True)
class Region:
    """Connected faces that lean out too far."""

    place: tuple[float, float, float]  # of its worst spot
    bridge: float  # longest bridge, mm
    # furthest spot that no bridge carries from its nearest anchor, mm; infinite: it starts in the
    # air
    reach: float


def regions(mesh: Mesh, overhang_deg: float, small_mm: float, bed_mm: float) -> list[Region]:
    """All regions steeper than `overhang_deg` from upright.

    Spots within `small_mm` of an anchor need no bridge; faces that end lower than `bed_mm` lie on
    the bed as printed.
    """
    import numpy as np

    corners = mesh.vertices[mesh.triangles]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    double = np.linalg.norm(normal, axis=1)
    lean = np.degrees(np.arcsin(np.clip(-normal[:, 2] / np.maximum(double, 1e-12), -1, 1)))
    floor = mesh.vertices[:, 2].min()
    longest = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1)
    sliver = double < SLIVER_MM * longest  # its normal is noise
    over = (
        (lean > overhang_deg + ANGLE_TOL_DEG)
        & (corners[:, :, 2].max(axis=1) > floor + bed_mm)
        & (double > 1e-7)
    )
    chosen = np.flatnonzero(over)
    if len(chosen) == 0:
        return []
    mate = _mates(mesh)
    label = _labels(chosen, mate)
    found = []
    for group in range(int(label.max()) + 1):
        faces = chosen[label == group]
        if not sliver[faces].all():
            found.append(_region(mesh, faces, over, mate, small_mm, floor + bed_mm))
    return found


def in_the_air(mesh: Mesh) -> list[tuple[float, float, float]]:
    """Places where the print starts in the air on an edge or point (flats: see regions)."""
    import numpy as np

    z = mesh.vertices[:, 2]
    pairs = np.concatenate(
        [mesh.triangles[:, [0, 1]], mesh.triangles[:, [1, 2]], mesh.triangles[:, [2, 0]]]
    )
    level = np.abs(z[pairs[:, 0]] - z[pairs[:, 1]]) < 1e-4
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    count = len(z)
    flat = pairs[level]
    graph = coo_matrix((np.ones(len(flat)), (flat[:, 0], flat[:, 1])), shape=(count, count))
    _, group = connected_components(graph, directed=False)
    lowest = np.ones(group.max() + 1, bool)
    lower = pairs[~level]
    # first is the higher one
    up = np.where((z[lower[:, 0]] > z[lower[:, 1]])[:, None], lower, lower[:, ::-1])
    lowest[group[up[:, 0]]] = False
    corners = mesh.vertices[mesh.triangles]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])[:, 2]
    looks = np.zeros(group.max() + 1)
    np.add.at(looks, group[mesh.triangles[:, 0]], normal)
    np.add.at(looks, group[mesh.triangles[:, 1]], normal)
    np.add.at(looks, group[mesh.triangles[:, 2]], normal)
    bad = lowest & (looks < 0)
    bad &= ~np.isin(np.arange(len(bad)), group[z < z.min() + 1e-3])
    places = [mesh.vertices[group == k][0].tolist() for k in np.flatnonzero(bad)]
    return [(x, y, z) for x, y, z in places]


def _mates(mesh: Mesh) -> np.ndarray:
    """(m, 3): the triangle beyond edge k (from corner k to the next)."""
    import numpy as np

    tri = mesh.triangles.astype(np.int64)
    base = int(tri.max()) + 1
    begin, end = tri.reshape(-1), np.roll(tri, -1, axis=1).reshape(-1)
    key, other = begin * base + end, end * base + begin
    order = np.argsort(key)
    return (order[np.searchsorted(key[order], other)] // 3).reshape(-1, 3)


def _labels(chosen: np.ndarray, mate: np.ndarray) -> np.ndarray:
    import numpy as np
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    index = np.full(len(mate), -1)
    index[chosen] = np.arange(len(chosen))
    near = index[mate[chosen]]
    rows = np.repeat(np.arange(len(chosen)), 3)[near.reshape(-1) >= 0]
    cols = near.reshape(-1)[near.reshape(-1) >= 0]
    graph = coo_matrix((np.ones(len(rows)), (rows, cols)), shape=(len(chosen), len(chosen)))
    labels: np.ndarray = connected_components(graph, directed=False)[1]
    return labels


def _region(
    mesh: Mesh, faces: np.ndarray, over: np.ndarray, mate: np.ndarray, small: float, bed_z: float
) -> Region:
    import numpy as np

    tri = mesh.triangles[faces]
    beyond = mate[faces]  # (k, 3)
    rim = ~over[beyond]
    # an edge belongs to the rim when the face beyond it is no overhang
    a, b = mesh.vertices[tri], mesh.vertices[np.roll(tri, -1, axis=1)]
    own = np.repeat(faces, 3).reshape(-1, 3)[rim]
    anchor = _stands(mesh, own, beyond[rim], a[rim], b[rim]) | (
        np.maximum(a[rim], b[rim])[:, 2] < bed_z
    )
    start, end = a[rim][:, :2], b[rim][:, :2]
    spots = _spots(mesh.vertices[tri])
    if not anchor.any():
        return Region(_place(spots[0]), 0.0, math.inf)
    near = _to_segments(spots[:, :2], start[anchor], end[anchor])
    bridge = _bridges(spots[:, :2], start, end, anchor)
    carried = np.isfinite(bridge)
    free = np.where(carried | (near <= small), 0.0, near)
    spans = np.where(carried & (near > small), bridge, 0.0)
    worst = int(free.argmax()) if free.max() > 0 else int(spans.argmax())
    return Region(_place(spots[worst]), float(spans.max()), float(free.max()))


def _stands(
    mesh: Mesh, own: np.ndarray, beyond: np.ndarray, a: np.ndarray, b: np.ndarray
) -> np.ndarray:
    """True when the print stands under the edge from a to b of an overhanging face: the face beyond
    goes down from there, or it is a floor that the overhanging one rises from.
    """
    import numpy as np

    corners = mesh.vertices[mesh.triangles[beyond]]
    normal, lean = _normals(corners), _normals(mesh.vertices[mesh.triangles[own]])
    inward = np.cross(normal, a - b)  # into the face beyond, square to the edge
    length = np.maximum(np.linalg.norm(inward, axis=1), 1e-12)
    down = inward[:, 2] < -1e-3 * length
    floor = (normal[:, 2] > 0.5 * np.linalg.norm(normal, axis=1)) & (
        (lean * inward).sum(axis=1) > 0
    )
    thin = length < 1e-9  # a sliver has no direction: ask where its middle lies
    stands: np.ndarray = np.where(
        thin, corners.mean(axis=1)[:, 2] < (a + b)[:, 2] / 2 - 1e-4, down | floor
    )
    return stands


def _normals(corners: np.ndarray) -> np.ndarray:
    import numpy as np

    return np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])


def _place(spot: np.ndarray) -> tuple[float, float, float]:
    return (round(float(spot[0]), 2), round(float(spot[1]), 2), round(float(spot[2]), 2))


def _spots(corners: np.ndarray) -> np.ndarray:
    """Spots all over the triangles (k, 3, 3), no further apart than SPOT_MM."""
    import numpy as np

    longest = max(float(np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max()), 1e-6)
    parts = min(max(math.ceil(longest / SPOT_MM), 1), 40)
    shares = [
        ((i + 1 / 3) / parts, (j + 1 / 3) / parts) for i in range(parts) for j in range(parts - i)
    ]
    weights = np.array([(1 - s - t, s, t) for s, t in shares])
    spots: np.ndarray = np.einsum("wk,mkx->mwx", weights, corners).reshape(-1, 3)
    return spots


def _to_segments(points: np.ndarray, start: np.ndarray, end: np.ndarray) -> np.ndarray:
    """Least distance of each point to any of the segments."""
    import numpy as np

    way = end - start
    square = np.maximum((way**2).sum(axis=1), 1e-18)
    best = np.full(len(points), np.inf)
    for a, w, s in zip(start, way, square, strict=True):
        rel = points - a
        share = np.clip(rel @ w / s, 0.0, 1.0)
        best = np.minimum(best, np.hypot(*(rel - share[:, None] * w).T))
    return best


def _bridges(
    points: np.ndarray, start: np.ndarray, end: np.ndarray, anchor: np.ndarray
) -> np.ndarray:
    """Length of the shortest line through each point between two anchors; else infinite."""
    import numpy as np

    step = max(PAIRS // len(start), 1)
    return np.concatenate(
        [_bridges_of(points[k : k + step], start, end, anchor) for k in range(0, len(points), step)]
    )


def _bridges_of(
    points: np.ndarray, start: np.ndarray, end: np.ndarray, anchor: np.ndarray
) -> np.ndarray:
    import numpy as np

    way = end - start
    best = np.full(len(points), np.inf)
    angles = {math.pi * k / DIRECTIONS for k in range(DIRECTIONS)}
    # square to the rim's own edges: the shortest way over
    across = np.arctan2(way[:, 0], -way[:, 1]) % math.pi
    angles |= {round(float(x), 4) for x in across[:64]}
    # (points, edges)
    x = start[None, :, 0] - points[:, None, 0]
    y = start[None, :, 1] - points[:, None, 1]
    reached = x * way[None, :, 1] - y * way[None, :, 0]
    for angle in sorted(angles):
        d = np.array([math.cos(angle), math.sin(angle)])
        cross = d[0] * way[:, 1] - d[1] * way[:, 0]
        with np.errstate(divide="ignore", invalid="ignore"):
            t = reached / cross
            s = (x * d[1] - y * d[0]) / cross
        hit = (np.abs(cross) > 1e-12)[None] & (s >= -1e-9) & (s <= 1 + 1e-9)
        total = np.zeros(len(points))
        for sign in (1.0, -1.0):
            far = np.where(hit & (t * sign > 0), t * sign, np.inf)
            first = far.argmin(axis=1)
            reach = far[np.arange(len(points)), first]
            total += np.where(anchor[first], reach, np.inf)
        best = np.minimum(best, total)
    return best
