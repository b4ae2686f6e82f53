"""From supply to zone: advertised current, fuse, wire, inrush, and the controller's level.

Sources: USB Type-C Cable and Connector Specification, clause 4.11.1 (Rp, Rd) and 4.11.3 (voltages
on CC), the figures
as ST UM2191 tables 2 and 3 and data sheets of Type-C controllers repeat them; its clause 4.4 (drop
in a cable) and
USB 2.0 clause 7.2.4.1 (10 uF behind a plug without soft start) from memory. Copper: IEC 60028.
Cross-sections:
IEC 60228 and ASTM B258 (AWG), from memory.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from fab.power.ohms import COPPER_OHM_M

# Current that a Type-C source drives out of CC when it advertises a class: ampere of the class ->
# (uA, tolerance).
CC_UA = {0.5: (80.0, 0.20), 0.9: (80.0, 0.20), 1.5: (180.0, 0.08), 3.0: (330.0, 0.08)}
# Volts on CC that a sink is sure to read as that class.
CC_V = {0.5: (0.25, 0.61), 0.9: (0.25, 0.61), 1.5: (0.70, 1.16), 3.0: (1.31, 2.04)}
CABLE_DROP_V = 0.75  # supply 0.5 V and ground 0.25 V of a Type-C cable at its rated current
PLUG_UF = 10.0  # what a sink may hang on the supply at the moment of plugging in
# Cross-sections of flexible wire that are sold, mm2, with the American gauge that is at least as
# thick.
WIRES = (
    (0.14, 25),
    (0.22, 23),
    (0.34, 21),
    (0.5, 20),
    (0.75, 18),
    (1.0, 17),
    (1.5, 15),
    (2.5, 13),
    (4.0, 11),
    (6.0, 9),
)


@dataclass(frozen=True)
class CcReading:
    """Volts that the pull-downs of an inlet make of a class that the source advertises."""

    class_a: float
    least_v: float
    most_v: float
    low_v: float  # limits between which the class is read for sure
    high_v: float

    @property
    def headroom_v(self) -> float:
        """Distance of both ends inside the limits, V; negative outside."""
        return min(self.least_v - self.low_v, self.high_v - self.most_v)


def cc_reading(class_a: float, ohm: float, tolerance: float) -> CcReading:
    """Return the span of volts on CC for one class, over all tolerances."""
    micro, stray = CC_UA[class_a]
    nominal = micro * 1e-6 * ohm
    low, high = CC_V[class_a]
    return CcReading(
        class_a,
        nominal * (1 - stray) * (1 - tolerance),
        nominal * (1 + stray) * (1 + tolerance),
        low,
        high,
    )


def wire_mm2(ohm_per_m: float) -> float:
    """Return the area of each of two wires with this ohm a metre there and back, mm2."""
    return math.inf if ohm_per_m <= 0 else 2 * COPPER_OHM_M * 1e6 / ohm_per_m


def wire_for(ohm_per_m: float) -> tuple[float, int] | None:
    """Return the thinnest sold wire within a resistance, (mm2, gauge no thinner), or None."""
    need = wire_mm2(ohm_per_m)
    return next((wire for wire in WIRES if wire[0] >= need - 1e-9), None)


def farads_uf(panels: int, leds: int, bulk_uf: float, bypass_nf: float) -> float:
    """Return the capacitance behind an inlet, uF."""
    return panels * bulk_uf + leds * bypass_nf / 1000.0


def inrush_a(capacity_uf: float, supply_v: float, ramp_ms: float) -> float:
    """Return the current that fills the capacitors at an even ramp, A: I = C dV/dt."""
    return capacity_uf * 1e-6 * supply_v / (ramp_ms * 1e-3)


def track_mm(current_a: float, copper_um: float) -> float:
    """Return the width of an outer copper track that warms by 10 K with a current, mm.

    IPC-2221 clause 6.2: I = 0.048 dT^0.44 A^0.725, A in square mil (constants from memory).
    """
    area_mil2: float = (current_a / (0.048 * 10.0**0.44)) ** (1 / 0.725)
    return area_mil2 * 0.0254**2 / (copper_um * 1e-3)


def shifter_needed(logic_v: float, led_v: float, high: float, margin_v: float) -> bool:
    """True when a controller's high level is below, or near, the first LED's share of `led_v`."""
    return logic_v < high * led_v + margin_v - 1e-9
