"""Luminance of the face, seen straight on, at any points: LEDs directly, the bounces, and the sheet
as a filter.

The sheet passes the share T of what falls on its back and scatters it. Its lobe, measured with
light that comes in straight, is cos^p; by reciprocity light that comes in at the angle t from the
normal reaches an eye in front with

    L = T / pi * E * g(t),   g(t) = (p + 1) / 2 * cos(t)^(p - 1)

which is the Lambertian T E / pi for p = 1 (a half-intensity angle of 60 degrees). The narrower the
lobe, the more an eye sees of what lies straight behind the sheet: dots. Approximations: T does not
depend on the angle; the sheet is the same everywhere; light spreads sideways inside the sheet as a
Gaussian (Scene.spread).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from fab.light.cavity import KEPT_PATCHES, Bounced, bounced, unlit
from fab.light.factors import contour_factor
from fab.light.mesh import BOARD, LIP, RIB, SLOPE, WALL, PatchMesh
from fab.light.scene import Scene
from fab.light.shade import clear

Array = NDArray[np.float64]
MM2_PER_M2 = 1e6
CHUNK = 250_000  # pairs of LED and point worked on at once: stays inside the cache


@dataclass(frozen=True, eq=False)
class Field:
    """The light on one scene's sheet, ready to be asked at points."""

    scene: Scene
    inside: Bounced
    nodes: tuple[Array, Array]  # a, and t / (a tan), at which a sector's bounced light is known
    first: Array  # (sectors, a, t) luminance by light bounced once
    later: Array  # the same, bounced more often

    def direct(self, points: Array) -> Array:
        """(P,) luminance in cd/m2 at full white from the LEDs alone; points (P, 2) inside the
        window.
        """
        return direct_luminance(self.scene, points)

    def bounce(self, points: Array) -> tuple[Array, Array]:
        """(P,), (P,): luminance by light bounced once, and more often; bilinear between the
        nodes.
        """
        sides = self.scene.sides
        tan = math.tan(math.pi / sides)
        sector = (
            np.round(np.arctan2(points[:, 1], points[:, 0]) * sides / (2 * math.pi)).astype(int)
            % sides
        )
        angle = 2 * math.pi / sides * sector
        a = points[:, 0] * np.cos(angle) + points[:, 1] * np.sin(angle)
        t = points[:, 1] * np.cos(angle) - points[:, 0] * np.sin(angle)
        i, u = _between(self.nodes[0], a)
        j, v = _between(self.nodes[1], t / np.maximum(a * tan, 1e-9))

        def bilinear(values: Array) -> Array:
            low = values[sector, i, j] * (1 - v) + values[sector, i, j + 1] * v
            high = values[sector, i + 1, j] * (1 - v) + values[sector, i + 1, j + 1] * v
            return np.asarray(low * (1 - u) + high * u)

        return bilinear(self.first), bilinear(self.later)

    def sharp(self, points: Array) -> Array:
        """(P,) luminance before the light spreads inside the sheet."""
        once, more = self.bounce(points)
        return self.direct(points) + once + more

    def luminance(self, points: Array) -> Array:
        """(P,) luminance in cd/m2 at full white, spread inside the sheet; points (P, 2) in the
        panel frame.

        The Gaussian is summed at seven points (exact to order 5); nothing comes from outside the
        window.
        """
        angles = np.arange(6) * math.pi / 3
        ring = 2 * self.scene.spread * np.stack([np.cos(angles), np.sin(angles)], axis=1)
        stencil = np.concatenate([np.zeros((1, 2)), ring])
        spots = (points[:, None, :] + stencil[None, :, :]).reshape(-1, 2)
        lit = in_window(self.scene, spots)
        values = np.zeros(len(spots))
        values[lit] = self.sharp(spots[lit])
        return np.asarray(values.reshape(-1, 7) @ np.array([1 / 2] + [1 / 12] * 6))


def field(scene: Scene, patches: int = 500) -> Field:
    """The field of a scene, its bounces worked out with about `patches` patches."""
    inside = bounced(scene, patches)
    kept = patches <= KEPT_PATCHES
    (a, along), kernel = _known(unlit(scene), inside.mesh) if kept else _nodes(scene, inside.mesh)
    n, m = scene.sides, inside.mesh.per_sector

    def values(exitance: Array) -> Array:
        sectors = exitance.reshape(n, m)
        turned = np.stack([np.roll(sectors, -s, axis=0).ravel() for s in range(n)], axis=1)
        return np.moveaxis((kernel @ turned).reshape(len(a), len(along), n), 2, 0)

    return Field(
        scene, inside, (a, along), values(inside.first), values(inside.second + inside.rest)
    )


