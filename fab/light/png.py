"""Pictures made of points with their words, and one line of letters drawn into them by Pillow."""

from __future__ import annotations

import io
from dataclasses import dataclass
from functools import cache
from typing import Any

from fab.files.glyphs import shipped_font
from fab.files.png import Pixels

_EM = 1.37  # font size over the height of a capital: DejaVu Sans has 1493 of 2048 units


@dataclass(frozen=True)
class Png:
    """A finished picture, its size in points, and its words for those who can't see it."""

    data: bytes
    width: int
    height: int
    caption: str
    says: str


def stamped(
    pixels: Pixels, text: str, at: tuple[float, float], height: float, value: int = 255
) -> Pixels:
    """A copy with one line of text, the left end of its base line at (column, row).

    `height`: of a capital, in points.
    """
    import numpy as np
    from PIL import Image, ImageDraw

    picture = Image.fromarray(pixels)
    fill = value if pixels.ndim == 2 else (value,) * 3
    ImageDraw.Draw(picture).text(at, text, fill=fill, font=_font(height), anchor="ls")
    return np.array(picture)


def stamp_height(text: str, width: float, most: float) -> float:
    """The largest height of capitals up to `most` at which the line is no wider than `width`."""
    wide = float(_font(most).getlength(text))
    return most if wide <= width else most * width / wide


@cache
def _font(height: float) -> Any:
    from PIL import ImageFont

    return ImageFont.truetype(io.BytesIO(shipped_font()), max(height * _EM, 1.0))
