"""The inside of a panel as patches, and the light that goes round in it.

Every face is cut into flat patches, the same in each of the n sectors of the panel, so one sector's form factors
serve for all. The factor from a point to a patch is Lambert's exact contour sum, so what a point sees of a closed
box adds up to 1 whatever the mesh; that energy is kept is then a test of the mesh, not of a correction.

Approximations: all faces scatter evenly in all directions; a patch has one brightness; whether two patches see each
other past a rib or the lip is asked at their centres; bodies of LEDs, switches and screws are not there.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fab.light.scene import Scene
from fab.light.shade import clear, sector_turns

Array = NDArray[np.float64]
BOARD, WALL, SLOPE, LIP, SHEET, RIB = range(6)
LEAST_UNSHOT = 1e-5  # bounces are summed until this share of the light is left
NEAR, FAR = 0.55, 1.4  # size of patches beside the rim of the sheet, and of board and sheet, by the mean size
CHUNK = 20_000  # pairs of point and patch worked on at once: stays inside the cache
GAUSS = ((-math.sqrt(0.6), 5 / 18), (0.0, 8 / 18), (math.sqrt(0.6), 5 / 18))  # three points, exact to order 5


@dataclass(frozen=True, eq=False)
class Mesh:
    """Patches of all sectors; patch i of sector s has index s * per_sector + i."""

    corners: Array  # (N, 4, 3), anticlockwise seen from inside
    centres: Array  # (N, 3)
    normals: Array  # (N, 3), inwards
    areas: Array  # (N,) mm2
    kinds: NDArray[np.int64]  # (N,)
    reflectances: Array  # (N,)
    per_sector: int


@dataclass(frozen=True)
class Balance:
    """Where the light of all LEDs at full white goes, lm."""

    emitted: float
    left: float  # through the sheet
    board: float  # absorbed by the board
    walls: float  # absorbed by walls, ledge and ribs
    sheet: float  # absorbed by the sheet

    @property
    def error(self) -> float:
        """Share of the light that the reckoning lost or made."""
        return (self.left + self.board + self.walls + self.sheet) / self.emitted - 1


@dataclass(frozen=True, eq=False)
class Bounced:
    """The solved light inside: what every patch sends on (lm/mm2), bounce by bounce."""

    mesh: Mesh
    first: Array  # (N,) exitance after one reflection
    second: Array  # (N,) after two
    rest: Array  # (N,) after more
    balance: Balance

    @property
    def all(self) -> Array:
        return self.first + self.second + self.rest


def bounced(scene: Scene, patches: int) -> Bounced:
    """Light that board, walls, ledge and sheet throw round, with about `patches` patches."""
    mesh = meshed(scene, patches)
    factors = form_factors(scene, mesh)
    direct = direct_on_patches(scene, mesh)
    waves = [mesh.reflectances * direct]
    received = direct.copy()
    emitted = scene.led_lumen * len(scene.leds)
    while float(waves[-1] @ mesh.areas) > LEAST_UNSHOT * emitted and len(waves) < 500:
        arriving = factors @ waves[-1]
        received += arriving
        waves.append(mesh.reflectances * arriving)
    none = np.zeros_like(direct)
    absorbed = received * (1 - mesh.reflectances) * mesh.areas
    on_sheet = float(received[mesh.kinds == SHEET] @ mesh.areas[mesh.kinds == SHEET])
    left = on_sheet * scene.sheet_transmission
    balance = Balance(
        emitted=emitted,
        left=left,
        board=float(absorbed[mesh.kinds == BOARD].sum()),
        walls=float(absorbed[(mesh.kinds != BOARD) & (mesh.kinds != SHEET)].sum()),
        sheet=float(absorbed[mesh.kinds == SHEET].sum()) - left,
    )
    second = waves[1] if len(waves) > 1 else none
    return Bounced(mesh, waves[0], second, sum(waves[2:], none), balance)


# -- patches ---------------------------------------------------------------------------------------------------


def meshed(scene: Scene, patches: int) -> Mesh:
    """The inside cut into about `patches` patches of about one size; never fewer than a face's shape needs."""
    n, tan = scene.sides, math.tan(math.pi / scene.sides)
    wall, window = scene.wall_apothem, scene.window_apothem
    area = 2 * n * wall * wall * tan + 2 * n * wall * tan * (scene.sheet_z - scene.floor_z)
    size = math.sqrt(area / patches)

    near, far = NEAR * size, FAR * size

    def cuts(low: float, high: float, each: float, least: int) -> Array:
        return np.linspace(low, high, max(least, round((high - low) / each)) + 1)

    quads: list[Array] = []
    kinds: list[int] = []

    def strip(kind: int, inner: tuple[float, float], outer: tuple[float, float], each: float) -> None:
        """Patches of one strip of sector 0 between two lines (a, z), from the second line's low end on."""
        (a0, z0), (a1, z1) = inner, outer
        many = max(1, round((a0 + a1) * tan / each))
        share = np.linspace(-1, 1, many + 1) * tan
        for t0, t1 in zip(share[:-1], share[1:], strict=True):
            quads.append(np.array([(a0, a0 * t0, z0), (a1, a1 * t0, z1), (a1, a1 * t1, z1), (a0, a0 * t1, z0)]))
            kinds.append(kind)

    for a0, a1 in _pairs(cuts(0.0, wall, far, 4)):
        strip(BOARD, (a0, scene.floor_z), (a1, scene.floor_z), far)
    split = min(scene.led_z, scene.foot_z)
    if split > scene.floor_z:
        strip(WALL, (wall, scene.floor_z), (wall, split), far)
    if scene.foot_z > split:
        for z0, z1 in _pairs(cuts(split, scene.foot_z, near, 5)):
            strip(WALL, (wall, z0), (wall, z1), near)
    low, high = (wall, scene.foot_z), (window, scene.lip_z)
    half = ((wall + window) / 2, (scene.foot_z + scene.lip_z) / 2)
    strip(SLOPE, low, half, near)
    strip(SLOPE, half, high, near)
    strip(LIP, high, (window, scene.sheet_z), near)
    for a0, a1 in _pairs(cuts(0.0, window, far, 5)):
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
    return Mesh(corners, centres, vector / areas[:, None], areas, kind, _reflectances(scene, kind, centres), len(quads))


