"""Measures on meshes: the cut at a height, thickness of walls and gaps in it, the hull of what stands on the bed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np

    from fab.solids.mesh import Mesh

OPPOSITE = -0.94  # two faces are walls of one feature when their normals differ from opposite by less than 20 degrees
FAR = 3.0  # mm: walls and gaps wider than this are not looked for
SPOT_MM = 0.7  # spots on a boundary lie no further apart
ASIDE_MM = 0.4  # two spots look at each other when they are out of line by less
PATH_MM = 3.0  # spots nearer than this along the boundary are flanks of one corner


@dataclass(frozen=True, eq=False)
class Cut:
    """The cut through a mesh at one height: segments (k, 2, 2) with material on their left, normals outwards."""

    z: float
    segments: np.ndarray
    normals: np.ndarray  # (k, 2)


def cut_at(mesh: Mesh, z: float) -> Cut:
    """The cut at height z, or a hair above it where corners of the mesh lie on it."""
    import numpy as np

    heights = mesh.vertices[:, 2]
    for _ in range(20):
        if np.abs(heights - z).min() > 1e-7:
            break
        z += 1.7e-6
    corners = mesh.vertices[mesh.triangles]  # (m, 3, 3)
    above = corners[:, :, 2] > z
    crossed = corners[(above.any(axis=1)) & (~above.all(axis=1))]
    if len(crossed) == 0:
        return Cut(z, np.zeros((0, 2, 2)), np.zeros((0, 2)))
    over = crossed[:, :, 2] > z
    lone = np.where(over.sum(axis=1) == 1, over.argmax(axis=1), (~over).argmax(axis=1))  # corner alone on its side
    rows = np.arange(len(crossed))
    top, b, c = crossed[rows, lone], crossed[rows, (lone + 1) % 3], crossed[rows, (lone + 2) % 3]
    ends = []
    for other in (b, c):
        share = (z - top[:, 2]) / (other[:, 2] - top[:, 2])
        ends.append(top[:, :2] + share[:, None] * (other[:, :2] - top[:, :2]))
    segments = np.stack(ends, axis=1)  # corner alone above: outside is on the right of the way from its first side
    below = ~over[rows, lone]
    segments[below] = segments[below][:, ::-1]
    way = segments[:, 1] - segments[:, 0]
    length = np.linalg.norm(way, axis=1)
    keep = length > 1e-7
    segments, way, length = segments[keep], way[keep], length[keep]
    normals = np.stack([way[:, 1], -way[:, 0]], axis=1) / length[:, None]
    return Cut(z, segments, normals)


def area_of(cut: Cut) -> float:
    """Area of a cut, mm2."""
    a, b = cut.segments[:, 0], cut.segments[:, 1]
    return float((a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum() / 2.0)


def flats(mesh: Mesh) -> np.ndarray:
    """Heights of all level faces of a mesh, sorted."""
    import numpy as np

    corners = mesh.vertices[mesh.triangles][:, :, 2]
    flat = corners[np.ptp(corners, axis=1) < 1e-6][:, 0]
    return np.unique(np.concatenate([flat, [mesh.vertices[:, 2].min(), mesh.vertices[:, 2].max()]]).round(4))


def levels(mesh: Mesh, least_mm: float) -> list[float]:
    """Heights between all flats of a mesh that are further apart than `least_mm`: one cut tells of each stretch."""
    marks = flats(mesh)
    return [float((low + high) / 2) for low, high in zip(marks[:-1], marks[1:], strict=True) if high - low > least_mm]


def thinnest(cut: Cut, outside: bool) -> tuple[float, tuple[float, float]]:
    """Least thickness of material (or of a gap, `outside`) in a cut, and where; FAR when nothing is thinner.

    Spots along the boundary are paired with spots that look at them. Two that are neighbours along the boundary are
    the flanks of a corner, not of a wall.
    """
    import numpy as np
    from scipy.spatial import cKDTree

    spots, normals, along, loop, length = _spots(cut)
    if len(spots) == 0:
        return FAR, (0.0, 0.0)
    pairs = cKDTree(spots).query_pairs(FAR, output_type="ndarray")
    a, b = pairs[:, 0], pairs[:, 1]
    facing = (normals[a] * normals[b]).sum(axis=1) <= OPPOSITE
    a, b = a[facing], b[facing]
    way = spots[b] - spots[a]
    reach = (way * normals[a]).sum(axis=1) * (1 if outside else -1)
    aside = np.abs(way[:, 0] * normals[a][:, 1] - way[:, 1] * normals[a][:, 0])
    path = np.abs(along[a] - along[b])
    path = np.where(loop[a] == loop[b], np.minimum(path, length[loop[a]] - path), np.inf)
    seen = (reach > 1e-6) & (aside <= ASIDE_MM) & (path > PATH_MM)
    if not seen.any():
        return FAR, (0.0, 0.0)
    k = int(np.where(seen, reach, np.inf).argmin())
    return float(reach[k]), (float(spots[a[k], 0]), float(spots[a[k], 1]))


def _spots(cut: Cut) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Spots on the boundary: places, normals, way along their loop, number of the loop; and every loop's length."""
    import numpy as np

    count = len(cut.segments)
    sizes = np.linalg.norm(cut.segments[:, 1] - cut.segments[:, 0], axis=1)
    order, loop = _loops(cut.segments)
    at = np.zeros(count)
    lengths = np.bincount(loop, weights=sizes, minlength=int(loop.max()) + 1 if count else 1)
    ordered = sizes[order]
    run = np.cumsum(ordered) - ordered
    first = np.concatenate([[0], np.flatnonzero(np.diff(loop[order])) + 1]) if count else np.zeros(0, int)
    base = np.repeat(run[first], np.diff([*first, count])) if count else run
    at[order] = run - base
    parts = np.maximum(np.ceil(sizes / SPOT_MM).astype(int), 1)
    row = np.repeat(np.arange(count), parts)
    share = (np.arange(len(row)) - np.repeat(np.cumsum(parts) - parts, parts) + 0.5) / np.repeat(parts, parts)
    spots = cut.segments[row, 0] + share[:, None] * (cut.segments[row, 1] - cut.segments[row, 0])
    return spots, cut.normals[row], at[row] + share * sizes[row], loop[row], lengths


