"""Single photons against the field: the same box by chance instead of by view factors.

Outside check: nothing is shared with `fab.light` but the numbers of the scene. Photons leave the
LEDs in the lobe cos^m, run straight to the nearest plane, and are thrown back by Lambert's law or
lost; what meets the sheet is counted by rings. The room is two convex bodies: below the ledge's
edge, and the short shaft from there to the sheet.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
import shapely

from fab.light.field import field
from fab.light.figures import spread_spots
from fab.light.scene import Scene, scene
from fab.outlines.contour import Outline
from fab.outlines.facets import to_shapely
from fab.parts.plan import Plan

PHOTONS, RINGS = 400_000, 6
WALL, FLOOR, SHEET, THROUGH = range(4)
Array = np.ndarray
Planes = tuple[Array, Array, Array]  # normals outwards, distances, what each is


def bodies(s: Scene, normals: Array) -> tuple[Planes, Planes]:
    """Below the ledge's inner edge, and above it."""
    out, rise = s.wall_apothem - s.window_apothem, s.lip_z - s.foot_z
    long = math.hypot(out, rise)
    upright = np.c_[normals, np.zeros(s.sides)]
    slope = np.c_[normals * rise / long, np.full(s.sides, out / long)]
    caps, walls = np.array([(0.0, 0.0, -1.0), (0.0, 0.0, 1.0)]), [WALL] * s.sides
    reach = s.wall_apothem * rise / long + s.foot_z * out / long
    low = (
        np.r_[upright, slope, caps],
        np.r_[[s.wall_apothem] * s.sides, [reach] * s.sides, -s.floor_z, s.lip_z],
        np.array([*walls, *walls, FLOOR, THROUGH]),
    )
    high = (
        np.r_[upright, caps],
        np.r_[[s.window_apothem] * s.sides, -s.lip_z, s.sheet_z],
        np.array([*walls, THROUGH, SHEET]),
    )
    return low, high


def lobe(dice: np.random.Generator, axes: Array, order: float) -> Array:
    """Directions about axes with a density of cos^order."""
    cos, turn = dice.random(len(axes)) ** (1 / (order + 1)), 2 * np.pi * dice.random(len(axes))
    sin = np.sqrt(1 - cos * cos)
    side = np.cross(axes, np.where(np.abs(axes[:, :1]) < 0.9, (1.0, 0.0, 0.0), (0.0, 1.0, 0.0)))
    side /= np.linalg.norm(side, axis=1)[:, None]
    return (
        (sin * np.cos(turn))[:, None] * side
        + (sin * np.sin(turn))[:, None] * np.cross(axes, side)
        + cos[:, None] * axes
    )


def met_the_sheet(s: Scene, normals: Array) -> tuple[Array, Array]:
    """Where photons met the sheet, and how much of each was left; of PHOTONS that all began
    as 1.
    """
    dice = np.random.default_rng(1)
    rooms, board = bodies(s, normals), to_shapely(Outline(s.board.contour()))
    at = np.c_[np.array(s.leds)[dice.integers(0, len(s.leds), PHOTONS)], np.full(PHOTONS, s.led_z)]
    way = lobe(dice, np.tile((0.0, 0.0, 1.0), (PHOTONS, 1)), s.led_order)
    left, room = np.ones(PHOTONS), np.zeros(PHOTONS, dtype=int)
    spots, shares = [], []
    while len(at):
        begun: list[tuple[Array, Array, Array, Array]] = []
        for k, (planes, far, kinds) in enumerate(rooms):
            p, d, w = at[room == k], way[room == k], left[room == k]
            towards = d @ planes.T
            with np.errstate(divide="ignore", invalid="ignore"):
                steps = np.where(
                    towards > 1e-12, np.maximum((far - p @ planes.T) / towards, 1e-9), np.inf
                )
            hit = steps.argmin(axis=1)
            p = p + d * steps[np.arange(len(p)), hit][:, None]
            kind, through = kinds[hit], kinds[hit] == THROUGH
            begun.append(
                (
                    p[through] + d[through] * 1e-9,
                    d[through],
                    w[through],
                    np.full(through.sum(), 1 - k),
                )
            )
            spots.append(p[kind == SHEET, :2])
            shares.append(w[kind == SHEET])
            floor = np.where(
                shapely.contains_xy(board, p[:, 0], p[:, 1]),
                s.board_reflectance,
                s.wall_reflectance,
            )
            w = w * np.select(
                [kind == WALL, kind == SHEET], [s.wall_reflectance, s.sheet_reflectance], floor
            )
            # faint ones: few, and heavier
            lives = ~through & (dice.random(len(w)) < np.where(w < 0.05, 0.3, 1.0))
            inwards = -planes[hit[lives]]
            w = np.where(w < 0.05, w / 0.3, w)[lives]
            begun.append(
                (p[lives] + inwards * 1e-7, lobe(dice, inwards, 1.0), w, np.full(lives.sum(), k))
            )
        at, way, left, room = (np.concatenate([one[j] for one in begun]) for j in range(4))
    return np.concatenate(spots), np.concatenate(shares)


@pytest.mark.slow
@pytest.mark.parametrize(
    "case",
    [
        {},
        {"sides": 4, "across_flats": 90.0},
        {"sides": 3, "across_flats": 150.0, "depth": 45.0},
        {"led": {"count": 1}},
        {"led": {"at": ((20.0, 10.0),)}},
    ],
    ids=str,
)
def test_photons_by_chance_fall_where_the_field_says(
    make: Callable[..., Plan], case: dict[str, Any]
) -> None:
    """Light that leaves, and its mean over each of six rings of the window, within 1 and 2 %
    (chance: 0.5 % a ring).
    """
    # a Lambertian sheet: luminance = light that leaves by pi
    s = scene(make(stock={"half_angle_deg": 60.0}, **case), 0.8)
    angles = 2 * np.pi * np.arange(s.sides) / s.sides
    normals = np.c_[np.cos(angles), np.sin(angles)]
    spots, shares = met_the_sheet(s, normals)
    lumens = s.led_lumen * len(s.leds) * s.sheet_transmission / PHOTONS
    light = field(s, 1000)
    assert float(shares.sum()) * lumens == pytest.approx(light.inside.balance.left, rel=0.01)
    edges = np.linspace(0.0, s.window_apothem, RINGS + 1)
    by_chance = np.histogram((spots @ normals.T).max(axis=1), edges, weights=shares)[0] * lumens
    points, weights = spread_spots(s.sides, s.window_apothem, 20_000)
    rings = (points @ normals.T).max(axis=1)
    mean = (
        np.histogram(rings, edges, weights=light.sharp(points) * weights)[0]
        / np.histogram(rings, edges, weights=weights)[0]
    )
    area = s.sides * math.tan(math.pi / s.sides) * np.diff(edges**2) / 1e6  # m2
    assert np.pi * mean * area == pytest.approx(by_chance, rel=0.02)
