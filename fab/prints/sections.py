"""Horizontal sections of a mesh, layer by layer.

A printed part is mostly upright walls: hundreds of layers have one and the same section. Layers are
told apart by area, perimeter and moments, and a section is built only once for all layers that
share it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fab.solids.mesh import Mesh

if TYPE_CHECKING:
    import numpy as np
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

# Corners of a mesh are rounded to 1e-5 mm. The cutting plane lies off every such value, so it meets
# no corner.
OFF_GRID_MM = 1.7e-6
ALIKE = 0.02  # mm, mm2: sections whose area, perimeter and scaled moments agree this far are one
STRAIGHT_MM = 0.005  # corners nearer than this to a straight line are left out


@dataclass(frozen=True)
class Sections:
    """The layers of a part from the bed upwards.

    `shapes`: the different sections. `number`: for each layer, which of them it is.
    """

    shapes: tuple[BaseGeometry, ...]  # shapely Polygon or MultiPolygon, mm
    number: tuple[int, ...]


def sections(mesh: Mesh, layer_mm: float) -> Sections:
    """Section through the middle of every layer of a closed mesh that stands on Z = 0."""
    import numpy as np

    height = float(mesh.vertices[:, 2].max())
    count = max(round(height / layer_mm), 1)
    heights = (np.arange(count) + 0.5) * layer_mm + OFF_GRID_MM
    layer, start, end, ids = _segments(mesh, heights[heights < height])
    figures = _figures(layer, start, end, count)
    known: list[tuple[np.ndarray, int]] = []
    shapes: list[BaseGeometry] = []
    number: list[int] = []
    for k, here in enumerate(figures):
        same = next((at for there, at in known if (abs(here - there) <= ALIKE).all()), None)
        if same is None:
            same = len(shapes)
            shapes.append(_shape(start[layer == k], ids[layer == k]))
        known.insert(0, (here, same))  # most layers are like the one below, up to a mesh's rounding
        number.append(same)
    return Sections(tuple(shapes), tuple(number))


def _segments(mesh: Mesh, heights: np.ndarray) -> tuple[np.ndarray, ...]:
    """Segments in which the planes cut the triangles, solid on the left.

    Layer (s,), start (s, 2) and end (s, 2) in mm, and the numbers (s, 2) of the mesh edges that
    start and end lie on.
    """
    import numpy as np

    points = mesh.vertices[mesh.triangles]  # (t, 3, 3)
    z = points[:, :, 2]
    low, high = np.searchsorted(heights, z.min(axis=1)), np.searchsorted(heights, z.max(axis=1))
    often = high - low
    triangle = np.repeat(np.arange(len(points)), often)
    within = np.arange(len(triangle)) - np.repeat(np.cumsum(often) - often, often)
    layer = low[triangle] + within
    plane = heights[layer]
    above = z[triangle] > plane[:, None]
    # one corner lies alone on its side of the plane: the two edges from it are the ones that are
    # cut
    alone = np.where(above.sum(axis=1) == 1, above.argmax(axis=1), (~above).argmax(axis=1))
    rows = np.arange(len(triangle))
    corners, names = points[triangle], mesh.triangles[triangle].astype(np.int64)
    total = len(mesh.vertices)
    ends, ids = [], []
    for step in (1, 2):
        other = (alone + step) % 3
        a, b = corners[rows, alone], corners[rows, other]
        share = (plane - a[:, 2]) / (b[:, 2] - a[:, 2])
        ends.append(a[:, :2] + share[:, None] * (b[:, :2] - a[:, :2]))
        i, j = names[rows, alone], names[rows, other]
        ids.append(np.minimum(i, j) * total + np.maximum(i, j))
    # triangles run counter-clockwise from outside: with the lone corner above, the cut runs from
    # its second edge to its first with the solid on the left; with the lone corner below, the other
    # way round
    up = above[rows, alone]
    start = np.where(up[:, None], ends[0], ends[1])
    end = np.where(up[:, None], ends[1], ends[0])
    both = np.stack([np.where(up, ids[0], ids[1]), np.where(up, ids[1], ids[0])], axis=1)
    return layer, start, end, both


def _figures(layer: np.ndarray, start: np.ndarray, end: np.ndarray, count: int) -> np.ndarray:
    """(count, 6) area, perimeter and moments of each layer, by Green's theorem: blind to extra
    corners on a line.

    Moments are divided by lengths of the part, so that all figures are near to the size of the
    area.
    """
    import numpy as np

    (x, y), (u, v) = start.T, end.T
    cross = x * v - u * y
    size = max(float(np.abs(start).max()), 1.0)
    terms = (
        cross / 2,
        np.hypot(u - x, v - y),
        (x + u) * cross / (6 * size),
        (y + v) * cross / (6 * size),
        (x * x + x * u + u * u) * cross / (12 * size**2),
        (y * y + y * v + v * v) * cross / (12 * size**2),
    )
    return np.stack([np.bincount(layer, term, count) for term in terms], axis=1)


def _shape(start: np.ndarray, ids: np.ndarray) -> BaseGeometry:
    """The section as a polygon with holes, from segments that follow each other by the edges they
    lie on.
    """
    import shapely

    after = {int(a): k for k, (a, _) in enumerate(ids)}
    left = set(range(len(ids)))
    rings: list[Polygon] = []
    while left:
        k = min(left)
        loop = []
        while k in left:
            left.discard(k)
            loop.append(k)
            k = after[int(ids[k][1])]
        if len(loop) >= 3:
            rings.append(shapely.Polygon(start[loop]))
    return _nested([ring.simplify(STRAIGHT_MM) for ring in rings])


def _nested(rings: Sequence[Polygon]) -> BaseGeometry:
    """Rings to one region: what an even number of rings holds is outside.

    Solid rings never cross each other.
    """
    import shapely

    region: BaseGeometry = shapely.MultiPolygon()
    for ring in sorted(rings, key=lambda one: -one.area):
        region = region.symmetric_difference(ring)
    return region
