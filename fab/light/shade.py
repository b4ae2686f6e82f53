"""Obstacles between a source and a point of the sheet: the ledge's lip, and the press ribs."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from fab.light.scene import Scene

Array = NDArray[np.float64]
GRAZE = 1e-6  # share of a ray inside a rib that is only its touching the face


def sector_turns(sides: int) -> list[Array]:
    """Matrices that turn row vectors from sector 0 to every sector, anticlockwise."""
    found = []
    for k in range(sides):
        cos, sin = math.cos(2 * math.pi * k / sides), math.sin(2 * math.pi * k / sides)
        found.append(np.array([(cos, sin, 0.0), (-sin, cos, 0.0), (0.0, 0.0, 1.0)]))
    return found


def clear(scene: Scene, sources: Array, targets: Array) -> NDArray[np.bool_]:
    """True where a source and a target see each other past ribs and, for targets on the sheet, past
    the ledge's lip.

    Shapes broadcast; the last axis is x, y, z.
    """
    shape = np.broadcast_shapes(sources.shape, targets.shape)[:-1]
    free = np.ones(shape, dtype=bool)
    for turn in sector_turns(scene.sides):
        back = turn.T  # into the frame of this edge
        s, t = sources @ back, targets @ back
        _lip(scene, s, t, free)
        if scene.rib:
            _rib(scene, s, t, free)
    return free


def _lip(scene: Scene, s: Array, t: Array, free: NDArray[np.bool_]) -> None:
    """A source under the ledge is hidden where its ray passes the ledge's inner edge above the
    lip's foot.
    """
    under = s[..., 0] > scene.window_apothem + 1e-9
    upper = t[..., 2] > scene.sheet_z - 1e-9
    if not (under.any() and upper.any()):
        return
    run = np.maximum(s[..., 0] - t[..., 0], 1e-9)
    share = (s[..., 0] - scene.window_apothem) / run
    height = s[..., 2] + (t[..., 2] - s[..., 2]) * share
    free &= ~(under & upper & (height > scene.lip_z + 1e-9))


def _rib(scene: Scene, s: Array, t: Array, free: NDArray[np.bool_]) -> None:
    """Clip every ray by the half-spaces of the rib; a ray with something left over is hidden."""
    assert scene.rib is not None
    tip = min(a for a, _ in scene.rib.profile)
    near = np.maximum(s[..., 0], t[..., 0]) > tip  # other rays pass in front of this rib
    if not near.any():
        return
    s, t = np.broadcast_to(s, (*free.shape, 3))[near], np.broadcast_to(t, (*free.shape, 3))[near]
    low, high = np.zeros(len(s)), np.ones(len(s))
    for nx, ny, nz, d in scene.rib.planes:
        at = s[:, 0] * nx + s[:, 1] * ny + s[:, 2] * nz - d
        change = t[:, 0] * nx + t[:, 1] * ny + t[:, 2] * nz - d - at
        with np.errstate(divide="ignore", invalid="ignore"):
            crossing = -at / change
        low = np.where(change < 0, np.maximum(low, crossing), low)
        high = np.where(change > 0, np.minimum(high, crossing), high)
        high = np.where((change == 0) & (at >= 0), -1.0, high)
    free[near] &= ~(high - low > GRAZE)
