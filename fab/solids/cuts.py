"""Cuts through a mesh: where a level plane meets it, as segments and as loops.

Free of the CAD kernel.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fab.solids.mesh import Mesh

if TYPE_CHECKING:
    import numpy as np


@dataclass(frozen=True, eq=False)
class Cut:
    """The cut through a mesh at one height: segments (k, 2, 2) with material on their left, normals
    outwards.
    """

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
    # corner alone on its side
    lone = np.where(over.sum(axis=1) == 1, over.argmax(axis=1), (~over).argmax(axis=1))
    rows = np.arange(len(crossed))
    top, b, c = crossed[rows, lone], crossed[rows, (lone + 1) % 3], crossed[rows, (lone + 2) % 3]
    ends = []
    for other in (b, c):
        share = (z - top[:, 2]) / (other[:, 2] - top[:, 2])
        ends.append(top[:, :2] + share[:, None] * (other[:, :2] - top[:, :2]))
    # corner alone above: outside is on the right of the way from its first side
    segments = np.stack(ends, axis=1)
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
    return np.unique(
        np.concatenate([flat, [mesh.vertices[:, 2].min(), mesh.vertices[:, 2].max()]]).round(4)
    )


def loops_of(cut: Cut) -> list[np.ndarray]:
    """The loops of a cut, each as its corners in running order."""
    import numpy as np

    if len(cut.segments) == 0:
        return []
    order, loop = ordered(cut.segments)
    starts = np.flatnonzero(np.diff(loop[order])) + 1
    return [cut.segments[part, 0] for part in np.split(order, starts)]


def ordered(segments: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Segments in running order, loop by loop, and the number of each one's loop."""
    import numpy as np

    keys = np.round(segments * 1e4).astype(np.int64)
    following = _following(keys)
    if following is None:
        return _walked(keys)
    loop = [-1] * len(segments)
    order: list[int] = []
    number = 0
    for begin in range(len(segments)):
        k = begin
        if loop[k] >= 0:
            continue
        while loop[k] < 0:
            loop[k] = number
            order.append(k)
            k = following[k]
        number += 1
    return np.array(order, int), np.array(loop, int)


def _following(keys: np.ndarray) -> list[int] | None:
    """For each segment the one that begins where it ends; None unless each has exactly one."""
    import numpy as np

    if len(keys) == 0:
        return []
    low = keys.min(axis=(0, 1))
    wide = int(keys[:, :, 0].max()) - int(low[0]) + 1
    flat = (keys[:, :, 0] - low[0]) + (keys[:, :, 1] - low[1]) * wide
    order = np.argsort(flat[:, 0])
    begins, ends = flat[order, 0], flat[:, 1]
    if (begins[1:] == begins[:-1]).any():
        return None
    at = np.searchsorted(begins, ends).clip(max=len(begins) - 1)
    return (
        order[at].tolist() if (begins[at] == ends).all() and len(np.unique(at)) == len(at) else None
    )


def _walked(keys: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The same where loops touch in a corner, or ends were rounded apart."""
    import numpy as np

    following: dict[tuple[int, int], list[int]] = {}
    for k, (x, y) in enumerate(keys[:, 0].tolist()):
        following.setdefault((x, y), []).append(k)
    loop = np.full(len(keys), -1)
    order, number = [], 0
    ends = keys[:, 1].tolist()
    for begin in range(len(keys)):
        k = begin
        while loop[k] < 0:
            loop[k] = number
            order.append(k)
            x, y = ends[k]
            nexts = [n for n in following.get((x, y), ()) if loop[n] < 0]
            if not nexts:  # an end that was rounded the other way
                near = ((x + dx, y + dy) for dx in (-1, 0, 1) for dy in (-1, 0, 1))
                nexts = [n for key in near for n in following.get(key, ()) if loop[n] < 0]
            if not nexts:
                break
            k = nexts[0]
        if order and loop[begin] == number:
            number += 1
    return np.array(order, int), loop


def beside_edge(mesh: Mesh, angle_rad: float) -> Mesh:
    """Turned so that a cut at "height" x is a plane square to the edge's direction; coordinates (t,
    z).
    """
    return _axes(turned(mesh, -angle_rad), (1, 2, 0))


def across_edge(mesh: Mesh, angle_rad: float) -> Mesh:
    """Turned so that a cut at "height" t is an upright plane in that direction, t aside;
    coordinates (z, outwards).
    """
    return _axes(turned(mesh, -angle_rad), (2, 0, 1))


def _axes(mesh: Mesh, order: tuple[int, int, int]) -> Mesh:
    return Mesh(mesh.vertices[:, list(order)], mesh.triangles)


def turned(mesh: Mesh, angle_rad: float) -> Mesh:
    """Turned about z."""
    import numpy as np

    cos, sin = math.cos(angle_rad), math.sin(angle_rad)
    return Mesh(
        mesh.vertices @ np.array([[cos, sin, 0.0], [-sin, cos, 0.0], [0.0, 0.0, 1.0]]),
        mesh.triangles,
    )
