"""PNG bytes out of an array of points.

The writer is our own: 8 bit, grey or RGB, no chunks but the needed ones, so the same picture gives the same bytes.
Format: PNG specification, third edition (W3C), sections 5, 9 and 11.
"""

from __future__ import annotations

import struct
import zlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Pixels = NDArray[np.uint8]
else:
    Pixels = Any

SIGNATURE = b"\x89PNG\r\n\x1a\n"


def png(pixels: Pixels, points_per_mm: float = 0.0, palette: bytes = b"") -> bytes:
    """PNG bytes of (rows, columns) grey or (rows, columns, 3) RGB points, the top row first; 0: no size is said.

    palette: red, green, blue of up to 256 colours; (rows, columns) points are places in it then.
    """
    import numpy as np

    rows, columns = pixels.shape[:2]
    colour = 3 if palette else 0 if pixels.ndim == 2 else 2
    flat = np.ascontiguousarray(pixels).reshape(rows, -1)
    raw = np.concatenate([np.zeros((rows, 1), np.uint8), flat], axis=1)
    if not palette:  # filter 2, "up", but for the first row
        raw[1:, 0], raw[1:, 1:] = 2, flat[1:] - flat[:-1]
    header = struct.pack(">IIBBBBB", columns, rows, 8, colour, 0, 0, 0)
    dense = round(points_per_mm * 1000)
    chunks = [
        _chunk(b"IHDR", header),
        *([_chunk(b"pHYs", struct.pack(">IIB", dense, dense, 1))] if dense else []),
        *([_chunk(b"PLTE", palette)] if palette else []),
        _chunk(b"IDAT", zlib.compress(raw.tobytes(), 6)),
        _chunk(b"IEND", b""),
    ]
    return SIGNATURE + b"".join(chunks)


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
