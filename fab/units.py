"""Unit factors, number formatting and named tolerances. Imports nothing of ours.

Inside the program a length is in millimetres, an angle in degrees (`_rad` where a formula wants
radians), a mass in grams, a force in newtons.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

MM_PER_INCH = 25.4  # exact by definition (international inch, 1959)
GRAVITY_M_S2 = 9.80665  # standard gravity, 3rd CGPM 1901

JOIN_TOL_MM = 1e-6  # two ends closer than this are one point of a contour
FLAT_TOL_MM = 0.01  # a facet may stray this far from its true curve where facets are needed
SAME_EDGE_TOL = 1e-6  # share of the pitch within which two edges are one joint
MESH_TOL_MM = 0.02  # chord tolerance of every STL and 3MF mesh
MESH_TOL_RAD = 0.1  # angular tolerance that goes with it
VOLUME_TOL_MM3 = 1e-3  # an overlap below this is numerical dust, not a clash


def fixed(value: float, places: int = 3) -> str:
    """`value` with at most `places` decimals, no trailing zeros, never "-0", never an exponent.

    Raises ValueError for NaN and infinities: they must not reach a machine.
    """
    if not math.isfinite(value):
        raise ValueError(f"{value} is not a number that a file can hold")
    text = f"{value:.{places}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in {"-0", ""} else text


def some(count: int, word: str) -> str:
    """ "1 panel", "2 panels", "1,200 bodies": the one place where plurals are made."""
    return f"{count:,} {word if count == 1 else _many(word)}"


IRREGULAR = {"foot": "feet", "person": "people"}


def _many(word: str) -> str:
    """The plural of an English noun; of the irregular ones those that we use."""
    for one, more in IRREGULAR.items():
        if word.endswith(one):
            return word.removesuffix(one) + more
    if word.endswith("y") and word[-2:-1] not in "aeiou":
        return word[:-1] + "ies"
    return word + ("es" if word.endswith(("s", "x", "ch", "sh")) else "s")


def names_of(names: Sequence[str]) -> str:
    """Names in a row, a long row cut short."""
    if len(names) <= 12:
        return ", ".join(names)
    return f"{', '.join(names[:10])} and {len(names) - 10} more"


SIGNS = {"degC": "°C", "mm2": "mm²", "mm3": "mm³", "N/mm2": "N/mm²", "deg": "°", "ohm": "Ω"}


def figure(value: float, unit: str = "") -> str:
    """A measure for people: four significant figures, at most three decimals from 0.1 on, no
    exponent, its unit after a space.

    One thing of a unit is one ("1 panel"); "none" for what is not finite.
    """
    if not math.isfinite(value):
        return "none"
    places = 4 - (math.floor(math.log10(abs(value))) + 1) if value else 0
    text = fixed(value, min(max(places, 0), 3 if abs(value) >= 0.1 else 6))
    sign = SIGNS.get(unit, unit)
    if text == "1" and sign.endswith("s") and len(sign) > 1:
        sign = sign.removesuffix("s")
    return f"{text} {sign}".rstrip() if sign != "°" else f"{text}°"


def percent(share: float, places: int = 0) -> str:
    """ "54 %" for 0.54."""
    return f"{share * 100:.{places}f} %"


def inches(value_mm: float) -> float:
    """Millimetres to inches."""
    return value_mm / MM_PER_INCH


def tool_size(value_mm: float, *, in_inches: bool) -> str:
    """A size as on a drill or tape: "6 mm", or "5/16 in" for whole 64ths of an inch."""
    if not in_inches:
        return f"{fixed(value_mm)} mm"
    parts = round(inches(value_mm) * 64)
    if parts < 1 or abs(parts / 64 * MM_PER_INCH - value_mm) > 0.01:
        return f"{fixed(inches(value_mm))} in"
    whole, rest = divmod(parts, 64)
    common = math.gcd(rest, 64)
    fraction = f"{rest // common}/{64 // common}" if rest else ""
    return " ".join(word for word in (str(whole) if whole else "", fraction) if word) + " in"
