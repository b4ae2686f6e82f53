"""Form factors: the light that patches and points send each other, and that LEDs send them
straight.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from fab.light.mesh import SHEET, SLOPE, WALL, PatchMesh
from fab.light.scene import Scene
from fab.light.shade import clear, sector_turns

Array = NDArray[np.float64]
CHUNK = 20_000  # pairs of point and patch worked on at once: stays inside the cache
# three points, exact to order 5
GAUSS = ((-math.sqrt(0.6), 5 / 18), (0.0, 8 / 18), (math.sqrt(0.6), 5 / 18))


def contour_factor(points: Array, normals: Array, corners: Array) -> Array:
    """Form factors from points to plane quadrilaterals, (P, N): the share of a point's view that
    each one fills.

    Lambert's contour sum, F = 1 / (2 pi) sum Theta_k Gamma_k . n over the edges (J. H. Lambert,
    Photometria, 1760). `corners` (N, 4, 3) run anticlockwise as seen from the lit side. A patch
    seen from behind, or whose middle lies under the point's horizon, counts as 0; of one that
    straddles the horizon the part below counts against the rest.
    """
    found = np.empty((len(points), len(corners)))
    middles = corners.mean(axis=1)
    faces = np.cross(corners[:, 2] - corners[:, 0], corners[:, 3] - corners[:, 1])
    step = max(1, CHUNK // len(corners))
    for begin in range(0, len(points), step):
        p, n = points[begin : begin + step, None, :], normals[begin : begin + step, None, :]
        rays = [[corners[None, :, k, c] - p[:, :, c] for c in range(3)] for k in range(4)]
        total = np.zeros(rays[0][0].shape)
        for k in range(4):
            (ux, uy, uz), (vx, vy, vz) = rays[k], rays[(k + 1) % 4]
            cx, cy, cz = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
            sine = np.sqrt(cx * cx + cy * cy + cz * cz)
            # arctan2, since arccos loses the angle of edges seen almost end on
            angle = np.arctan2(sine, ux * vx + uy * vy + uz * vz)
            along = cx * n[:, :, 0] + cy * n[:, :, 1] + cz * n[:, :, 2]
            # a point in line with an edge: sine and along are both 0, and so is its share
            total -= angle * along / np.maximum(sine, 1e-12)
        ray = [middles[None, :, c] - p[:, :, c] for c in range(3)]
        over = ray[0] * n[:, :, 0] + ray[1] * n[:, :, 1] + ray[2] * n[:, :, 2] > 0
        lit = ray[0] * faces[:, 0] + ray[1] * faces[:, 1] + ray[2] * faces[:, 2] < 0
        found[begin : begin + step] = np.where(over & lit, total, 0.0)
    return np.maximum(found / (2 * math.pi), 0.0)


def form_factors(scene: Scene, mesh: PatchMesh) -> Array:
    """(N, N): row i holds what patch i's centre sees of every patch."""
    m, n = mesh.per_sector, scene.sides
    first = contour_factor(mesh.centres[:m], mesh.normals[:m], mesh.corners)
    here, there = mesh.centres[:m][:, None, :], mesh.centres[None, :, :]
    if scene.rib:
        first *= clear(scene, here, there)
    else:  # the lip only hides the sheet, and only from what is under the ledge
        sheet, outer = (
            np.flatnonzero(mesh.kinds == SHEET),
            np.flatnonzero(np.isin(mesh.kinds, (WALL, SLOPE))),
        )
        one, two = np.ix_(sheet[sheet < m], outer), np.ix_(outer[outer < m], sheet)
        first[one] *= clear(scene, there[:, one[1][0]], here[one[0][:, 0]])
        first[two] *= clear(scene, here[two[0][:, 0]], there[:, two[1][0]])
    # the other sectors see the same, turned: columns move on by a sector
    blocks = first.reshape(m, n, m)
    full = np.empty((n, m, n, m))
    for s in range(n):
        full[s] = np.roll(blocks, s, axis=1)
    return full.reshape(n * m, n * m)


def direct_on_patches(scene: Scene, mesh: PatchMesh) -> Array:
    """(N,) mean irradiance of every patch straight from the LEDs, lm/mm2: nine Gauss points a
    patch.
    """
    leds = np.array([(x, y, scene.led_z) for x, y in scene.leds])
    front = np.flatnonzero(mesh.centres[:, 2] > scene.led_z)
    alike = _same_when_turned(scene, leds)  # then one sector stands for all
    if alike:
        front = front[front < mesh.per_sector]
    a, b, c, d = (mesh.corners[front, k] for k in range(4))
    shaded = scene.rib is not None or _under_ledge(scene, leds)
    light, weights = np.zeros(len(front)), np.zeros(len(front))
    for gu, wu in GAUSS:
        for gv, wv in GAUSS:
            u, v = (1 + gu) / 2, (1 + gv) / 2
            points = (a * (1 - u) + b * u) * (1 - v) + (d * (1 - u) + c * u) * v
            across, up = (b - a) * (1 - v) + (c - d) * v, (d - a) * (1 - u) + (c - b) * u
            weight = wu * wv * np.linalg.norm(np.cross(across, up), axis=1)
            each = _lobe(scene, leds, points, mesh.normals[front])
            if shaded:
                each *= clear(scene, leds[None, :, :], points[:, None, :])
            light += weight * each.sum(axis=1)
            weights += weight
    found = np.zeros(len(mesh.kinds))
    found[front] = light / weights
    return np.tile(found[: mesh.per_sector], scene.sides) if alike else found


def _same_when_turned(scene: Scene, leds: Array) -> bool:
    """True when LEDs come to lie on LEDs, turned by one sector."""
    turned = leds @ sector_turns(scene.sides)[1]
    return bool((np.abs(turned[:, None] - leds).max(axis=2).min(axis=1) < 1e-6).all())


def _lobe(scene: Scene, leds: Array, points: Array, normals: Array) -> Array:
    """(P, L) irradiance of points by each LED: I0 cos^m / r^2 times the cosine at the face."""
    m = scene.led_order
    ray = points[:, None, :] - leds[None, :, :]
    squared = np.einsum("plc,plc->pl", ray, ray)
    up = np.maximum(ray[:, :, 2], 0.0)
    onto = np.maximum(-np.einsum("plc,pc->pl", ray, normals), 0.0)
    axial = scene.led_lumen * (m + 1) / (2 * math.pi)
    return np.asarray(axial * up**m * onto / squared ** ((m + 3) / 2))


def _under_ledge(scene: Scene, leds: Array) -> bool:
    return any(
        bool(((leds @ turn.T)[:, 0] > scene.window_apothem).any())
        for turn in sector_turns(scene.sides)
    )
