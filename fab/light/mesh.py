"""The inside of a panel cut into flat patches, the same in each of its sectors."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from fab.light.scene import Scene
from fab.light.shade import sector_turns

Array = NDArray[np.float64]
BOARD, WALL, SLOPE, LIP, SHEET, RIB = range(6)
# size of patches beside the rim of the sheet, and of board and sheet, by the mean size
NEAR, FAR = (0.55, 1.4)


@dataclass(frozen=True, eq=False)
class PatchMesh:
    """Patches of all sectors; patch i of sector s has index s * per_sector + i."""

    corners: Array  # (N, 4, 3), anticlockwise seen from inside
    centres: Array  # (N, 3)
    normals: Array  # (N, 3), inwards
    areas: Array  # (N,) mm2
    kinds: NDArray[np.int64]  # (N,)
    reflectances: Array  # (N,)
    per_sector: int


def meshed(scene: Scene, patches: int) -> PatchMesh:
    """The inside cut into about `patches` patches of about one size; never fewer than a face's
    shape needs.
    """
    n, tan = scene.sides, math.tan(math.pi / scene.sides)
    wall, window = scene.wall_apothem, scene.window_apothem
    area = 2 * n * wall * wall * tan + 2 * n * wall * tan * (scene.sheet_z - scene.floor_z)
    size = math.sqrt(area / patches)

    near, far = NEAR * size, FAR * size

    def cuts(low: float, high: float, each: float, least: int) -> list[tuple[float, float]]:
        return list(
            pairwise(np.linspace(low, high, max(least, round((high - low) / each)) + 1).tolist())
        )

    quads: list[Array] = []
    kinds: list[int] = []

    def strip(
        kind: int, inner: tuple[float, float], outer: tuple[float, float], each: float
    ) -> None:
        """Patches of one strip of sector 0 between two lines (a, z), from the second line's low end
        on.
        """
        (a0, z0), (a1, z1) = inner, outer
        many = max(1, round((a0 + a1) * tan / each))
        share = np.linspace(-1, 1, many + 1) * tan
        for t0, t1 in pairwise(share.tolist()):
            quads.append(
                np.array(
                    [(a0, a0 * t0, z0), (a1, a1 * t0, z1), (a1, a1 * t1, z1), (a0, a0 * t1, z0)]
                )
            )
            kinds.append(kind)

    for a0, a1 in cuts(0.0, wall, far, 4):
        strip(BOARD, (a0, scene.floor_z), (a1, scene.floor_z), far)
    split = min(scene.led_z, scene.foot_z)
    if split > scene.floor_z:
        strip(WALL, (wall, scene.floor_z), (wall, split), far)
    if scene.foot_z > split:
        for z0, z1 in cuts(split, scene.foot_z, near, 5):
            strip(WALL, (wall, z0), (wall, z1), near)
    low, high = (wall, scene.foot_z), (window, scene.lip_z)
    half = ((wall + window) / 2, (scene.foot_z + scene.lip_z) / 2)
    strip(SLOPE, low, half, near)
    strip(SLOPE, half, high, near)
    strip(LIP, high, (window, scene.sheet_z), near)
    for a0, a1 in cuts(0.0, window, far, 5):
        strip(SHEET, (a1, scene.sheet_z), (a0, scene.sheet_z), far)
    for quad in _rib_faces(scene):
        quads += _split(quad, size)
        kinds += [RIB] * (len(quads) - len(kinds))

    sector = np.array(quads)
    corners = np.concatenate([sector @ turn for turn in sector_turns(n)])
    vector = np.cross(corners[:, 2] - corners[:, 0], corners[:, 3] - corners[:, 1]) / 2
    areas = np.linalg.norm(vector, axis=1)
    kind = np.tile(np.array(kinds), n)
    centres = _centroids(corners)
    return PatchMesh(
        corners,
        centres,
        vector / areas[:, None],
        areas,
        kind,
        _reflectances(scene, kind, centres),
        len(quads),
    )


def _rib_faces(scene: Scene) -> list[Array]:
    """Underside, front, top and both sides of the rib at edge 0, anticlockwise seen from
    the light.
    """
    if scene.rib is None:
        return []
    low, high = (
        [(a, y, z) for a, z in scene.rib.profile] for y in (-scene.rib.half, scene.rib.half)
    )
    faces = [[low[k], low[k + 1], high[k + 1], high[k]] for k in range(3)]
    faces += [[high[k] for k in range(4)], [low[k] for k in (3, 2, 1, 0)]]
    return [quad for quad in map(np.array, faces) if _area(quad) > 1e-6]


def _area(quad: Array) -> float:
    return float(np.linalg.norm(np.cross(quad[2] - quad[0], quad[3] - quad[1]))) / 2


def _split(quad: Array, size: float) -> list[Array]:
    """A quadrilateral cut into patches of about `size`, at least 2 x 2."""
    u, v = (
        np.linspace(0, 1, max(2, round(float(np.linalg.norm(quad[k] - quad[k - 1])) / size)) + 1)
        for k in (1, 2)
    )
    a = quad[0] + np.outer(u, quad[1] - quad[0])
    b = quad[3] + np.outer(u, quad[2] - quad[3])
    grid = a[:, None] * (1 - v)[None, :, None] + b[:, None] * v[None, :, None]
    return [
        np.array([grid[i, j], grid[i + 1, j], grid[i + 1, j + 1], grid[i, j + 1]])
        for i in range(len(u) - 1)
        for j in range(len(v) - 1)
    ]


def _centroids(corners: Array) -> Array:
    """Centre of gravity of plane quadrilaterals, as two triangles."""
    a, b, c, d = (corners[:, k] for k in range(4))
    one = np.linalg.norm(np.cross(b - a, c - a), axis=1)[:, None]
    two = np.linalg.norm(np.cross(c - a, d - a), axis=1)[:, None]
    return np.asarray(((a + b + c) * one + (a + c + d) * two) / (3 * (one + two)))


def _reflectances(scene: Scene, kinds: NDArray[np.int64], centres: Array) -> Array:
    on_board = np.ones(len(kinds), dtype=bool)
    board, half = scene.board, math.pi / scene.sides
    for k in range(2 * scene.sides):
        far = board.apothem if k % 2 == 0 else board.facet
        on_board &= centres[:, 0] * math.cos(k * half) + centres[:, 1] * math.sin(k * half) <= far
    value = np.full(len(kinds), scene.wall_reflectance)
    value[(kinds == BOARD) & on_board] = scene.board_reflectance
    value[kinds == SHEET] = scene.sheet_reflectance
    return value
