"""Snaps and presses as springs: strain, force to push in, force to pull out.

Free of the CAD kernel.

A leg is a cantilever of width b, root thickness h, length L, bent by y at its end (constant or
tapered section):

    eps = 1.5 h y / (K L^2)          strain at the root, `fits.leg_strain`
    P   = b h^2 E eps / (6 L)        force across the leg
    W   = P (mu + tan a) / (1 - mu tan a)      force along the push, a = angle of the face to it

Source: "Snap-Fit Joints for Plastics - A Design Guide", table 1 and p. 16. mu tan a >= 1 locks for
good.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from fab.params.shop import Filament
from fab.parts import fits
from fab.parts.cap import RIB_R, rib_z
from fab.parts.plan import Plan
from fab.units import GRAVITY_M_S2

SECANT = 0.5  # stress at yield over E times yield strain; from memory, +-30 %
GRAMS_PER_MM3 = 1e-3  # of 1 g/cm3
BOARD_DENSITY = 1.85  # glass-epoxy laminate, g/cm3, from memory


@dataclass(frozen=True)
class Leg:
    """One bending leg with its hook."""

    width: float
    root: float  # thickness at the root
    tip: float  # thickness at the hook as a share of the root
    length: float
    overhang: float  # what the hook must bend to get past, all of it
    holds: float  # what is left of it under load, the resting clearance taken off
    preload: float  # bend at rest
    in_deg: float  # faces, measured from the direction of the push
    out_deg: float

    def strain(self, bend: float) -> float:
        """Largest strain of the leg, as a share, when its hook is bent aside by `bend` mm."""
        return fits.leg_strain(self.root, self.tip, bend, self.length)

    def side_force(self, bend: float, modulus: float) -> float:
        """Force across the leg, N."""
        return deflection_force(self.width, self.root, self.length, self.strain(bend), modulus)


def deflection_force(
    width: float, root: float, length: float, strain: float, modulus: float
) -> float:
    """P = b h^2 E eps / (6 L), N; the root governs (tapered down to half and less)."""
    return width * root**2 * modulus * strain / (6 * length)


def wedge_factor(friction: float, angle_deg: float) -> float:
    """(mu + tan a) / (1 - mu tan a); infinite when the face locks for good."""
    tan = math.tan(math.radians(angle_deg)) if angle_deg < 90.0 - 1e-9 else math.inf
    below = 1.0 - friction * tan
    return (friction + tan) / below if below > 1e-9 else math.inf


def clip_leg(plan: Plan) -> Leg:
    """A leg of the clip. It bends inside one layer (printed on its side)."""
    clip = plan.params.clip
    rest = plan.fit("clip-hook")
    return Leg(
        clip.width,
        clip.leg,
        clip.tip,
        plan.clip.leg_length,
        clip.hook,
        clip.hook - rest,
        max(-rest, 0.0),
        clip.lead_in_deg,
        clip.return_deg,
    )


def tongue(plan: Plan) -> Leg:
    """A tongue of the base that holds the shell.

    Its layers lie across: it takes half the strain.
    """
    thick = min(plan.params.shell.snap_tongue, plan.params.base.wall)
    engage, rest = plan.params.shell.snap_engage, plan.fit("shell-snap")
    return Leg(
        plan.snap.width,
        thick,
        1.0,
        plan.snap.catch_z - plan.floor.top_z,
        engage,
        engage,
        max(-rest, 0.0),
        45.0,
        45.0,
    )


@dataclass(frozen=True)
class CrushRibs:
    """Crush ribs of a cap in the window's sides."""

    squeeze: float  # overlap per side
    stands_out: float  # how far a rib stands out of the plug
    length: float  # of a rib
    ribs: int

    def side_force(self, filament: Filament) -> float:
        """Force on one rib, N: a block as wide as the squeezed chord, pressed up to its yield.

        An estimate.
        """
        if self.squeeze <= 0:
            return 0.0
        chord = 2 * math.sqrt(2 * RIB_R * self.squeeze)
        yields = 3 * fits.STRAIN_ONCE[filament.material]
        strain = min(self.squeeze / self.stands_out, yields)
        return filament.modulus * SECANT * strain * chord * self.length

    def hold_force(self, filament: Filament) -> float:
        """Friction of all ribs, N; the same in and out."""
        return self.ribs * filament.friction * self.side_force(filament)


def cap_press(plan: Plan) -> CrushRibs:
    """The crush ribs of a design's cap; their overlap is the fit "cap", which is negative."""
    play, squeeze = plan.fit("cap-port"), -plan.fit("cap")
    low, high = rib_z(plan)
    return CrushRibs(squeeze, play + squeeze, high - low, 2)


def shell_weight_n(plan: Plan, filament: Filament) -> float:
    """Shell and diffuser, N: outlines times heights, as if printed solid (so not too small)."""
    ring = plan.rings.body.area_mm2 - plan.rings.rebate.area_mm2
    ledge = (plan.rings.rebate.area_mm2 - plan.rings.window.area_mm2) * (
        plan.heights.ledge_z - plan.heights.ledge_foot_z
    )
    corners = (plan.rings.rebate.area_mm2 - plan.rings.shell_inner.contour().area_mm2) * (
        plan.heights.corner_top_z - plan.floor.shell_z
    )
    shell = ring * (plan.heights.rim_z - plan.floor.shell_z) + ledge + max(corners, 0.0)
    sheet = plan.rings.diffuser.area_mm2 * plan.stock.thickness * plan.stock.density
    return (shell * filament.density + sheet) * GRAMS_PER_MM3 * GRAVITY_M_S2 / 1000


def panel_weight_n(plan: Plan, filament: Filament) -> float:
    """A whole panel, N; bought parts but the board left out."""
    wall = plan.rings.base_outer.contour().area_mm2 - plan.rings.base_inner.contour().area_mm2
    base = plan.rings.body.area_mm2 * plan.floor.top_z + wall * (
        plan.heights.wall_top_z - plan.floor.top_z
    )
    board = plan.rings.board.contour().area_mm2 * plan.params.board.thickness
    back = (base * filament.density + board * BOARD_DENSITY) * GRAMS_PER_MM3 * GRAVITY_M_S2 / 1000
    return back + shell_weight_n(plan, filament)
