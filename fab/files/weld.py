"""A mesh at a file's precision: corners that fall together are one, collapsed triangles go."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fab.errors import BrokenGeometry
from fab.solids.mesh import alike

if TYPE_CHECKING:
    import numpy as np


def welded(vertices: np.ndarray, triangles: np.ndarray, name: str) -> tuple[np.ndarray, np.ndarray]:
    """Vertices without twins and triangles that index them; the order of triangles stays.

    `vertices` are already rounded as the file will hold them. Raises BrokenGeometry for a mesh that
    is empty, not finite, or not closed: every edge has to be walked once each way.
    """
    import numpy as np

    if len(triangles) == 0:
        raise BrokenGeometry(f"the mesh of {name!r} is empty")
    if not np.isfinite(vertices).all():
        raise BrokenGeometry(f"the mesh of {name!r} has a corner that is nowhere")
    kept, place = alike(vertices + 0.0)  # + 0.0 makes -0.0 the same as 0.0
    faces = place[triangles]
    a, b, c = faces[:, 0], faces[:, 1], faces[:, 2]
    faces = faces[(a != b) & (b != c) & (c != a)]
    if not closed(faces, len(kept)):
        raise BrokenGeometry(
            f"the mesh of {name!r} is not closed: an edge is not shared by exactly two triangles"
        )
    used, compact = np.unique(faces, return_inverse=True)
    return kept[used], compact.reshape(-1, 3)


def closed(faces: np.ndarray, count: int) -> bool:
    """True when every edge of triangles over `count` vertices is walked once each way."""
    import numpy as np

    start, end = faces.reshape(-1), np.roll(faces, -1, axis=1).reshape(-1)
    there = np.sort(start.astype(np.int64) * count + end)
    back = np.sort(end.astype(np.int64) * count + start)
    return len(faces) > 0 and bool((there[1:] != there[:-1]).all()) and bool((there == back).all())
