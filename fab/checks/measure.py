"""Measures on meshes: thickness of walls and gaps in a cut, the hull of what stands on the bed."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

from fab.solids.cuts import Cut, flats, ordered
from fab.solids.mesh import Mesh

if TYPE_CHECKING:
    import numpy as np

# two faces are walls of one feature when their normals differ from opposite by less than 20 degrees
OPPOSITE = -0.94
FAR = 3.0  # mm: walls and gaps wider than this are not looked for
SPOT_MM = 0.7  # spots on a boundary lie no further apart
ASIDE_MM = 0.4  # two spots look at each other when they are out of line by less
PATH_MM = 3.0  # spots nearer than this along the boundary are flanks of one corner


def levels(mesh: Mesh, least_mm: float) -> list[float]:
    """Heights between flats of a mesh over `least_mm` apart: a cut tells of each stretch."""
    marks = flats(mesh)
    return [
        float((low + high) / 2) for low, high in itertools.pairwise(marks) if high - low > least_mm
    ]


Found = tuple[float, tuple[float, float]]


def thinnest(cut: Cut) -> tuple[Found, Found]:
    """Least thickness of material in a cut, and of a gap in it, each with its place; FAR when
    nothing is thinner.

    Spots along the boundary are paired with spots that look at them. Two that are neighbours along
    the boundary are the flanks of a corner, not of a wall.
    """
    import numpy as np
    from scipy.spatial import cKDTree

    nothing: Found = (FAR, (0.0, 0.0))
    if len(cut.segments) == 0:
        return nothing, nothing
    spots, normals, along, loop, length = _spots(cut)
    pairs = cKDTree(spots).query_pairs(FAR, output_type="ndarray")
    a, b = np.ascontiguousarray(pairs.T)
    # millions of pairs: columns are read twice as fast as rows
    nx, ny = np.ascontiguousarray(normals.T)
    facing = nx[a] * nx[b] + ny[a] * ny[b] <= OPPOSITE
    a, b = a[facing], b[facing]
    way = spots[b] - spots[a]
    reach = (way * normals[a]).sum(axis=1)  # over a gap; negative through material
    aside = np.abs(way[:, 0] * normals[a][:, 1] - way[:, 1] * normals[a][:, 0])
    path = np.abs(along[a] - along[b])
    path = np.where(loop[a] == loop[b], np.minimum(path, length[loop[a]] - path), np.inf)
    seen = (np.abs(reach) > 1e-6) & (aside <= ASIDE_MM) & (path > PATH_MM)
    found = []
    for side in (-1, 1):
        away = np.where(seen & (reach * side > 0), np.abs(reach), np.inf)
        k = int(away.argmin()) if len(away) else -1
        near = k >= 0 and away[k] < FAR
        found.append(
            (float(away[k]), (float(spots[a[k], 0]), float(spots[a[k], 1]))) if near else nothing
        )
    return found[0], found[1]


def _spots(cut: Cut) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Spots on the boundary: places, normals, ways, numbers of loops; and every loop's length."""
    import numpy as np

    count = len(cut.segments)
    sizes = np.linalg.norm(cut.segments[:, 1] - cut.segments[:, 0], axis=1)
    order, loop = ordered(cut.segments)
    at = np.zeros(count)
    lengths = np.bincount(loop, weights=sizes, minlength=int(loop.max()) + 1 if count else 1)
    in_turn = sizes[order]
    run = np.cumsum(in_turn) - in_turn
    first = (
        np.concatenate([[0], np.flatnonzero(np.diff(loop[order])) + 1])
        if count
        else np.zeros(0, int)
    )
    base = np.repeat(run[first], np.diff([*first, count])) if count else run
    at[order] = run - base
    parts = np.maximum(np.ceil(sizes / SPOT_MM).astype(int), 1)
    row = np.repeat(np.arange(count), parts)
    share = (np.arange(len(row)) - np.repeat(np.cumsum(parts) - parts, parts) + 0.5) / np.repeat(
        parts, parts
    )
    spots = cut.segments[row, 0] + share[:, None] * (cut.segments[row, 1] - cut.segments[row, 0])
    return spots, cut.normals[row], at[row] + share * sizes[row], loop[row], lengths


def hull(points: np.ndarray) -> np.ndarray:
    """Corners of the convex hull of flat points, anticlockwise; points in line as they are."""
    import numpy as np

    points = _outer(points)
    ordered: np.ndarray = points[np.lexsort((points[:, 1], points[:, 0]))]
    ordered = ordered[
        np.concatenate([[True], (np.abs(np.diff(ordered, axis=0)) > 1e-9).any(axis=1)])
    ]

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


def _outer(points: np.ndarray) -> np.ndarray:
    """Without points well inside the polygon of those furthest out in a few directions."""
    import numpy as np

    if len(points) < 100:
        return points
    angle = 2 * np.pi * (np.arange(24) + 0.37) / 24
    rim = points[(points @ np.stack([np.cos(angle), np.sin(angle)])).argmax(axis=0)]
    way = np.roll(rim, -1, axis=0) - rim
    inside = np.ones(len(points), bool)
    for (x, y), (dx, dy) in zip(rim.tolist(), way.tolist(), strict=True):
        length = (dx * dx + dy * dy) ** 0.5
        if length > 1e-9:
            inside &= dx * (points[:, 1] - y) - dy * (points[:, 0] - x) > 1e-3 * length
    return points[~inside]


def least_width(corners: np.ndarray) -> float:
    """Least width of a convex polygon."""
    import numpy as np

    if len(corners) < 3:
        return 0.0
    way = np.roll(corners, -1, axis=0) - corners
    normal = np.stack([-way[:, 1], way[:, 0]], axis=1) / np.linalg.norm(way, axis=1)[:, None]
    return float(np.ptp(corners @ normal.T, axis=0).min())