def _nodes(scene: Scene, mesh: PatchMesh) -> tuple[tuple[Array, Array], Array]:
    """Nodes over a sector of the window, outwards and along, and the kernel from patch to node."""
    tan = math.tan(math.pi / scene.sides)
    size = math.sqrt(float(mesh.areas.mean()))
    outer = scene.window_apothem
    radial = max(16, round(2 * outer / size))
    many = max(5, 2 * round(outer * tan / size) + 1)
    a = outer * (1 - (1 - np.linspace(0, 1, radial)) ** 2)  # closer together towards the rim
    along = np.linspace(-1, 1, many)
    points = np.stack(
        [
            np.repeat(a, many),
            np.outer(a, along * tan).ravel(),
            np.full(radial * many, scene.sheet_z),
        ],
        axis=1,
    )
    return (a, along), _kernel(scene, mesh, points)


_known = lru_cache(maxsize=16)(_nodes)


def _between(nodes: Array, x: Array) -> tuple[NDArray[np.int64], Array]:
    """Index of the node below each x, and the share of the way to the next; held at the ends."""
    k = np.clip(np.searchsorted(nodes, x) - 1, 0, len(nodes) - 2)
    return k, np.clip((x - nodes[k]) / (nodes[k + 1] - nodes[k]), 0.0, 1.0)


def gain(order: float, cosine: Array) -> Array:
    """g(t): how much brighter than Lambert's the sheet looks from in front for light coming in at
    cos t.
    """
    return np.asarray((order + 1) / 2 * cosine ** (order - 1))


def in_window(scene: Scene, points: Array, inset_mm: float = 0.0) -> NDArray[np.bool_]:
    """True, per point (P, 2), for points inside the lit window."""
    far = scene.window_apothem - inset_mm
    inside = np.ones(len(points), dtype=bool)
    for k in range(scene.sides):
        angle = 2 * math.pi * k / scene.sides
        inside &= points[:, 0] * math.cos(angle) + points[:, 1] * math.sin(angle) <= far + 1e-9
    return inside


def _kernel(scene: Scene, mesh: PatchMesh, points: Array) -> Array:
    """(P, N) luminance in cd/m2 at points of the sheet per lm/mm2 sent on by each patch."""
    down = np.tile(np.array((0.0, 0.0, -1.0)), (len(points), 1))
    factor = contour_factor(points, down, mesh.corners)
    ray = mesh.centres[None, :, :] - points[:, None, :]
    cosine = -ray[:, :, 2] / np.maximum(np.sqrt(np.einsum("pnc,pnc->pn", ray, ray)), 1e-9)
    factor *= gain(scene.sheet_order, np.maximum(cosine, 1e-9))
    hideable = (BOARD, WALL, SLOPE, LIP, RIB) if scene.rib else (WALL, SLOPE)
    outer = np.flatnonzero(np.isin(mesh.kinds, hideable))
    factor[:, outer] *= clear(scene, mesh.centres[outer][None, :, :], points[:, None, :])
    return np.asarray(factor * (scene.sheet_transmission / math.pi * MM2_PER_M2))


def direct_luminance(scene: Scene, points: Array) -> Array:
    """Sum over LEDs of T / pi E g: the LED's lobe, distance, cosine at the sheet and the sheet's
    gain in one power.
    """
    leds = np.array(scene.leds)
    h, m, p = scene.throw, scene.led_order, scene.sheet_order
    axial = scene.led_lumen * (m + 1) / (2 * math.pi) / h**2  # lm/mm2 straight over an LED
    scale = scene.sheet_transmission / math.pi * MM2_PER_M2 * axial * (p + 1) / 2
    power = -(m + p + 2) / 2
    shaded = scene.rib is not None or not bool(in_window(scene, leds).all())
    step = max(1, CHUNK // len(leds))
    light = np.empty(len(points))
    for begin in range(0, len(points), step):
        part = points[begin : begin + step]
        x = part[:, :1] - leds[None, :, 0]
        y = part[:, 1:] - leds[None, :, 1]
        each = (1 + (x * x + y * y) / h**2) ** power
        if shaded:
            each *= _seen(scene, leds, part)
        light[begin : begin + step] = each.sum(axis=1)
    return light * scale


def _seen(scene: Scene, leds: Array, points: Array) -> Array:
    sources = np.concatenate([leds, np.full((len(leds), 1), scene.led_z)], axis=1)
    targets = np.concatenate([points, np.full((len(points), 1), scene.sheet_z)], axis=1)
    return clear(scene, sources[None, :, :], targets[:, None, :]).astype(float)
