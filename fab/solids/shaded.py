"""Shaded pictures of meshes: parallel light from the upper left, edges drawn, what is hidden left
out.

A depth buffer of points: each triangle is cut into rows, each row into points, and of the points
that fall on one place the nearest stays. Lines are drawn where neighbours on the picture belong to
other parts, to faces that meet at an angle, or lie at another depth. Only numbers are asked, no
graphics card: the same meshes give the same points.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fab.errors import BrokenGeometry
from fab.solids.mesh import Mesh

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

FINER = 2  # a point of the picture is the mean of so many by so many
LIGHT = (-0.45, 0.6, 0.66)  # towards the lamp, in the picture's frame: right, up, to the eye
AMBIENT, DIFFUSE = 0.52, 0.48
CREASE = math.cos(math.radians(28.0))  # a line is drawn between faces that meet at more than this
INK = (38, 44, 52)
DEPTH_STEPS = 1 << 30
FAR = (1 << 31) - 1  # the depth of a point that nothing covers
NUMBER = (1 << 32) - 1  # the half of a point's key that holds a triangle


@dataclass(frozen=True, eq=False)
class ShadedShape:
    """A mesh in place with its colour, and the name under which it is pointed at."""

    mesh: Mesh
    colour: tuple[int, int, int]
    name: str = ""


@dataclass(frozen=True, eq=False)
class Shaded:
    """(rows, columns, 3) points on white; box of the picture plane that they show, mm at scale 1;
    where each name's part is seen: the middle of its visible points, in the picture plane.
    """

    pixels: NDArray[np.uint8]
    box: tuple[float, float, float, float]
    spots: dict[str, tuple[float, float]]


def shaded(
    solids: Sequence[ShadedShape],
    towards: tuple[float, float, float],
    up: tuple[float, float, float] = (0.0, 0.0, 1.0),
    columns: int = 640,
) -> Shaded:
    """The meshes as an eye in direction `towards` sees them, `up` upright on the picture.

    Raises BrokenGeometry when there is nothing to draw.
    """
    import numpy as np

    if not any(len(one.mesh.triangles) for one in solids):
        raise BrokenGeometry("a picture of nothing cannot be drawn")
    frame = _frame(towards, up)
    corners, faces, owner, first = [], [], [], 0
    for number, one in enumerate(solids):
        corners.append(one.mesh.vertices @ frame.T)
        faces.append(one.mesh.triangles + first)
        owner.append(np.full(len(one.mesh.triangles), number))
        first += len(one.mesh.vertices)
    points, triangles, owners = (
        np.concatenate(corners),
        np.concatenate(faces),
        np.concatenate(owner),
    )
    low, high = points.min(axis=0), points.max(axis=0)
    edge = 0.01 * float((high - low)[:2].max())
    x0, y0, x1, y1 = low[0] - edge, low[1] - edge, high[0] + edge, high[1] + edge
    per_mm = columns * FINER / (x1 - x0)
    rows = max(round((y1 - y0) * per_mm / FINER), 1)
    size = (rows * FINER, columns * FINER)
    a, b, c = (points[triangles[:, k]] for k in range(3))
    normal = np.cross(b - a, c - a)
    length = np.linalg.norm(normal, axis=1)
    seen = (normal[:, 2] > 1e-9 * length) & (length > 0)  # faces that look to the eye
    normal = normal / np.where(length > 0, length, 1.0)[:, None]
    index = np.flatnonzero(seen)
    flat = np.stack([a, b, c], axis=1)[index]
    flat[:, :, 0] = (flat[:, :, 0] - x0) * per_mm
    flat[:, :, 1] = (y1 - flat[:, :, 1]) * per_mm
    span = max(float(high[2] - low[2]), 1e-9)
    flat[:, :, 2] = (float(high[2]) - flat[:, :, 2]) / span  # 0 at the eye, 1 farthest
    nearest = _nearest(flat, size)
    face = np.append(index, len(triangles))[nearest & NUMBER]  # one past the last: nothing
    lamp = np.array(LIGHT) / np.linalg.norm(LIGHT)
    bright = AMBIENT + DIFFUSE * np.clip(normal @ lamp, 0.0, 1.0)
    colours = np.array([one.colour for one in solids], dtype=float)[owners] * bright[:, None]
    table = np.concatenate([np.round(colours), [[255.0, 255.0, 255.0]]]).astype(np.uint8)
    picture = table[face]
    owners, normal = np.append(owners, -1), np.append(normal, np.zeros((1, 3)), axis=0)
    picture.reshape(-1, 3)[
        _edges(face, nearest, owners, normal, 6.0 * DEPTH_STEPS / (span * per_mm))
    ] = INK
    fine = picture.reshape(rows, FINER, columns, FINER, 3).astype(np.uint16)
    small = sum(
        (fine[:, i, :, j] for i in range(FINER) for j in range(FINER)), fine[:, 0, :, 0] * 0
    )
    spots: dict[str, tuple[float, float]] = {}
    part = owners.astype(np.int16)[face]
    for number, one in enumerate(solids):
        if not one.name or one.name in spots:
            continue
        found = np.argwhere(part == number)
        if len(found):
            at = found[np.argmin(((found - found.mean(axis=0)) ** 2).sum(axis=1))]
            spots[one.name] = (float(x0 + at[1] / per_mm), float(y1 - at[0] / per_mm))
    return Shaded(
        np.round(small / FINER**2).astype(np.uint8),
        (float(x0), float(y1 - rows * FINER / per_mm), float(x1), float(y1)),
        spots,
    )


def _frame(towards: Sequence[float], up: Sequence[float]) -> np.ndarray:
    """Rows: right, up and towards the eye of the picture, in the parts' frame."""
    import numpy as np

    eye = np.array(towards, dtype=float) / np.linalg.norm(towards)
    right = np.cross(np.array(up, dtype=float), eye)
    right /= np.linalg.norm(right)
    return np.stack([right, np.cross(eye, right), eye])


