"""Drawings of true millimetres made smaller, so that they stand in the middle of a page."""

from __future__ import annotations

import math
from collections.abc import Callable

from fab.outlines.contour import Box, Point

Place = Callable[[Point], Point]  # from the drawing onto the page
WALL_SCALE = 0.45  # in small pictures of a wall for the book: no larger


def fitted(
    box: Box,
    width: float,
    most_height: float,
    margin: float = 8.0,
    *,
    below: float = 0.0,
    most_scale: float = math.inf,
) -> tuple[float, float, Place]:
    """Return scale, height of the page, and the way onto it for what lies in a box, all mm.

    `below`: room under the drawing for a legend, inside of `most_height`.
    """
    x0, y0, x1, y1 = box
    wide, high = width - 2 * margin, most_height - 2 * margin - below
    scale = min(wide / (x1 - x0), high / (y1 - y0), most_scale)
    left = (width - (x1 - x0) * scale) / 2

    def place(point: Point) -> Point:
        return (left + (point[0] - x0) * scale, margin + below + (point[1] - y0) * scale)

    return scale, (y1 - y0) * scale + 2 * margin + below, place