def loops_of(cut: Cut) -> list[np.ndarray]:
    """The loops of a cut, each as its corners in running order."""
    import numpy as np

    if len(cut.segments) == 0:
        return []
    order, loop = _loops(cut.segments)
    starts = np.flatnonzero(np.diff(loop[order])) + 1
    return [cut.segments[part, 0] for part in np.split(order, starts)]


def _loops(segments: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Segments in running order, loop by loop, and the number of each one's loop."""
    import numpy as np

    following: dict[tuple[int, int], list[int]] = {}
    keys = np.round(segments * 1e4).astype(np.int64)
    for k, (x, y) in enumerate(keys[:, 0].tolist()):
        following.setdefault((x, y), []).append(k)
    loop = np.full(len(segments), -1)
    order, number = [], 0
    ends = keys[:, 1].tolist()
    for begin in range(len(segments)):
        k = begin
        while loop[k] < 0:
            loop[k] = number
            order.append(k)
            x, y = ends[k]
            near = ((x + dx, y + dy) for dx, dy in ((0, 0), (1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (-1, -1), (1, -1), (-1, 1)))
            nexts = [n for key in near for n in following.get(key, ()) if loop[n] < 0]
            if not nexts:
                break
            k = nexts[0]
        if order and loop[begin] == number:
            number += 1
    return np.array(order, int), loop


def hull(points: np.ndarray) -> np.ndarray:
    """Corners of the convex hull of flat points, anticlockwise; the points themselves when they lie on a line."""
    import numpy as np

    ordered = points[np.lexsort((points[:, 1], points[:, 0]))]
    ordered = ordered[np.concatenate([[True], (np.abs(np.diff(ordered, axis=0)) > 1e-9).any(axis=1)])]

    def half(rows: np.ndarray) -> list[np.ndarray]:
        chain: list[np.ndarray] = []
        for p in rows:
            while len(chain) > 1 and (chain[-1][0] - chain[-2][0]) * (p[1] - chain[-2][1]) <= (
                chain[-1][1] - chain[-2][1]
            ) * (p[0] - chain[-2][0]):
                chain.pop()
            chain.append(p)
        return chain

    if len(ordered) < 3:
        return ordered
    return np.array(half(ordered)[:-1] + half(ordered[::-1])[:-1])


def least_width(corners: np.ndarray) -> float:
    """Least width of a convex polygon."""
    import numpy as np

    if len(corners) < 3:
        return 0.0
    way = np.roll(corners, -1, axis=0) - corners
    normal = np.stack([-way[:, 1], way[:, 0]], axis=1) / np.linalg.norm(way, axis=1)[:, None]
    return float(np.ptp(corners @ normal.T, axis=0).min())
