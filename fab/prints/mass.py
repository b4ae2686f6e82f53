"""Material, time and cost of a print: grams, metres of filament, hours, money, from the lines of
its layers.

A move of length l at speed v between two corners passed at speed u, with acceleration a, takes l /
v + (v - u)^2 / (a v), and 2 (sqrt(u^2 + a l) - u) / a where it is too short to reach v: elementary
kinematics.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from fab.params.shop import Filament, Printer
from fab.prints.layercount import LayerCount, Lines, bead_mm2, spacing_mm

MM3_PER_CM3 = 1000.0
SECONDS_PER_HOUR = 3600.0
# filament drawn back before a travel and pushed on after it; common practice, no source
START_S = 0.1
CORNER_MM_S = 10.0  # speed that a head keeps at a sharp corner; common practice 8 to 15, no source


@dataclass(frozen=True)
class PrintUse:
    """Material, time and cost of one object, or of several."""

    grams: float
    metres: float  # of filament
    hours: float
    cost: float  # in the shop's currency, filament only

    def times(self, count: int) -> PrintUse:
        """The same for `count` objects."""
        return PrintUse(
            self.grams * count, self.metres * count, self.hours * count, self.cost * count
        )


def printed(count: LayerCount, printer: Printer, filament: Filament) -> PrintUse:
    """Material, time and cost of an object of these lines."""
    whole = count.first + count.rest
    grams = laid_mm3(whole, printer) / MM3_PER_CM3 * filament.density
    seconds = _seconds(count.first, printer, first=True) + _seconds(
        count.rest, printer, first=False
    )
    return PrintUse(
        grams,
        filament_metres(grams, filament),
        seconds * printer.time_factor / SECONDS_PER_HOUR,
        grams / 1000.0 * filament.price_per_kg,
    )


def laid_mm3(lines: Lines, printer: Printer) -> float:
    """Volume of plastic. Lines over air are round threads of the nozzle's bore."""
    bead = bead_mm2(printer.extrusion_width, printer.layer)
    thread = math.pi * printer.nozzle**2 / 4
    flat = lines.outer_mm + lines.inner_mm + lines.skin_mm + infill_mm(lines, printer)
    hung = lines.bridge_mm
    if printer.infill < 1.0:
        hung += lines.span_mm
    else:  # on solid ground: flat lines of a layer's height
        flat += lines.span_mm * printer.extrusion_width / spacing_mm(printer)
    return flat * bead + hung * thread


def infill_mm(lines: Lines, printer: Printer) -> float:
    """Length of the loose fill: its lines, and the way along the edge from the end of each to the
    next.
    """
    share = printer.infill
    turns = lines.rim_mm / math.pi if 0.0 < share < 1.0 else 0.0
    return min(lines.loose_mm * share + turns, lines.loose_mm)


def filament_metres(grams: float, filament: Filament) -> float:
    """Length of filament that weighs `grams`."""
    return grams / filament.density * MM3_PER_CM3 / (math.pi * filament.diameter**2 / 4) / 1000.0


def _seconds(lines: Lines, printer: Printer, *, first: bool) -> float:
    """Time of the lines of the first layer, or of those above."""
    bead = bead_mm2(printer.extrusion_width, printer.layer)
    melted = printer.flow_mm3_s / bead
    bridged = printer.flow_mm3_s / (math.pi * printer.nozzle**2 / 4)
    loose = infill_mm(lines, printer)
    loose_stops = lines.rim_mm / math.pi / spacing_mm(printer) * printer.infill
    over = (
        min(printer.bridge_mm_s, bridged)
        if printer.infill < 1.0
        else min(printer.fill_mm_s, melted)
    )
    rows = (
        (lines.outer_mm, lines.outer_stops, min(printer.outer_mm_s, melted)),
        (lines.inner_mm, lines.inner_stops, min(printer.inner_mm_s, melted)),
        (lines.skin_mm, lines.skin_stops, min(printer.fill_mm_s, melted)),
        (loose, loose_stops, min(printer.fill_mm_s, melted)),
        (lines.bridge_mm, lines.bridge_stops, min(printer.bridge_mm_s, bridged)),
        (lines.span_mm, lines.span_stops, over),
    )
    total = lines.starts * START_S
    total += _moves(lines.travel_mm, lines.starts, printer.travel_mm_s, printer)
    for length, stops, speed in rows:
        total += _moves(length, stops, min(speed, printer.first_mm_s) if first else speed, printer)
    return total


def _moves(length_mm: float, stops: float, speed: float, printer: Printer) -> float:
    """Seconds of moves that are `length_mm` long together, each begun and ended at the speed of a
    sharp corner.
    """
    if length_mm <= 0.0:
        return 0.0
    acceleration, slow = printer.acceleration_mm_s2, min(CORNER_MM_S, speed)
    each = length_mm / max(stops, 1e-9)
    if each >= (speed**2 - slow**2) / acceleration:
        return length_mm / speed + stops * (speed - slow) ** 2 / (acceleration * speed)
    top = math.sqrt(slow**2 + acceleration * each)
    return stops * 2 * (top - slow) / acceleration


def total(uses: Iterable[PrintUse]) -> PrintUse:
    """All of them together."""
    each = list(uses)
    return PrintUse(
        math.fsum(use.grams for use in each),
        math.fsum(use.metres for use in each),
        math.fsum(use.hours for use in each),
        math.fsum(use.cost for use in each),
    )
