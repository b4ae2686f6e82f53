"""From real times of prints and cuts to the factor by which a machine takes longer than calculated.

A machine brakes, cools and moves in ways that no short sum knows; one factor a machine takes that
up. A reading is a real time over the calculated one, as book and lists give it. The calculated time
has the shop's present factor in it, so the new factor is the present one times the sum of real
times over the sum of calculated ones: a long job counts for more than a short one.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

from fab.errors import Fault, InputError
from fab.params.quoting import clean, show
from fab.parts.coupons.reading import CouponValue, Key
from fab.units import fixed, some

PER_HOUR = 3600.0
PER_MINUTE = 60.0
UNITS = {"h": PER_HOUR, "min": PER_MINUTE, "s": 1.0}
CLOCK = re.compile(r"(\d{1,4}):([0-5]?\d)(?::([0-5]?\d))?", re.ASCII)
AMOUNT = re.compile(r"(\d{1,7}(?:\.\d{1,6})?)\s*(h|min|s)?", re.ASCII)
LEAST, MOST = 0.1, 10.0  # what the keys take
APART = 0.2  # readings whose factors differ by more than this share are worth a second look


@dataclass(frozen=True)
class Machine:
    """Whose factor it is: where it stands, its words, and the seconds of a bare number and of its
    last digit.
    """

    key: Key
    what: str
    unit_s: float
    fine_s: float


MACHINES = {
    "hours": Machine(
        ("printer", "time_factor"), "real over calculated hours of a print", PER_HOUR, PER_MINUTE
    ),
    "minutes": Machine(
        ("laser", "time_factor"), "real over calculated minutes of a cut", PER_MINUTE, 1.0
    ),
}


@dataclass(frozen=True)
class MachineRun:
    """One print or cut, in seconds."""

    real: float
    calculated: float


def runs(kind: str, words: Sequence[str]) -> list[MachineRun]:
    """REAL/CALCULATED, each a bare number, a number with h, min or s, or a clock.

    Raises InputError with all faults.
    """
    machine = MACHINES[kind]
    found, faults = [], []
    for word in words:
        parts = [_seconds(part.strip(), machine) for part in word.split("/")]
        if len(parts) == 2 and parts[0] and parts[1]:
            found.append(MachineRun(parts[0], parts[1]))
            continue
        works = (
            f"Give the real time over the calculated one: 5:20/4.9, or 320min/4.9h ({kind} without"
            " a unit)."
        )
        faults.append(
            Fault(
                "reading",
                (f"{show(clean(word))} is not a pair of real and calculated time."),
                works,
            )
        )
    if faults:
        raise InputError(faults)
    return found


def time_factor(kind: str, found: Sequence[MachineRun], present: float) -> CouponValue:
    """The factor of a machine. Raises InputError when it is outside what the key takes."""
    machine = MACHINES[kind]
    real, calculated = (
        math.fsum(one) for one in zip(*((r.real, r.calculated) for r in found), strict=True)
    )
    share = real / calculated
    value = round(present * share, 3)
    if not LEAST <= value <= MOST:
        raise InputError(
            f"{machine.what}: {fixed(value, 3)} is out of range; {'.'.join(machine.key)} allows"
            f" {fixed(LEAST)} to {fixed(MOST)}. Give the real time first and both in {kind}, or"
            " with h, min or s behind them."
        )
    shares = [one.real / one.calculated for one in found]
    off = math.fsum((one - share) ** 2 for one in shares)
    scatter = math.sqrt(off / (len(found) - 1) / len(found)) if len(found) > 1 else 0.0
    error = present * math.hypot(machine.fine_s / calculated, scatter)
    unit = "h" if kind == "hours" else "min"
    says = [
        f"{some(len(found), 'run')}: {fixed(real / machine.unit_s, 2)} {unit} real,"
        f" {fixed(calculated / machine.unit_s, 2)} {unit} calculated with a factor of"
        f" {fixed(present, 3)}"
    ]
    doubts = []
    if max(shares) - min(shares) > APART * share:
        low, high = fixed(min(shares) * present, 2), fixed(max(shares) * present, 2)
        doubts.append(
            f"the runs alone give {low} to {high}: were all of them made at the same settings?"
        )
    return CouponValue(machine.key, machine.what, value, error, "times", tuple(says), tuple(doubts))


def _seconds(word: str, machine: Machine) -> float:
    """Seconds; 0 for what is no time.

    A clock is h:mm for hours, m:ss for minutes, h:mm:ss for both.
    """
    if clock := CLOCK.fullmatch(word):
        first, second, third = (int(part or 0) for part in clock.groups())
        if clock[3] is not None:
            return first * PER_HOUR + second * PER_MINUTE + third
        return first * machine.unit_s + second * machine.unit_s / 60
    if amount := AMOUNT.fullmatch(word):
        return float(amount[1]) * (UNITS[amount[2]] if amount[2] else machine.unit_s)
    return 0.0