def _rib_faces(scene: Scene) -> list[Array]:
    """Underside, front, top and both sides of the rib at edge 0, anticlockwise seen from the light."""
    if scene.rib is None:
        return []
    low, high = ([(a, y, z) for a, z in scene.rib.profile] for y in (-scene.rib.half, scene.rib.half))
    faces = [[low[k], low[k + 1], high[k + 1], high[k]] for k in range(3)]
    faces += [[high[k] for k in range(4)], [low[k] for k in (3, 2, 1, 0)]]
    return [quad for quad in map(np.array, faces) if _area(quad) > 1e-6]


def _area(quad: Array) -> float:
    return float(np.linalg.norm(np.cross(quad[2] - quad[0], quad[3] - quad[1]))) / 2


def _split(quad: Array, size: float) -> list[Array]:
    """A quadrilateral cut into patches of about `size`, at least 2 x 2."""
    u, v = (
        np.linspace(0, 1, max(2, round(float(np.linalg.norm(quad[k] - quad[k - 1])) / size)) + 1) for k in (1, 2)
    )
    a = quad[0] + np.outer(u, quad[1] - quad[0])
    b = quad[3] + np.outer(u, quad[2] - quad[3])
    grid = a[:, None] * (1 - v)[None, :, None] + b[:, None] * v[None, :, None]
    return [
        np.array([grid[i, j], grid[i + 1, j], grid[i + 1, j + 1], grid[i, j + 1]])
        for i in range(len(u) - 1)
        for j in range(len(v) - 1)
    ]


def _pairs(values: Array) -> list[tuple[float, float]]:
    return list(zip(values[:-1].tolist(), values[1:].tolist(), strict=True))


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


# -- form factors ------------------------------------------------------------------------------------------------


def contour_factor(points: Array, normals: Array, corners: Array) -> Array:
    """Form factors from points to plane quadrilaterals, (P, N): the share of a point's view that each one fills.

    Lambert's contour sum, F = 1 / (2 pi) sum Theta_k Gamma_k . n over the edges (J. H. Lambert, Photometria, 1760).
    `corners` (N, 4, 3) run anticlockwise as seen from the lit side. A patch seen from behind, or whose middle lies
    under the point's horizon, counts as 0; of one that straddles the horizon the part below counts against the rest.
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
            angle = np.arctan2(sine, ux * vx + uy * vy + uz * vz)
            along = cx * n[:, :, 0] + cy * n[:, :, 1] + cz * n[:, :, 2]
            total -= angle * along / np.maximum(sine, 1e-12)
        ray = [middles[None, :, c] - p[:, :, c] for c in range(3)]
        over = ray[0] * n[:, :, 0] + ray[1] * n[:, :, 1] + ray[2] * n[:, :, 2] > 0
        lit = ray[0] * faces[:, 0] + ray[1] * faces[:, 1] + ray[2] * faces[:, 2] < 0
        found[begin : begin + step] = np.where(over & lit, total, 0.0)
    return np.maximum(found / (2 * math.pi), 0.0)


def form_factors(scene: Scene, mesh: Mesh) -> Array:
    """(N, N): row i holds what patch i's centre sees of every patch."""
    m, n = mesh.per_sector, scene.sides
    first = contour_factor(mesh.centres[:m], mesh.normals[:m], mesh.corners)
    here, there = mesh.centres[:m][:, None, :], mesh.centres[None, :, :]
    if scene.rib:
        first *= clear(scene, here, there)
    else:  # the lip only hides the sheet, and only from what is under the ledge
        sheet, outer = np.flatnonzero(mesh.kinds == SHEET), np.flatnonzero(np.isin(mesh.kinds, (WALL, SLOPE)))
        one, two = np.ix_(sheet[sheet < m], outer), np.ix_(outer[outer < m], sheet)
        first[one] *= clear(scene, there[:, one[1][0]], here[one[0][:, 0]])
        first[two] *= clear(scene, here[two[0][:, 0]], there[:, two[1][0]])
    blocks = first.reshape(m, n, m)
    full = np.empty((n, m, n, m))
    for s in range(n):
        full[s] = np.roll(blocks, s, axis=1)
    return full.reshape(n * m, n * m)


# -- light straight from the LEDs --------------------------------------------------------------------------------


def direct_on_patches(scene: Scene, mesh: Mesh) -> Array:
    """(N,) mean irradiance of every patch straight from the LEDs, lm/mm2: nine Gauss points a patch."""
    leds = np.array([(x, y, scene.led_z) for x, y in scene.leds])
    front = np.flatnonzero(mesh.centres[:, 2] > scene.led_z)
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
    return found


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
    return any(bool(((leds @ turn.T)[:, 0] > scene.window_apothem).any()) for turn in sector_turns(scene.sides))
