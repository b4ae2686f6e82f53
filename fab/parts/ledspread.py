"""A quick figure of how even the middle of a face will be: enough to choose a pitch, no proof.

Each LED shines as a Lambertian source on a sheet at distance h: E = h^2 / (d^2 + h^2)^2. What the
walls throw back is taken as one level everywhere, `BACK` times LEDs over the window's area, fitted
to the light room's figures of 90 designs (rms error 0.03). The light room judges the design itself.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from fab.outlines.contour import Point, turn

BACK = 0.6
EVEN = 0.23  # so small that the light room's figure keeps its usual limit of 0.25
MIDDLE = 2 / 3  # of the window's size, as the light room takes it


def middle_spread(leds: Sequence[Point], sides: int, window: float, throw: float) -> float:
    """Return (max - min) / (max + min) of the light over the middle of a face; `window`: its
    apothem, mm.
    """
    import numpy as np  # here: a file that is refused early does without it

    if not leds or window <= 0 or throw <= 0:
        return math.inf
    area = sides * window**2 * math.tan(math.pi / sides)
    back = BACK * len(leds) / area
    square = throw**2
    spots, lamps = np.array(_spots(leds, sides, window)), np.array(leds)
    away = (spots[:, None, :] - lamps[None, :, :]) ** 2
    levels = back + square * (1 / (away.sum(axis=2) + square) ** 2).sum(axis=1)
    low, high = float(levels.min()), float(levels.max())
    return (high - low) / (high + low)


def _spots(leds: Sequence[Point], sides: int, window: float) -> list[Point]:
    """The centre, the rim of the middle and half-way there, and the LEDs within."""
    far, half = window * MIDDLE, math.pi / sides
    found = [(0.0, 0.0)]
    for reach in (far, far / 2):
        for t in (-1.0, -0.5, 0.0, 0.5):
            spot = (reach, t * reach * math.tan(half))
            found += [turn(spot, 2 * half * k) for k in range(sides)]
    pitch = 2 * half
    for x, y in leds:
        away = math.atan2(y, x)
        off = away - pitch * round(away / pitch)
        if math.hypot(x, y) * math.cos(off) <= far:
            found.append((x, y))
    return found
