"""What a print uses up: grams, metres of filament, hours, money. An estimate from a part's volume, surface and height.

The skin is worked out from the surface: walls are `perimeters` lines thick, faces that lie flat `skin_layers` layers;
what the skin leaves of the volume is filled by `infill`. How much of the surface lies flat is not known here; a solid
of volume V and height h has at least V / h of it above and below each (exactly that for an upright prism), so twice
V / h is taken as flat. Where two skins overlap at an edge they are counted twice: the figure errs to the heavy side,
by up to some ten per cent for stout parts and by nothing for parts that are all wall.

The shop's rate is the volume laid per second over a whole job, so travel and heating are in it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from fab.errors import BrokenGeometry
from fab.params.shop import Filament, Printer

MM3_PER_CM3 = 1000.0
SECONDS_PER_HOUR = 3600.0


@dataclass(frozen=True)
class Printed:
    """What one object, or several, use up."""

    grams: float
    metres: float  # of filament
    hours: float
    cost: float  # in the shop's currency, filament only

    def times(self, count: int) -> Printed:
        return Printed(self.grams * count, self.metres * count, self.hours * count, self.cost * count)


def printed(volume_mm3: float, area_mm2: float, height_mm: float, printer: Printer, filament: Filament) -> Printed:
    """What one object uses up: volume and surface of its solid, height as it stands on the bed."""
    if not (volume_mm3 > 0 and area_mm2 > 0 and height_mm > 0 and math.isfinite(volume_mm3 + area_mm2 + height_mm)):
        raise BrokenGeometry(f"an object of {volume_mm3} mm3, {area_mm2} mm2 and {height_mm} mm can't be printed")
    laid = laid_mm3(volume_mm3, area_mm2, height_mm, printer)
    grams = laid / MM3_PER_CM3 * filament.density
    return Printed(
        grams, filament_metres(grams, filament), laid / printer.rate_mm3_s / SECONDS_PER_HOUR,
        grams / 1000.0 * filament.price_per_kg,
    )  # fmt: skip


def laid_mm3(volume_mm3: float, area_mm2: float, height_mm: float, printer: Printer) -> float:
    """Volume of plastic: skin and infill. Never more than the solid."""
    flat = min(2 * volume_mm3 / height_mm, area_mm2)
    skin = flat * printer.skin_layers * printer.layer + (area_mm2 - flat) * printer.perimeters * printer.extrusion_width
    skin = min(skin, volume_mm3)
    return skin + (volume_mm3 - skin) * printer.infill


def filament_metres(grams: float, filament: Filament) -> float:
    """Length of filament that weighs `grams`."""
    return grams / filament.density * MM3_PER_CM3 / (math.pi * filament.diameter**2 / 4) / 1000.0


def bead_mm2(width_mm: float, layer_mm: float) -> float:
    """Cross-section of one printed line: flat above and below, round at both sides. From memory, common in slicing."""
    if width_mm < layer_mm:
        raise BrokenGeometry(f"a line {width_mm} mm wide can't be {layer_mm} mm high")
    return (width_mm - layer_mm) * layer_mm + math.pi * layer_mm**2 / 4


def line_speed_mm_s(printer: Printer) -> float:
    """The mean speed of the nozzle that the shop's rate stands for: a figure to hold against the machine's own."""
    return printer.rate_mm3_s / bead_mm2(printer.extrusion_width, printer.layer)


def total(uses: Iterable[Printed]) -> Printed:
    """All of them together."""
    each = list(uses)
    return Printed(
        math.fsum(use.grams for use in each), math.fsum(use.metres for use in each),
        math.fsum(use.hours for use in each), math.fsum(use.cost for use in each),
    )  # fmt: skip
