"""A plain welded triangle mesh, independent of the CAD kernel."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np


@dataclass(frozen=True, eq=False)
class Mesh:
    """`vertices` (n, 3) float64 in mm, no two alike; `triangles` (m, 3) int32, anticlockwise seen from outside."""

    vertices: np.ndarray
    triangles: np.ndarray

    @property
    def volume_mm3(self) -> float:
        """Enclosed volume by the divergence theorem; positive when the faces look outwards."""
        a, b, c = (self.vertices[self.triangles[:, k]] for k in range(3))
        import numpy as np

        return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6.0)

    @property
    def box(self) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
        low, high = self.vertices.min(axis=0), self.vertices.max(axis=0)
        return (float(low[0]), float(low[1]), float(low[2])), (float(high[0]), float(high[1]), float(high[2]))
