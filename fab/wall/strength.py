"""The strength of a keyhole and a joint: elementary shear and bearing against a stress that the
print takes for good.

The safe stress is E times the strain that a snap of this filament may take again and again times
0.5 for the curve's bend: some fifth of the yield stress (PETG 1900 N/mm2 x 1.02 % x 0.5 = 9.7
N/mm2). Shear: half of it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from fab.params.shop import Filament
from fab.parts import fits, snap
from fab.parts.keyhole import Keyhole
from fab.parts.plan import Plan
from fab.wall.model import JointStrength

JERK = 2.0  # clips bear this many times what a joint is trusted with; common practice, no source


def safe_stress(filament: Filament) -> float:
    """N/mm2 that a printed part bears for years along its layers."""
    return filament.modulus * fits.repeated_strain(filament) * snap.SECANT


def safe_shear(filament: Filament) -> float:
    """Permissible shear stress, N/mm2: half the permissible tensile one (Tresca)."""
    return safe_stress(filament) / 2


@dataclass(frozen=True)
class KeyholeUse:
    """Stresses of one keyhole, N/mm2, and how its screw's head sits."""

    bearing: float  # shank on the slot's end: F / (d t)
    shear_out: float  # the strip over the slot torn out: F / (2 e t)
    lip: float  # the head pulled through: T / (rim under the head x t)
    overhang: float  # head over the slot, per side, mm
    # how far the shank is past the entry's edge, less its radius, mm; over 0: it is all in the slot
    seated: float


def keyhole_use(plan: Plan, hole: Keyhole, shear_n: float, pull_n: float) -> KeyholeUse:
    """Stresses around a keyhole whose screw carries `shear_n` along and `pull_n` out of the
    wall.
    """
    hanger, floor = plan.params.hanger, plan.floor.top_z
    angle = math.atan2(hole.rest[1] - hole.entry[1], hole.rest[0] - hole.entry[0])
    steps = [2 * math.pi * k / plan.cell.sides for k in range(plan.cell.sides)]
    rim = min(
        (plan.rings.body_apothem - hole.rest[0] * math.cos(step) - hole.rest[1] * math.sin(step))
        / math.cos(step - angle)
        for step in steps
        if math.cos(step - angle) > 1e-9
    )
    strip = max(rim - hole.slot_w / 2, 1e-9)
    inside = math.asin(min(hole.slot_w / hanger.head_d, 1.0))
    under = hanger.head_d * (math.pi - 2 * inside)
    return KeyholeUse(
        shear_n / (hanger.screw_d * floor),
        shear_n / (2 * strip * floor),
        pull_n / max(under * floor, 1e-9),
        (hanger.head_d - hole.slot_w) / 2,
        hole.travel - hole.entry_d / 2 - hanger.screw_d / 2,
    )


def joint_strength(plans: Mapping[str, Plan], filament: Filament) -> JointStrength:
    """Return the load that one clip of the weakest design may carry, from its geometry and the
    filament; stiffness stays the default.

    Across: the leg's root sheared, the bar torn, or the foot crushed; along: the bar crushed in its
    channel; lift: the hook pulled over its face (the snap formula). All over `JERK`.
    """
    stress, shear = safe_stress(filament), safe_shear(filament)
    across, along, lift = [], [], []
    for plan in plans.values():
        clip, leg = plan.params.clip, snap.clip_leg(plan)
        foot = max(plan.floor.top_z - plan.clip.bar_top_z, 0.0)
        across.append(
            min(
                clip.width * clip.leg * shear,
                clip.width * clip.bar * stress,
                clip.width * foot * stress,
            )
        )
        along.append(clip.bar * plan.clip.cavity_u * stress)
        held = leg.side_force(max(leg.holds, 0.0), filament.modulus)
        lift.append(held * snap.wedge_factor(filament.friction, leg.out_deg))
    return JointStrength(
        min(across) / JERK,
        min(along) / JERK,
        min(lift) / JERK,
        source="elementary shear and bearing of the clip, and the snap formula of `snap.clip-pull`",
    )
