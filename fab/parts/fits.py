"""Fits: for each two parts that meet, one value here. Nothing else in the program knows a
clearance.

Also the snap-fit formula that sets the length of a leg, and the tables behind it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from fab.params.panel import ClipParams
from fab.params.shop import Clearance, Filament, Stock

Class = Literal["sliding", "location", "press", "seat", "snap"]

# upright face of a hook's nose, mm: two layers and a bit, so that the nose prints whole
NOSE_FLAT = 0.5


@dataclass(frozen=True)
class Fit:
    """One pair of parts, its class, and what it is for."""

    name: str
    pair: tuple[str, str]
    kind: Class
    why: str

    def clearance(self, shop: Clearance) -> float:
        """Clearance per side, mm; negative is overlap."""
        return {
            "sliding": shop.sliding,
            "location": shop.location,
            "press": shop.press,
            "seat": shop.seat,
            "snap": shop.snap,
        }[self.kind]


FITS: dict[str, Fit] = {
    fit.name: fit
    for fit in (
        Fit(
            "lap",
            ("shell", "base"),
            "sliding",
            "the shell drops over the base wall and comes off again",
        ),
        Fit(
            "seat",
            ("diffuser", "shell"),
            "seat",
            "the sheet may grow when warm and still lies flat",
        ),
        Fit("clip", ("clip", "base"), "location", "the foot of a clip draws two bases together"),
        Fit("clip-hook", ("clip", "base"), "snap", "the hook rests without load"),
        Fit("cap", ("cap", "base"), "press", "the plug of a cap is squeezed by its ribs"),
        Fit("cap-port", ("cap", "shell"), "sliding", "the shell lifts off past the cap"),
        Fit("foot", ("foot", "base"), "press", "the stub of a foot is squeezed by its ribs"),
        Fit(
            "foot-stub",
            ("foot", "base"),
            "sliding",
            "the stub itself goes into its recess without force",
        ),
        Fit("inlet", ("inlet", "base"), "location", "the receptacle's board in its cradle"),
        Fit("mark", ("base", "board"), "location", "the peg of the mark in its hole of the board"),
        Fit("hanger", ("screw", "base"), "sliding", "the shank runs up the slot"),
        Fit("shell-snap", ("shell", "base"), "snap", "the tongue's hook rests in its pocket"),
    )
}

# Permissible strain of printed snaps used once, along the layers: a third of the yield strain.
# Source: snap-fit notes for printed parts derived from filament data sheets (PLA 2.9 %, PETG 5.1 %,
# ASA 3.4 % yield); PC is the moulding guide's Table 2 value halved for printing, ABS and PA from
# memory, on the low side.
STRAIN_ONCE = {"PLA": 0.010, "PETG": 0.017, "ASA": 0.011, "ABS": 0.011, "PA": 0.025, "PC": 0.020}
REPEATED = 0.6  # "Snap-Fit Joints for Plastics - A Design Guide": frequent re-joining x 0.6
ACROSS_LAYERS = 0.5  # the same printed-snap notes: halve again when the layers lie across the leg


def repeated_strain(filament: Filament) -> float:
    """Strain that a snap printed on its side may take again and again."""
    if filament.snap_strain is not None:
        return filament.snap_strain
    return STRAIN_ONCE[filament.material] * REPEATED


def taper_factor(tip: float) -> float:
    """K of a leg whose thickness falls linearly to `tip` of its root (0.5 <= tip <= 1).

    y = (2/3) K eps L^2 / h. Closed form of the cantilever integral; K(1) = 1, K(0.5) = 1.6355.
    """
    if tip > 0.999:
        return 1.0
    return 3 * (-math.log(tip) + 2 * tip - tip**2 / 2 - 1.5) / (1 - tip) ** 3


def leg_strain(root: float, tip: float, deflection: float, length: float) -> float:
    """Strain at the root of a leg: eps = 1.5 h y / (K L^2). Source: the design guide, table 1."""
    return 1.5 * root * deflection / (taper_factor(tip) * length**2)


def shortest_leg(clip: ClipParams, strain_limit: float) -> float:
    """Shortest leg whose hook may bend out of the way again and again, rounded up to 0.1 mm."""
    exact = math.sqrt(1.5 * clip.leg * clip.hook / (taper_factor(clip.tip) * strain_limit))
    return math.ceil(exact * 10 - 1e-9) / 10


def thickness_tolerance(stock: Stock) -> float:
    """Plus and minus of the sheet's thickness.

    Cast acrylic +-(0.4 + 0.1 t) mm: ISO 7823-1. Extruded +-10 % under 3 mm, +-5 % from 3 mm: ISO
    7823-2. Both as quoted by a sheet maker's tolerance notes. A sheet measured here: +-0.1 mm,
    common practice.
    """
    if stock.tolerance is not None:
        return stock.tolerance
    if stock.made == "cast":
        return 0.4 + 0.1 * stock.thickness
    if stock.made == "extruded":
        return stock.thickness * (0.05 if stock.thickness >= 3.0 else 0.10)
    return 0.1
