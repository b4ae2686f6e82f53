"""Pictures made of points with their words, and a stamp of letters burnt into them."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from fab.files.png import Pixels
from fab.outlines.strokes import strokes, width_mm

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Png:
    """A finished picture, its size in points, and its words for those who can't see it."""

    data: bytes
    width: int
    height: int
    caption: str
    says: str


def stamped(pixels: Pixels, text: str, at: tuple[float, float], height: float, value: int = 255) -> Pixels:
    """A copy with one line of single-stroke capitals, left end of its base line at (column, row), `height` high."""
    copy = pixels.copy()
    half = max(height / 16, 0.5)
    for path in strokes(text, height, at=(0.0, 0.0)):
        for (x0, y0), (x1, y1) in pairwise(path):
            _stroke(copy, (at[0] + x0, at[1] - y0), (at[0] + x1, at[1] - y1), half, value)
    return copy


def stamp_height(text: str, width: float, most: float) -> float:
    """The largest height of letters up to `most` at which the line is no wider than `width`."""
    wide = width_mm(text, most)
    return most if wide <= width else most * width / wide


def _stroke(pixels: Pixels, a: tuple[float, float], b: tuple[float, float], half: float, value: int) -> None:
    """Paint a straight line `2 half` wide, its edge softened over one point."""
    rows, columns = pixels.shape[:2]
    c0, c1 = (int(max(min(a[0], b[0]) - half - 1, 0)), int(min(max(a[0], b[0]) + half + 2, columns)))
    r0, r1 = (int(max(min(a[1], b[1]) - half - 1, 0)), int(min(max(a[1], b[1]) + half + 2, rows)))
    if c0 >= c1 or r0 >= r1:
        return
    x, y = np.meshgrid(np.arange(c0, c1) + 0.5, np.arange(r0, r1) + 0.5)
    dx, dy = b[0] - a[0], b[1] - a[1]
    along = np.clip(((x - a[0]) * dx + (y - a[1]) * dy) / max(dx * dx + dy * dy, 1e-12), 0.0, 1.0)
    apart = np.hypot(x - a[0] - along * dx, y - a[1] - along * dy)
    cover = np.clip(half + 0.5 - apart, 0.0, 1.0)
    patch = pixels[r0:r1, c0:c1]
    cover = cover if pixels.ndim == 2 else cover[..., None]
    patch[...] = np.round(patch + (value - patch.astype(float)) * cover).astype(np.uint8)
