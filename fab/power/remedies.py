"""Remedies for a wall that cannot be fed as asked: parameters and values.

Every value is tried on the wall before it is named.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Callable
from dataclasses import replace

from fab.errors import PanejigError
from fab.params.job import PowerParams
from fab.power.fed_wall import FedWall
from fab.power.loads import USB_CLASSES_A
from fab.power.pins import pin_order
from fab.power.wire import wire
from fab.units import fixed

SMALL = 150  # panels up to which every cure is looked for; larger walls get the brightness only
MOST_TRIES = 6
# LEDs with a controller of their own are mostly made for 5 V, and a USB Type-C supply gives no more
USUAL_V = 5.0
Change = Callable[[int], PowerParams]


def cures(wall: FedWall, fault: str) -> str:
    """Settings as a sentence ("Set power.brightness = 0.24."), each enough to let the wall hold.

    `fault`: "supply", "pins", "volts" or "logic".
    """
    found = [_brightness(wall)]
    if len(wall.layout.panels) <= SMALL:
        if not wall.power.inlet:
            found.append(_inlets(wall))
        if fault == "supply":
            found.append(_supply(wall))
        if fault in ("volts", "logic"):
            found += [_cable(wall), _volts(wall)]
        if fault == "pins":
            found.append(_pins(wall))
    if told := ", or ".join(filter(None, found)):
        return f"Set {told}."
    return "Split the wall into smaller walls, or use another supply."


def _holds(wall: FedWall, power: PowerParams) -> bool:
    """True when the wall is as bright as asked, and at least at one per cent."""
    known = wall.wired
    try:
        made = wire(
            wall.layout,
            known.loads,
            power,
            wall.designs,
            wall.rooms,
            links=known.links,
            heat=known.heat,
        )
    except PanejigError:
        return False
    return made.possible >= made.brightness - 1e-9


def _least(wall: FedWall, low: int, high: int, change: Change) -> int | None:
    """The least whole number in low..high that holds, by halving; None: not even `high`."""
    if low > high or not _holds(wall, change(high)):
        return None
    return low + bisect_left(range(low, high), True, key=lambda k: _holds(wall, change(k)))


def _brightness(wall: FedWall) -> str:
    power = wall.power
    if power.brightness is None:
        return ""
    top = math.ceil(power.brightness * 100 - 1e-9) - 1  # hundredths under the wanted one
    if len(wall.layout.panels) > SMALL:
        top = min(top, math.floor(wall.wired.possible * 100 + 1e-9))
        works = top >= 1 and _holds(wall, replace(power, brightness=top / 100))
        return f"power.brightness = {fixed(top / 100)}" if works else ""
    dimmer = _least(wall, 0, top - 1, lambda k: replace(power, brightness=(top - k) / 100))
    return f"power.brightness = {fixed((top - dimmer) / 100)}" if dimmer is not None else ""


def _inlets(wall: FedWall) -> str:
    now = len(wall.wired.zones)
    for count in range(now + 1, min(now + MOST_TRIES, len(wall.layout.panels)) + 1):
        if _holds(wall, replace(wall.power, inlets=count)):
            return f"power.inlets = {count}"
    return ""


def _supply(wall: FedWall) -> str:
    """A stronger supply: the next Type-C class, or with a round inlet any."""
    power, plug = wall.power, any(made.inlet.kind == "usb-c" for made in wall.designs.values())
    if plug:
        for step in USB_CLASSES_A:
            if step > power.supply_a and _holds(wall, replace(power, supply_a=step)):
                return f"power.supply_a = {fixed(step)}"
    first = math.floor(power.supply_a * 10) + 1
    tenths = _least(wall, first, 1000, lambda k: replace(power, supply_a=k / 10))
    if tenths is None:
        return ""
    kind = ' with panel.inlet.kind = "round"' if plug else ""
    return f"power.supply_a = {fixed(tenths / 10)}{kind}"


def _cable(wall: FedWall) -> str:
    """A thicker cable, in thousandths of an ohm per metre."""
    power = wall.power
    top = math.ceil(power.cable_ohm_per_m * 1000 - 1e-9) - 1
    lower = _least(wall, 0, top - 1, lambda k: replace(power, cable_ohm_per_m=(top - k) / 1000))
    return f"power.cable_ohm_per_m = {fixed((top - lower) / 1000)}" if lower is not None else ""


def _volts(wall: FedWall) -> str:
    """The usual supply, for one that gives less; never more volts than the usual LED takes."""
    power = wall.power
    works = power.supply_v < USUAL_V and _holds(wall, replace(power, supply_v=USUAL_V))
    return f"power.supply_v = {fixed(USUAL_V)}" if works else ""


def _pins(wall: FedWall) -> str:
    """More pins for supply and ground, in an order that mates."""
    header = next(iter(wall.designs.values())).header
    for more in range(1, 2 * MOST_TRIES):
        for supply in range(header.power_pins, header.power_pins + more + 1):
            ground = header.ground_pins + more - (supply - header.power_pins)
            wider = replace(header, pins=header.pins + more, power_pins=supply, ground_pins=ground)
            if wider.pins > 40 or pin_order(wider) is None:
                continue
            changed = {name: replace(design, header=wider) for name, design in wall.designs.items()}
            if _holds(replace(wall, designs=changed), wall.power):
                where = " in every design" if len(wall.designs) > 1 else ""
                return (
                    f"panel.header.pins = {wider.pins}, panel.header.power_pins = {supply} and "
                    f"panel.header.ground_pins = {ground}{where}"
                )
    return ""
