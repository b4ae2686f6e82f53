"""PNG bytes of an array of points by Pillow: same points and version, same bytes."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any

from fab.units import MM_PER_INCH

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Pixels = NDArray[np.uint8]
else:
    Pixels = Any


def png(pixels: Pixels, points_per_mm: float = 0.0) -> bytes:
    """PNG bytes of (rows, columns) grey or (rows, columns, 3) RGB points, the top row first.

    Without `points_per_mm` the file states no size in mm.
    """
    from PIL import Image

    dense = (points_per_mm * MM_PER_INCH,) * 2
    stream = io.BytesIO()
    Image.fromarray(pixels).save(stream, "PNG", **({"dpi": dense} if points_per_mm else {}))
    return stream.getvalue()


def few_colours(pixels: Pixels) -> bytes:
    """PNG bytes of (rows, columns, 3) points with at most 64 colours: a third of the size.

    The first point's colour, that of the ground, stays exact.
    """
    from PIL import Image

    picture = Image.fromarray(pixels).quantize(64)
    palette = list(picture.getpalette() or [])
    ground = 3 * int(picture.getpixel((0, 0)) or 0)  # type: ignore[arg-type]
    palette[ground : ground + 3] = [int(value) for value in pixels[0, 0]]
    picture.putpalette(palette)
    stream = io.BytesIO()
    picture.save(stream, "PNG", optimize=True)
    return stream.getvalue()
