"""Art for the view in three dimensions: sheets with their stencils, engraved strokes as narrow
ribbons on the sheet.

A sheet's faces are cut into trapezoids between the heights of its corners, which needs no kernel; a
view shows no seams.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

from fab.outlines.contour import Outline, Point
from fab.outlines.facets import facets

if TYPE_CHECKING:
    import numpy as np

CHORD_MM = 0.1  # how far a curve may be straightened for the view
RIBBON_MM = 0.5  # width of a stroke: a laser's is narrower, and would not be seen
ABOVE_MM = 0.15  # of a ribbon over the sheet
MOST_STROKES = 3_000  # segments of one sheet; of a dense hatching every so-manieth stroke is shown


def sheet(outline: Outline, z0: float, z1: float) -> tuple[np.ndarray, np.ndarray]:
    """Corners (n, 3) and triangles (m, 3) of a flat part between two heights."""
    rings = [
        facets(contour, CHORD_MM, outside=contour is outline.edge) for contour in outline.contours
    ]
    edges = [(a, b) for ring in rings for a, b in zip(ring, (*ring[1:], ring[0]), strict=True)]
    quads = [[(*p, z) for p in corners] for corners in _trapezoids(edges) for z in (z0, z1)]
    quads += [[(*a, z0), (*b, z0), (*b, z1), (*a, z1)] for a, b in edges]
    return _of_quads(quads)


def ribbons(strokes: Sequence[Sequence[Point]], z: float) -> tuple[np.ndarray, np.ndarray]:
    """Every segment of the strokes as a flat rectangle at height z; empty arrays for none."""
    total = sum(len(stroke) - 1 for stroke in strokes)
    every = max(1, math.ceil(total / MOST_STROKES))
    kept = strokes[::every]
    quads = []
    for stroke in kept:
        for (ax, ay), (bx, by) in pairwise(stroke):
            length = math.dist((ax, ay), (bx, by))
            if length > 0:
                nx, ny = -(by - ay) / length * RIBBON_MM / 2, (bx - ax) / length * RIBBON_MM / 2
                quads.append(
                    [
                        (ax + nx, ay + ny, z),
                        (bx + nx, by + ny, z),
                        (bx - nx, by - ny, z),
                        (ax - nx, ay - ny, z),
                    ]
                )
    return _of_quads(quads[: 2 * MOST_STROKES])


def _trapezoids(edges: Sequence[tuple[Point, Point]]) -> list[list[Point]]:
    """The region inside an odd number of rings, cut along the height of every corner."""
    levels = sorted({round(y, 6) for edge in edges for _, y in edge})
    slopes = sorted(
        (sorted(edge, key=lambda p: p[1]) for edge in edges if abs(edge[0][1] - edge[1][1]) > 1e-6),
        key=lambda e: e[0][1],
    )
    found: list[list[Point]] = []
    for low, high in pairwise(levels):
        middle = (low + high) / 2
        here = [e for e in slopes if e[0][1] <= middle <= e[1][1]]
        here.sort(key=lambda e: _x_at(e, middle))
        for left, right in zip(here[::2], here[1::2], strict=False):
            found.append(
                [
                    (_x_at(left, low), low),
                    (_x_at(right, low), low),
                    (_x_at(right, high), high),
                    (_x_at(left, high), high),
                ]
            )
    return found


def _x_at(edge: Sequence[Point], y: float) -> float:
    (ax, ay), (bx, by) = edge
    return ax + (bx - ax) * min(max((y - ay) / (by - ay), 0.0), 1.0)


def _of_quads(
    quads: Sequence[Sequence[tuple[float, float, float]]],
) -> tuple[np.ndarray, np.ndarray]:
    import numpy as np

    corners = np.array(quads, dtype=float).reshape(-1, 3)
    first = 4 * np.arange(len(quads))[:, None]
    faces = np.concatenate([first + np.array([0, 1, 2]), first + np.array([0, 2, 3])]).astype(
        np.int64
    )
    return corners, faces
