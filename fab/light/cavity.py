"""The light that goes round inside a panel, bounce by bounce.

Every face is cut into flat patches, the same in each of the n sectors of the panel, so one sector's
form factors serve for all. The factor from a point to a patch is Lambert's exact contour sum, so
what a point sees of a closed box adds up to 1 whatever the mesh; that energy is kept is then a test
of the mesh, not of a correction.

Approximations: all faces scatter evenly in all directions; a patch has one brightness; whether two
patches see each other past a rib or the lip is asked at their centres; bodies of LEDs, switches and
screws are not there.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from fab.light.factors import direct_on_patches, form_factors
from fab.light.mesh import BOARD, SHEET, PatchMesh, meshed
from fab.light.scene import Scene

Array = NDArray[np.float64]
KEPT_PATCHES = 200  # boxes of so few patches are remembered: searches try many LEDs in one
LEAST_UNSHOT = 1e-5  # bounces are summed until this share of the light is left


@dataclass(frozen=True)
class Balance:
    """Account of the light of all LEDs at full white, lm: absorbed, left, lost."""

    emitted: float
    left: float  # through the sheet
    board: float  # absorbed by the board
    walls: float  # absorbed by walls, ledge and ribs
    sheet: float  # absorbed by the sheet

    @property
    def error(self) -> float:
        """Share of the light that the reckoning lost or made."""
        return (self.left + self.board + self.walls + self.sheet) / self.emitted - 1


@dataclass(frozen=True, eq=False)
class Bounced:
    """The solved light inside: what every patch sends on (lm/mm2), bounce by bounce."""

    mesh: PatchMesh
    first: Array  # (N,) exitance after one reflection
    second: Array  # (N,) after two
    rest: Array  # (N,) after more
    balance: Balance

    @property
    def all(self) -> Array:
        """Exitance of every patch after all reflections, lm/mm2, shape (N,)."""
        return self.first + self.second + self.rest


def unlit(scene: Scene) -> Scene:
    """Return the scene with a lone LED: what depends on the box alone is the same for all."""
    return replace(scene, leds=((0.0, 0.0),))


def _made(scene: Scene, patches: int) -> tuple[PatchMesh, Array]:
    mesh = meshed(scene, patches)
    return mesh, form_factors(scene, mesh)


_box = lru_cache(maxsize=16)(_made)


def bounced(scene: Scene, patches: int) -> Bounced:
    """Light that board, walls, ledge and sheet throw round, with about `patches` patches."""
    mesh, factors = (
        _box(unlit(scene), patches) if patches <= KEPT_PATCHES else _made(scene, patches)
    )
    direct = direct_on_patches(scene, mesh)
    # bounce by bounce rather than one solve: the pictures show the first bounces apart
    waves = [mesh.reflectances * direct]
    received = direct.copy()
    emitted = scene.led_lumen * len(scene.leds)
    # ends for any reflectance below 1; the count is a stop for one that rounds to 1
    while float(waves[-1] @ mesh.areas) > LEAST_UNSHOT * emitted and len(waves) < 500:
        arriving = factors @ waves[-1]
        received += arriving
        waves.append(mesh.reflectances * arriving)
    none = np.zeros_like(direct)
    absorbed = received * (1 - mesh.reflectances) * mesh.areas
    on_sheet = float(received[mesh.kinds == SHEET] @ mesh.areas[mesh.kinds == SHEET])
    left = on_sheet * scene.sheet_transmission
    balance = Balance(
        emitted=emitted,
        left=left,
        board=float(absorbed[mesh.kinds == BOARD].sum()),
        walls=float(absorbed[(mesh.kinds != BOARD) & (mesh.kinds != SHEET)].sum()),
        sheet=float(absorbed[mesh.kinds == SHEET].sum()) - left,
    )
    second = waves[1] if len(waves) > 1 else none
    return Bounced(mesh, waves[0], second, sum(waves[2:], none), balance)