def _nearest(flat: np.ndarray, size: tuple[int, int]) -> np.ndarray:
    """Per point of the picture the depth (upper half) and the number (lower half) of the nearest
    triangle; FAR and one past the last triangle where there is none.

    `flat`: (m, 3, 3) corners as column, row, depth. A point belongs to a triangle when its middle
    does.
    """
    import numpy as np

    y = flat[:, :, 1]
    top, end = (np.ceil(edge - 0.5).astype(np.int64) for edge in (y.min(axis=1), y.max(axis=1)))
    many, row = _runs(np.clip(top, 0, size[0]), np.clip(end, 0, size[0]))
    middle = row + 0.5
    low, high = np.full(len(row), np.inf), np.full(len(row), -np.inf)
    for k in range(3):
        p, q = flat[:, k, :2], flat[:, (k + 1) % 3, :2]
        rise = q[:, 1] - p[:, 1]
        slope = (q[:, 0] - p[:, 0]) / np.where(rise == 0.0, 1.0, rise)
        # an edge along the rows meets no middle
        least = np.where(rise == 0.0, np.inf, np.minimum(p[:, 1], q[:, 1]))
        most = np.maximum(p[:, 1], q[:, 1])
        crosses = (np.repeat(least, many) <= middle) & (np.repeat(most, many) >= middle)
        at = np.repeat(p[:, 0] - p[:, 1] * slope, many) + middle * np.repeat(slope, many)
        np.minimum(low, at, out=low, where=crosses)
        np.maximum(high, at, out=high, where=crosses)
    met = np.flatnonzero(low <= high)
    which, row = np.repeat(np.arange(len(flat)), many)[met], row[met]
    left, right = (np.clip(np.ceil(x[met] - 0.5), 0, size[1]).astype(np.int64) for x in (low, high))
    a, b, c = flat[:, 0], flat[:, 1], flat[:, 2]
    ab, ac = b - a, c - a
    across = ab[:, 0] * ac[:, 1] - ac[:, 0] * ab[:, 1]
    across = np.where(across == 0.0, 1.0, across)
    per_column = (ab[:, 2] * ac[:, 1] - ac[:, 2] * ab[:, 1]) / across
    per_row = (ac[:, 2] * ab[:, 0] - ab[:, 2] * ac[:, 0]) / across
    at_zero = a[:, 2] + (0.5 - a[:, 0]) * per_column + (0.5 - a[:, 1]) * per_row
    many, column = _runs(left, right)
    depth = np.repeat(at_zero[which] + row * per_row[which], many)
    depth += column * np.repeat(per_column[which], many)
    key = (np.clip(depth, 0.0, 1.0) * DEPTH_STEPS).astype(np.int64) << 32 | np.repeat(which, many)
    nearest = np.full(size[0] * size[1], FAR << 32 | len(flat))
    np.minimum.at(nearest, np.repeat(row * size[1], many) + column, key)
    return nearest.reshape(size)


def _runs(start: np.ndarray, end: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Number of whole numbers from `start` up to `end` of each pair; and all of them."""
    import numpy as np

    count = np.maximum(end - start, 0)
    before = np.cumsum(count) - count
    return count, np.arange(int(count.sum())) + np.repeat(start - before, count)


def _edges(
    face: np.ndarray, nearest: np.ndarray, owners: np.ndarray, normal: np.ndarray, step: float
) -> np.ndarray:
    """Places of drawn lines: the nearer of two neighbours that are not of one smooth face, or lie
    more than `step` apart in depth where the face looks straight to the eye.
    """
    import numpy as np

    drawn, own, keys = [], face.ravel(), nearest.ravel()
    for aside in (1, face.shape[1]):
        a = np.flatnonzero(own[:-aside] != own[aside:])
        if aside == 1:
            a = a[(a + 1) % face.shape[1] != 0]
        b = a + aside
        one, other, apart = own[a], own[b], (keys[b] >> 32) - (keys[a] >> 32)
        turned = np.einsum("ij,ij->i", normal[one], normal[other]) < CREASE
        slant = np.maximum(np.abs(normal[one, 2]), 0.05)
        line = (owners[one] != owners[other]) | turned | (np.abs(apart) * slant > step)
        drawn.append(np.where(apart >= 0, a, b)[line])
    return np.concatenate(drawn)
