"""The lit face of one panel: figures, a picture's worth of luminance, and a cut through the
middle.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fab.light.field import Field, in_window
from fab.light.figures import Evenness, settled
from fab.light.scene import scene
from fab.parts.plan import Plan

Array = NDArray[np.float64]
STEP_MM = 0.5
CUT_STEPS = 400
MOST_STEPS = 600  # across the face: a large panel gets a coarser grid


@dataclass(frozen=True, eq=False)
class Grid:
    """Luminance at the middles of square cells, cd/m2 at full white.

    Row 0 is the lowest, column 0 the leftmost.
    """

    left: float  # of column 0's cell, panel frame, mm
    low: float
    step: float
    values: Array  # (rows, columns)

    @property
    def columns_x(self) -> Array:
        """x of the middles of the columns, panel frame, mm, left to right."""
        return np.asarray(
            self.left + (np.arange(self.values.shape[1]) + 0.5) * self.step, dtype=np.float64
        )

    @property
    def rows_y(self) -> Array:
        """y of the middles of the rows, panel frame, mm, lowest first."""
        return np.asarray(
            self.low + (np.arange(self.values.shape[0]) + 0.5) * self.step, dtype=np.float64
        )


@dataclass(frozen=True, eq=False)
class FaceProfile:
    """Luminance along the line y = 0, from the edge across from edge 0 to edge 0. cd/m2 at full
    white.
    """

    x: Array
    total: Array
    direct: Array  # straight from the LEDs
    once: Array  # bounced once
    more: Array  # bounced more often


@dataclass(frozen=True, eq=False)
class Face:
    """One panel as it will look from the front."""

    figures: Evenness
    brightness: float  # cap, share of full white; luminance goes with it
    grid: Grid
    cut: FaceProfile

    @property
    def mean_at_cap_cd_m2(self) -> float:
        """Mean luminance at the brightness limit, cd/m2; luminance is linear in brightness."""
        return self.figures.mean_cd_m2 * self.brightness

    @property
    def peak_at_cap_cd_m2(self) -> float:
        """Highest luminance at the brightness limit, cd/m2."""
        return self.figures.peak_cd_m2 * self.brightness


def face(
    plan: Plan, wall_reflectance: float, *, brightness: float = 1.0, step_mm: float | None = None
) -> Face:
    """The lit face of a design.

    `wall_reflectance` is the filament's; `brightness` the cap as a share of full white.

    Raises InputError when the design can't be lit (no LED, LEDs over the diffuser, reflectances
    over 1).
    """
    here = scene(plan, wall_reflectance)
    found, light = settled(here)
    x0, y0, x1, y1 = plan.rings.diffuser.box
    step = step_mm or max(STEP_MM, max(x1 - x0, y1 - y0) / MOST_STEPS)
    return Face(found, brightness, luminance_grid(light, (x0, y0, x1, y1), step), _cut(light))


def luminance_grid(light: Field, box: tuple[float, float, float, float], step: float) -> Grid:
    """Luminance over a box, cells centred on it; outside the window only what spreads there inside
    the sheet.
    """
    x0, y0, x1, y1 = box
    columns, rows = math.ceil((x1 - x0) / step - 1e-9), math.ceil((y1 - y0) / step - 1e-9)
    left, low = (x0 + x1 - columns * step) / 2, (y0 + y1 - rows * step) / 2
    x, y = left + (np.arange(columns) + 0.5) * step, low + (np.arange(rows) + 0.5) * step
    points = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    lit = in_window(light.scene, points)
    values = np.zeros(len(points))
    values[lit] = light.sharp(points[lit])
    return Grid(left, low, step, _blurred(values.reshape(rows, columns), light.scene.spread / step))


def _blurred(values: Array, sigma: float) -> Array:
    """Gaussian blur of `sigma` cells, out to four sigmas; nothing comes from outside the grid."""
    reach = max(1, math.ceil(4 * sigma))
    bell = np.exp(-0.5 * (np.arange(-reach, reach + 1) / max(sigma, 1e-6)) ** 2)
    for _ in range(2):
        padded = np.pad(values, ((reach, reach), (0, 0)))
        rows = len(values)
        values = sum(
            (w * padded[k : k + rows] for k, w in enumerate(bell / bell.sum())),
            np.zeros_like(values),
        ).T
    return values


def _cut(light: Field) -> FaceProfile:
    here = light.scene
    back = (
        here.window_apothem
        if here.sides % 2 == 0
        else here.window_apothem / math.cos(math.pi / here.sides)
    )
    step = (back + here.window_apothem) / CUT_STEPS
    half = (2 * math.ceil(4 * here.spread / step) + 1) * step / 2
    strip = luminance_grid(light, (-back, -half, here.window_apothem, half), step)
    points = np.stack([strip.columns_x, np.zeros(CUT_STEPS)], axis=1)
    once, more = light.bounce(points)
    return FaceProfile(
        strip.columns_x, strip.values[len(strip.values) // 2], light.direct(points), once, more
    )
