"""Pairs of parts that can overlap at all: a quick and safe no before the CAD kernel is asked.

A part that has no surface of another inside its hull (its outline's convex hull, as high as it is)
and does not lie inside the other's material shares no room with it.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import TYPE_CHECKING

from fab.checks.measure import hull
from fab.parts.placed import Named

if TYPE_CHECKING:
    import numpy as np

TOUCH_MM = 1e-4  # parts that only touch are apart
LEAN = (0.1279915, 0.2432637)  # x and y per z of a ray that runs along no face of a part


class Hulls:
    """The hulls of every body of a part, and its triangles."""

    def __init__(self, one: Named) -> None:
        self.triangles = one.mesh.vertices[one.mesh.triangles]
        self.low, self.high = self.triangles.min(axis=1), self.triangles.max(axis=1)
        self.bodies = [_Prism(points) for points in _bodies(one)]
        self.room = sum(float((body.high - body.low).prod()) for body in self.bodies)

    @cached_property
    def leaning(self) -> tuple[np.ndarray, np.ndarray]:
        """The triangles' boxes in plan, seen along the ray of `_inside`."""
        import numpy as np

        seen = self.triangles[:, :, :2] - self.triangles[:, :, 2:] * np.array(LEAN)
        return seen.min(axis=1), seen.max(axis=1)


def _bodies(one: Named) -> list[np.ndarray]:
    """Corners of each body of a part: connected triangles."""
    import numpy as np

    label = one.mesh.bodies
    order = np.argsort(label, kind="stable")
    return np.split(one.mesh.vertices[order], np.flatnonzero(np.diff(label[order])) + 1)


class _Prism:
    """The hull in plan of a body, as high as the body is: it cuts no point off."""

    def __init__(self, points: np.ndarray) -> None:
        import numpy as np

        self.ring = hull(points[:, :2])
        way = np.roll(self.ring, -1, axis=0) - self.ring
        self.out = np.stack([way[:, 1], -way[:, 0]], axis=1) / np.linalg.norm(way, axis=1)[:, None]
        self.far = (self.ring @ self.out.T).max(axis=0)
        self.low, self.high = points.min(axis=0), points.max(axis=0)
        self.middle = points.mean(axis=0)

    def entered(self, whole: Hulls) -> bool:
        """True for each triangle of `whole` that may enter: no plane of the prism or of the
        triangle, and no upright plane along one of its edges, has them on its two sides. Where none
        enters, all of the prism is alike, in material or not.
        """
        import numpy as np

        near = ((whole.low < self.high - TOUCH_MM) & (whole.high > self.low + TOUCH_MM)).all(axis=1)
        corners = whole.triangles[near]
        # a corner inside tells at once; a few are asked before all
        if self._holds(corners[:: len(corners) // 100 + 1]):
            return True
        beyond = (corners[:, :, :2] @ self.out.T >= self.far - TOUCH_MM).all(axis=1).any(axis=1)
        corners = corners[~beyond]
        if not len(corners):
            return False
        edge = np.roll(corners, -1, axis=1) - corners
        across = np.stack([edge[:, :, 1], -edge[:, :, 0]], axis=2)  # square to each edge, in plan
        size = np.linalg.norm(across, axis=2)
        across /= np.where(size > 1e-9, size, np.inf)[:, :, None]
        own, mine = np.einsum("kea,kca->kec", across, corners[:, :, :2]), across @ self.ring.T
        gap = np.maximum(mine.min(axis=2) - own.max(axis=2), own.min(axis=2) - mine.max(axis=2))
        left = corners[~((gap >= -TOUCH_MM) & (size > 1e-9)).any(axis=1)]
        return not self._beside(left).all()

    def _holds(self, corners: np.ndarray) -> bool:
        """Tell whether a corner of triangles lies inside the prism, further than a touch."""
        within = (corners[:, :, :2] @ self.out.T < self.far - TOUCH_MM).all(axis=2)
        z, low, high = corners[:, :, 2], self.low[2] + TOUCH_MM, self.high[2] - TOUCH_MM
        return bool((within & (z > low) & (z < high)).any())

    def _beside(self, corners: np.ndarray) -> np.ndarray:
        """True for each triangle with the prism on one side of its plane; False without a plane."""
        import numpy as np

        normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        size = np.linalg.norm(normal, axis=1)
        normal /= np.where(size > 1e-9, size, np.inf)[:, None]
        plan = normal[:, :2] @ self.ring.T - (normal * corners[:, 0]).sum(axis=1)[:, None]
        ends = np.stack([plan + (normal[:, 2] * z)[:, None] for z in (self.low[2], self.high[2])])
        least, most = ends.min(axis=(0, 2)), ends.max(axis=(0, 2))
        beside: np.ndarray = (size > 1e-9) & ((least >= -TOUCH_MM) | (most <= TOUCH_MM))
        return beside


def apart(a: Hulls, b: Hulls) -> bool:
    """True when the two certainly share no room."""
    # a small hull is likely to be free of the other's surface
    small, whole = sorted((a, b), key=lambda one: one.room)
    return _free_of(whole, small) or _free_of(small, whole)


def _free_of(whole: Hulls, small: Hulls) -> bool:
    """No surface of `whole` in any hull of `small`, and none of these in its material."""
    return not any(body.entered(whole) or _inside(body.middle, whole) for body in small.bodies)


def _inside(point: np.ndarray, whole: Hulls) -> bool:
    """True when a point lies inside a closed mesh: crossings of a slanted ray."""
    import numpy as np

    if (point < whole.low.min(axis=0)).any() or (point > whole.high.max(axis=0)).any():
        return False
    x, y = point[:2] - point[2] * np.array(LEAN)
    low, high = whole.leaning
    met = (low[:, 0] <= x) & (low[:, 1] <= y) & (high[:, 0] >= x) & (high[:, 1] >= y)
    triangles, way = whole.triangles[met], np.array([*LEAN, 1.0])
    a = triangles[:, 0]
    e1 = triangles[:, 1] - triangles[:, 0]
    e2 = triangles[:, 2] - triangles[:, 0]
    p = np.cross(way, e2)
    det = (e1 * p).sum(axis=1)
    with np.errstate(divide="ignore", invalid="ignore"):
        s = point - a
        u = (s * p).sum(axis=1) / det
        q = np.cross(s, e1)
        v = (q @ way) / det
        t = (e2 * q).sum(axis=1) / det
    return bool(((np.abs(det) > 1e-12) & (u >= 0) & (v >= 0) & (u + v <= 1) & (t > 0)).sum() % 2)


def near_pairs(pairs: Sequence[tuple[Named, Named]]) -> list[tuple[Named, Named]]:
    """The pairs that the kernel must be asked about."""
    hulls: dict[str, Hulls] = {}
    for pair in pairs:
        for one in pair:
            if one.name not in hulls:
                hulls[one.name] = Hulls(one)
    return [(a, b) for a, b in pairs if not apart(hulls[a.name], hulls[b.name])]
