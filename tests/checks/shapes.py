"""Meshes by hand, free of the CAD kernel: upright prisms stacked on each other, welded."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fab.solids.mesh import Mesh

Box = tuple[float, float, float, float, float, float]  # x0 x1 y0 y1 z0 z1


def boxes(*parts: Box) -> Mesh:
    """The union of boxes whose faces lie on shared planes: cells of a grid, their outer
    faces only.
    """
    planes = [sorted({part[2 * axis + k] for part in parts for k in (0, 1)}) for axis in range(3)]
    shape = tuple(len(plane) - 1 for plane in planes)
    full = np.zeros(tuple(n + 2 for n in shape), bool)
    for x0, x1, y0, y1, z0, z1 in parts:
        spans = [
            slice(planes[a].index(lo) + 1, planes[a].index(hi) + 1)
            for a, (lo, hi) in enumerate(((x0, x1), (y0, y1), (z0, z1)))
        ]
        full[tuple(spans)] = True
    corners: list[tuple[float, ...]] = []
    faces: list[tuple[int, int, int]] = []
    for cell in np.argwhere(full):
        for axis in range(3):
            for side in (-1, 1):
                step = [0, 0, 0]
                step[axis] = side
                if full[tuple(cell + step)]:
                    continue
                quad = _quad(planes, cell - 1, axis, side)
                base = len(corners)
                corners += quad
                faces += [(base, base + 1, base + 2), (base, base + 2, base + 3)]
    loose = np.array(corners, float).round(6)
    unique, inverse = np.unique(loose, axis=0, return_inverse=True)
    return Mesh(unique, inverse.reshape(-1)[np.array(faces)].astype(np.int32))


def _quad(
    planes: Sequence[Sequence[float]], cell: np.ndarray, axis: int, side: int
) -> list[tuple[float, ...]]:
    u, v = (axis + 1) % 3, (axis + 2) % 3
    at = planes[axis][cell[axis] + (side > 0)]
    lows, highs = (
        (planes[u][cell[u]], planes[v][cell[v]]),
        (planes[u][cell[u] + 1], planes[v][cell[v] + 1]),
    )
    ring = [(lows[0], lows[1]), (highs[0], lows[1]), (highs[0], highs[1]), (lows[0], highs[1])]
    if side < 0:
        ring.reverse()
    found = []
    for a, b in ring:
        point = [0.0, 0.0, 0.0]
        point[axis], point[u], point[v] = at, a, b
        found.append(tuple(point))
    return found


def prism(ring: Sequence[tuple[float, float]], y0: float, y1: float) -> Mesh:
    """A profile in (x, z), anticlockwise seen from -y, convex, extruded along y."""
    count = len(ring)
    corners = [(x, y0, z) for x, z in ring] + [(x, y1, z) for x, z in ring]
    faces = []
    for k in range(1, count - 1):
        faces += [(0, k, k + 1), (count, count + k + 1, count + k)]
    for k in range(count):
        n = (k + 1) % count
        faces += [(k, k + count, n + count), (k, n + count, n)]
    return Mesh(np.array(corners, float), np.array(faces, np.int32))
