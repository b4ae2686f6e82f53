"""Cuts as regions: what two parts share at any height, also while one of them moves straight up."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from fab.checks.measure import Cut, cut_at, flats, loops_of
from fab.solids.mesh import Mesh

if TYPE_CHECKING:
    Region = Any  # a shapely geometry

SLOPE_MM = 0.8  # slopes are cut at least this often


def region(cut: Cut) -> Region:
    """The material of a cut. Outer loops run anticlockwise, holes clockwise."""
    import shapely

    outer, inner = [], []
    for ring in loops_of(cut):
        if len(ring) > 2:
            shape = shapely.Polygon(ring)
            (outer if shape.exterior.is_ccw else inner).append(shapely.make_valid(shape))
    whole = shapely.union_all(outer)
    return whole.difference(shapely.union_all(inner)) if inner else whole


def heights(meshes: Sequence[Mesh], low: float, high: float) -> list[float]:
    """Heights from low to high: between all flats of the meshes, and slopes in between every `SLOPE_MM` or so."""
    import numpy as np

    marks = np.unique(np.concatenate([flats(mesh) for mesh in meshes]).round(2))
    marks = np.concatenate([[low], marks[(marks > low + 0.02) & (marks < high - 0.02)], [high]])
    found: list[float] = []
    for a, b in zip(marks[:-1], marks[1:], strict=True):
        parts = min(max(int((b - a) / SLOPE_MM), 1), 3)
        found += [float(a + (b - a) * (k + 0.5) / parts) for k in range(parts) if b - a > 0.02]
    return found


def blocked_upwards(mover: Mesh, others: Sequence[Mesh]) -> tuple[float, float]:
    """Largest area (mm2), and its height, of `others` that lies straight above or inside `mover`: 0 when it lifts off.

    Nothing of the others, at any height, may lie in the shadow of what the mover has below.
    """
    import shapely

    low = float(mover.vertices[:, 2].min())
    high = max(float(mesh.vertices[:, 2].max()) for mesh in others)
    worst, at = 0.0, low
    shadow: Region = shapely.Polygon()
    for z in heights([mover, *others], low, high):
        shadow = shapely.union_all([shadow, region(cut_at(mover, z))])
        shapely.prepare(shadow)
        for mesh in others:
            if mesh.vertices[:, 2].max() <= z or mesh.vertices[:, 2].min() >= z:
                continue
            area = region(cut_at(mesh, z)).intersection(shadow).area
            if area > worst:
                worst, at = float(area), z
    return worst, at
