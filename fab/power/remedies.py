"""Remedies for a wall that cannot be fed as asked: parameters and values.

Every value is tried on the wall before it is named.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from fab.errors import PanejigError
from fab.layout.model import Layout
from fab.params.job import PowerParams
from fab.params.panel import PanelParams
from fab.power.loads import USB_CLASSES_A
from fab.power.model import EdgeRoom, Wired
from fab.power.pins import pin_order
from fab.power.wire import wire
from fab.units import fixed

SMALL = 150  # panels up to which every cure is looked for; larger walls get the brightness only
MOST_TRIES = 6
# LEDs with a controller of their own are mostly made for 5 V, and a USB Type-C supply gives no more
USUAL_V = 5.0
Change = Callable[[int], tuple[PowerParams, Mapping[str, PanelParams]]]


def cures(
    layout: Layout,
    wired: Wired,
    power: PowerParams,
    designs: Mapping[str, PanelParams],
    *,
    rooms: Sequence[EdgeRoom],
    fault: str,
) -> tuple[str, ...]:
    """Settings ("power.brightness = 0.24"), each enough to let the wall hold.

    `fault`: "supply", "pins", "volts" or "logic".
    """
    wall = _Wall(layout, wired, rooms)
    found = [_brightness(wall, wired, power, designs)]
    if len(layout.panels) <= SMALL:
        if not power.inlet:
            found.append(_inlets(wall, len(wired.zones), power, designs))
        if fault == "supply":
            found.append(_supply(wall, power, designs))
        if fault in ("volts", "logic"):
            found += [_cable(wall, power, designs), _volts(wall, power, designs)]
        if fault == "pins":
            found.append(_pins(wall, power, designs))
    return tuple(cure for cure in found if cure)


class _Wall:
    def __init__(self, layout: Layout, wired: Wired, rooms: Sequence[EdgeRoom]) -> None:
        self.layout, self.wired, self.rooms = layout, wired, rooms

    def holds(self, power: PowerParams, designs: Mapping[str, PanelParams]) -> bool:
        """True when the wall is as bright as asked, and at least at one per cent."""
        known = self.wired
        try:
            made = wire(
                self.layout,
                known.loads,
                power,
                designs,
                self.rooms,
                links=known.links,
                heat=known.heat,
            )
            return made.possible >= made.brightness - 1e-9
        except PanejigError:
            return False

    def least(self, low: int, high: int, change: Change) -> int | None:
        """The least whole number in low..high that holds, by halving; None: not even `high`."""
        if low > high or not self.holds(*change(high)):
            return None
        while low < high:
            middle = (low + high) // 2
            if self.holds(*change(middle)):
                high = middle
            else:
                low = middle + 1
        return high


def _brightness(
    wall: _Wall, wired: Wired, power: PowerParams, designs: Mapping[str, PanelParams]
) -> str:
    if power.brightness is None:
        return ""
    top = math.ceil(power.brightness * 100 - 1e-9) - 1  # hundredths under the wanted one
    if len(wall.layout.panels) > SMALL:
        top = min(top, math.floor(wired.possible * 100 + 1e-9))
        works = top >= 1 and wall.holds(replace(power, brightness=top / 100), designs)
        return f"power.brightness = {fixed(top / 100)}" if works else ""
    dimmer = wall.least(0, top - 1, lambda k: (replace(power, brightness=(top - k) / 100), designs))
    return f"power.brightness = {fixed((top - dimmer) / 100)}" if dimmer is not None else ""


def _inlets(wall: _Wall, now: int, power: PowerParams, designs: Mapping[str, PanelParams]) -> str:
    for count in range(now + 1, min(now + MOST_TRIES, len(wall.layout.panels)) + 1):
        if wall.holds(replace(power, inlets=count), designs):
            return f"power.inlets = {count}"
    return ""


def _supply(wall: _Wall, power: PowerParams, designs: Mapping[str, PanelParams]) -> str:
    """A stronger supply: the next Type-C class, or with a round inlet any."""
    plug = any(design.inlet.kind == "usb-c" for design in designs.values())
    if plug:
        for step in USB_CLASSES_A:
            if step > power.supply_a and wall.holds(replace(power, supply_a=step), designs):
                return f"power.supply_a = {fixed(step)}"
    tenths = wall.least(
        math.floor(power.supply_a * 10) + 1,
        1000,
        lambda k: (replace(power, supply_a=k / 10), designs),
    )
    if tenths is None:
        return ""
    return f"power.supply_a = {fixed(tenths / 10)}" + (
        ' with panel.inlet.kind = "round"' if plug else ""
    )


def _cable(wall: _Wall, power: PowerParams, designs: Mapping[str, PanelParams]) -> str:
    """A thicker cable, in thousandths of an ohm per metre."""
    top = math.ceil(power.cable_ohm_per_m * 1000 - 1e-9) - 1
    lower = wall.least(
        0, top - 1, lambda k: (replace(power, cable_ohm_per_m=(top - k) / 1000), designs)
    )
    return f"power.cable_ohm_per_m = {fixed((top - lower) / 1000)}" if lower is not None else ""


def _volts(wall: _Wall, power: PowerParams, designs: Mapping[str, PanelParams]) -> str:
    """The usual supply, for one that gives less; never more volts than the usual LED takes."""
    works = power.supply_v < USUAL_V and wall.holds(replace(power, supply_v=USUAL_V), designs)
    return f"power.supply_v = {fixed(USUAL_V)}" if works else ""


def _pins(wall: _Wall, power: PowerParams, designs: Mapping[str, PanelParams]) -> str:
    """More pins for supply and ground, in an order that mates."""
    header = next(iter(designs.values())).header
    for more in range(1, 2 * MOST_TRIES):
        for supply in range(header.power_pins, header.power_pins + more + 1):
            ground = header.ground_pins + more - (supply - header.power_pins)
            wider = replace(header, pins=header.pins + more, power_pins=supply, ground_pins=ground)
            if wider.pins > 40 or pin_order(wider) is None:
                continue
            changed = {name: replace(design, header=wider) for name, design in designs.items()}
            if wall.holds(power, changed):
                where = " in every design" if len(designs) > 1 else ""
                return (
                    f"panel.header.pins = {wider.pins}, panel.header.power_pins = {supply} and "
                    f"panel.header.ground_pins = {ground}{where}"
                )
    return ""
