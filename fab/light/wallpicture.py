"""The whole wall lit, as an eye sees it from three metres.

A simulation, front view, all panels at one exposure.

An eye with normal sight just tells lines one minute of arc apart (the gap of the Landolt ring of
acuity 1.0, ISO 8596): 0.87 mm at three metres. So the picture has one point for each minute of arc,
and a point is the mean of the light in it: what is finer can't be seen from there. A large wall
gets coarser points, and the caption says so.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fab.files.png import png
from fab.layout.model import Layout, PlacedPanel
from fab.light.face import Face
from fab.light.pictures import GAMMA, SAYS, SHELL_GREY, as_bytes, in_polygon
from fab.light.png import Png, stamp_height, stamped
from fab.parts.plan import Plan
from fab.units import fixed, some

Array = NDArray[np.float64]
MOST_POINTS = 1_500_000
FROM_MM = 3000.0
POINT_MM = FROM_MM * math.tan(math.radians(1 / 60))
FINER = 2  # a point is the mean of so many by so many
PAGE_MM = 170.0  # width of a page's text: how far off it is to be held
WALL_GREY = 0.02  # the unlit wall, as a share of the brightest point
EDGE_MM = 40.0
WALL_REFLECTS = 0.8  # a white painted wall, as offices are planned with (EN 12464-1: 0.5 to 0.8)
SHEET_ABSORBS = 0.05  # what a sheet neither lets through nor throws back; from memory


@dataclass(frozen=True, eq=False)
class LitPanel:
    """One panel with what it is made of and how it shines."""

    panel: PlacedPanel
    plan: Plan
    face: Face | None  # None: a blank cover, dark


def wall_png(
    layout: Layout, plans: Mapping[str, Plan], faces: Mapping[str, Face], room_lx: float = 0.0
) -> Png:
    """All panels at the brightness cap, as a camera shows them (gamma 2.2).

    `plans` and `faces` by the design's name; a design without a face is a blank cover.

    About 1.5 million points at most: the larger the wall, the coarser.
    """
    x0, y0, x1, y1 = layout.box
    x0, y0, x1, y1 = x0 - EDGE_MM, y0 - EDGE_MM, x1 + EDGE_MM, y1 + EDGE_MM
    per_mm = min(1 / POINT_MM, math.sqrt(MOST_POINTS / ((x1 - x0) * (y1 - y0))))
    columns, rows = math.ceil((x1 - x0) * per_mm), math.ceil((y1 - y0) * per_mm)
    peak = max(face.peak_at_cap_cd_m2 for face in faces.values())
    day = room_lx / math.pi / peak  # luminance of a white surface in the room's light, by the peak
    fine = np.full((rows * FINER, columns * FINER), WALL_GREY + WALL_REFLECTS * day)
    for panel in layout.panels:
        shown = LitPanel(panel, plans[panel.design], faces.get(panel.design))
        _paint(fine, shown, (x0, y1), per_mm * FINER, peak, day)
    fine /= max(float(fine.max()) if room_lx else 1.0, 1.0)
    values = fine.reshape(rows, FINER, columns, FINER).mean(axis=(1, 3))
    pixels = as_bytes(values ** (1 / GAMMA))
    strip = max(24, round(columns * 0.02))
    pixels = np.concatenate([pixels, np.zeros((strip, columns), np.uint8)])
    text = "gamma 2.2 simulation"
    pixels = stamped(
        pixels,
        text,
        (strip * 0.5, rows + strip * 0.7),
        stamp_height(text, columns - strip, strip * 0.4),
    )
    away = 10 * round(FROM_MM * PAGE_MM / (x1 - x0) / 10)
    when = f"by day ({room_lx:.0f} lx on a white wall)" if room_lx else "in the dark room"
    caption = (
        f"The wall lit {when}, as it looks from three metres: front view, all panels at one"
        f" exposure (gamma 2.2). A print {PAGE_MM:.0f} mm wide looks like that at {away} mm from"
        f" the eye. {SAYS}"
    )
    least = min(face.figures.face for face in faces.values())
    says = (
        f"{some(len(layout.panels), 'panel')} {when}. Brightest spot: {peak:.0f} cd/m2 at the"
        " brightness limit. Darkest over brightest spot of a face, rim and corners included:"
        f" {fixed(least, 2)}."
    )
    if per_mm < 0.99 / POINT_MM:
        says += f" One picture point is {fixed(1 / per_mm, 1)} mm, coarser than the eye sees."
    return Png(png(pixels), columns, rows + strip, caption, says)


def _paint(
    values: Array,
    shown: LitPanel,
    corner: tuple[float, float],
    per_mm: float,
    peak: float,
    day: float,
) -> None:
    """One panel into the picture: every point inside its body is turned into the panel's frame and
    looked up.

    `corner` is the wall's upper left corner, mm; `peak` the luminance that is white in the dark,
    `day` that of a white surface in the room's light as a share of it.
    """
    panel, plan, face = shown.panel, shown.plan, shown.face
    left, top = panel.x - corner[0], corner[1] - panel.y  # of the panel's middle in the picture, mm
    reach, (rows, columns) = panel.cell.circumradius, values.shape
    c0, c1 = int(max((left - reach) * per_mm, 0)), int(min((left + reach) * per_mm + 1, columns))
    r0, r1 = int(max((top - reach) * per_mm, 0)), int(min((top + reach) * per_mm + 1, rows))
    x, y = (np.arange(c0, c1) + 0.5) / per_mm - left, top - (np.arange(r0, r1) + 0.5) / per_mm
    angle = math.radians(panel.turn_deg)
    dx, dy = (grid.ravel() for grid in np.meshgrid(x, y))
    own = np.stack(
        [dx * math.cos(angle) + dy * math.sin(angle), dy * math.cos(angle) - dx * math.sin(angle)],
        axis=1,
    )
    body = in_polygon(own, plan.cell.sides, plan.rings.body_apothem)
    sheet = in_polygon(own, plan.cell.sides, plan.rings.rebate_apothem)
    patch = values[r0:r1, c0:c1]
    if face is None:
        grey = SHELL_GREY + plan.filament.reflectance * day
        patch[...] = np.where(body.reshape(patch.shape), grey, patch)
        return
    grid = face.grid
    i = np.clip(((own[:, 0] - grid.left) / grid.step).astype(int), 0, grid.values.shape[1] - 1)
    j = np.clip(((own[:, 1] - grid.low) / grid.step).astype(int), 0, grid.values.shape[0] - 1)
    back = max(1.0 - plan.stock.transmission - SHEET_ABSORBS, 0.0)
    light = grid.values[j, i] * face.brightness / peak + back * day
    rim = SHELL_GREY * face.peak_at_cap_cd_m2 / peak + plan.filament.reflectance * day
    bright = np.where(sheet, light, rim)
    patch[...] = np.where(body.reshape(patch.shape), bright.reshape(patch.shape), patch)
