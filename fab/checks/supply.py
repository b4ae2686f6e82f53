"""Checks of a zone's supply: its class, fuse, cable, inrush, level of the data.

Figures from `fab/power/supply.py`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from fab.checks.model import Verdict, at_least, at_most, judge
from fab.layout.model import Layout
from fab.params.job import PowerParams
from fab.params.panel import PanelParams
from fab.power import supply
from fab.power.cables import fuse_for
from fab.power.fed_wall import FedWall
from fab.power.limits import HIGH, LOW, MARGIN_V
from fab.power.loads import usb_class
from fab.power.model import Wired, Zone
from fab.power.route import DataRoute, hop_levels
from fab.units import fixed

LEAST_RAMP_MS = 10  # what load switches are sold for at least; common practice, no source
CC_SOURCE = "USB Type-C specification 4.11.1 and 4.11.3: Rp and Rd, voltages on CC"
LEVEL_SOURCE = (
    "input level 0.7 of the supply, usual in data sheets of addressable LEDs, from memory; "
    "margin: practice"
)


def supply_checks(wall: FedWall, route: DataRoute) -> tuple[Verdict, ...]:
    """Verdicts about inlets, fuses, cables, inrush and data levels of a wall that is fed."""
    wired, power = wall.wired, wall.power
    if not wired.zones:
        return ()
    inlets = {zone: wall.design(zone.inlet_panel) for zone in wired.zones}
    return (
        *_advertised(wired.zones, inlets, power),
        _fuse(wired.zones, power),
        _gauge(power),
        *_cable_drop(wired.zones, inlets, power),
        _inrush(wall),
        _level(wired, power, route),
        *_hops(wired, route),
    )


def _advertised(
    zones: Sequence[Zone], inlets: Mapping[Zone, PanelParams], power: PowerParams
) -> Iterator[Verdict]:
    """The pull-downs of Type-C inlets, and the class that their supply has to advertise."""
    usb = [zone for zone in zones if inlets[zone].inlet.kind == "usb-c"]
    if not usb:
        return
    busy = max(usb, key=lambda zone: (round(zone.current_a, 9), -zone.index))
    wanted = usb_class(busy.current_a)
    yield judge(
        "power.advertised",
        f"zone {busy.index}",
        at_most(busy.current_a, usb_class(power.supply_a) or 3.0, "A"),
        f"The supply must advertise {fixed(wanted)} A at 5 V; a supply that advertises less may"
        " switch off."
        if wanted
        else f"No Type-C supply advertises {fixed(busy.current_a)} A at 5 V: the maximum is 3 A.",
        remedy="Lower power.brightness, or use more inlets (power.inlets).",
        source="USB Type-C specification 4.5.2.3: a sink takes no more than the source advertises",
    )
    inlet = inlets[busy].inlet
    reading = supply.cc_reading(usb_class(power.supply_a) or 3.0, inlet.cc_ohm, inlet.cc_tolerance)
    yield judge(
        "power.cc",
        f"inlet of {busy.inlet_panel}",
        at_least(reading.headroom_v, 0.0, "V"),
        f"Two resistors of {fixed(inlet.cc_ohm)} ohm from CC1 and CC2 to ground read"
        f" {fixed(reading.least_v)} to {fixed(reading.most_v)} V for {fixed(reading.class_a)} A"
        f" ({fixed(reading.low_v)} to {fixed(reading.high_v)} V is that class). Without these"
        " resistors a C-to-C cable carries no supply.",
        remedy="Set panel.inlet.cc_ohm = 5100 and panel.inlet.cc_tolerance = 0.01.",
        source=CC_SOURCE,
    )


def _fuse(zones: Sequence[Zone], power: PowerParams) -> Verdict:
    """Every zone's fuse opens before the supply gives in, or the supply limits its current."""
    lacking = [zone for zone in zones if fuse_for(zone.current_a, power.supply_a) is None]
    says = (
        "The fuse of every zone is above the current of the zone and below the current of its"
        " supply."
    )
    if lacking:
        says = (
            f"No common fuse rating lies between the {fixed(lacking[0].current_a)} A of zone"
            f" {lacking[0].index} and the {fixed(power.supply_a)} A of its supply: the fuse would"
            " never open."
        )
    return judge(
        "power.fuse",
        "the wall" if not lacking else f"zone {lacking[0].index}",
        at_most(len(lacking), 0, "zones"),
        says,
        remedy="Use supplies whose label says that they limit their current to their rating.",
        source="rated currents of IEC 60127, from memory; own rule",
        otherwise="warn",
    )


def _gauge(power: PowerParams) -> Verdict:
    """A wire for the resistance that the sums count with is sold."""
    wire, need = supply.wire_for(power.cable_ohm_per_m), supply.wire_mm2(power.cable_ohm_per_m)
    says = (
        f"Each wire of the supply cable has {fixed(wire[0])} mm2 (AWG {wire[1]}) or more (copper,"
        " 20 degC)."
        if wire is not None
        else "No usual flexible wire has such a low resistance."
    )
    return judge(
        "power.wire-gauge",
        "supply cable",
        at_most(min(need, 1e6), supply.WIRES[-1][0], "mm2"),
        says,
        remedy="Set power.cable_ohm_per_m = 0.1 or more.",
        source="IEC 60028: 1/58 ohm mm2/m at 20 degC",
    )


def _cable_drop(
    zones: Sequence[Zone], inlets: Mapping[Zone, PanelParams], power: PowerParams
) -> Iterator[Verdict]:
    """Volts that a Type-C cable may lose."""
    usb = [zone for zone in zones if inlets[zone].inlet.kind == "usb-c"]
    if usb:
        busy = max(usb, key=lambda zone: (round(zone.current_a, 9), -zone.index))
        lost = busy.current_a * power.cable_mm / 1000.0 * power.cable_ohm_per_m
        yield judge(
            "power.cable-drop",
            f"cable of zone {busy.index}",
            at_most(lost, supply.CABLE_DROP_V, "V"),
            "Voltage drop of the cable, both ways, at the brightness limit.",
            remedy="Use a shorter or thicker cable (power.cable_mm, power.cable_ohm_per_m).",
            source=(
                "USB Type-C specification 4.4: 500 mV on the supply, 250 mV on ground, from memory"
            ),
        )


def _inrush(wall: FedWall) -> Verdict:
    """The zone with most capacitors, as they fill."""
    wired, power = wall.wired, wall.power
    held = {zone: zone_uf(zone, wired, wall.layout, wall.designs) for zone in wired.zones}
    worst = max(wired.zones, key=lambda zone: (round(held[zone], 6), -zone.index))
    ramp = wall.design(worst.inlet_panel).inlet.soft_start_ms
    subject = f"zone {worst.index}"
    source = "I = C dV/dt; USB 2.0 7.2.4.1: 10 uF without soft start, from memory"
    idle = math.fsum(load.idle_a for load in wired.loads if load.panel in worst.panels)
    left = max(power.supply_a - idle, 0.01)
    longer = max(math.ceil(supply.inrush_a(held[worst], power.supply_v, 1.0) / left), LEAST_RAMP_MS)
    if ramp > 0:
        draws = supply.inrush_a(held[worst], power.supply_v, ramp)
        return judge(
            "power.inrush",
            subject,
            at_most(draws + idle, power.supply_a, "A"),
            f"Inrush current: capacitors of {fixed(held[worst])} uF, filled through a load switch"
            f" that ramps up in {fixed(ramp)} ms.",
            remedy=f"Set panel.inlet.soft_start_ms = {longer}.",
            source=source,
        )
    return judge(
        "power.inrush",
        subject,
        at_most(held[worst], supply.PLUG_UF, "uF"),
        "Capacitors connected to the supply when the plug goes in, without a load switch: the"
        " supply may shut down.",
        remedy=f"Set panel.inlet.soft_start_ms = {longer}.",
        source=source,
        otherwise="warn",
    )


def zone_uf(zone: Zone, wired: Wired, layout: Layout, designs: Mapping[str, PanelParams]) -> float:
    """Return the capacitance of a zone, uF."""
    found = 0.0
    many = {load.panel: load.leds for load in wired.loads}
    for name in zone.panels:
        design = designs[layout.by_name[name].design]
        found += supply.farads_uf(1, many[name], design.board.bulk_uf, design.led.bypass_nf)
    return found


def shifted(wired: Wired, power: PowerParams, route: DataRoute) -> bool:
    """True when level shifters are fitted: the first LED of a controller's line needs one."""
    return power.level_shifter == "auto" and shifter_wanted(wired, power, route)


def shifter_wanted(wired: Wired, power: PowerParams, route: DataRoute) -> bool:
    """True when the data of the controllers is too low for the LEDs that they drive."""
    return supply.shifter_needed(
        power.logic_v, _first_volts(wired, power, route)[1], HIGH, MARGIN_V
    )


def _first_volts(wired: Wired, power: PowerParams, route: DataRoute) -> tuple[str, float]:
    """The panel whose first LED asks for the highest level, and its volts with dark LEDs."""
    driven = route.order[:1] if route.control == "one" else tuple(wired.volts)
    name = max(driven, key=lambda one: (round(wired.volts[one], 9), one))
    return name, power.supply_v


def _level(wired: Wired, power: PowerParams, route: DataRoute) -> Verdict:
    """A controller's high level at the first LED that it drives."""
    name, volts = _first_volts(wired, power, route)
    need = HIGH * volts + MARGIN_V
    wanted, fitted = shifter_wanted(wired, power, route), shifted(wired, power, route)
    sends = volts if fitted else power.logic_v
    says = (
        f"A controller of {fixed(power.logic_v)} V is too low for an LED at {fixed(volts)} V: a "
        "level shifter to the "
        f"LEDs' supply is {'on the list for each controller' if fitted else 'needed'}."
        if wanted
        else f"A controller of {fixed(power.logic_v)} V drives the LEDs without a level shifter."
    )
    return judge(
        "power.level",
        f"first LED of panel {name}",
        at_least(sends, need, "V"),
        says,
        remedy='Set power.level_shifter = "auto".',
        source=LEVEL_SOURCE,
    )


def _hops(wired: Wired, route: DataRoute) -> Iterator[Verdict]:
    """The data line from board to board, with one controller for all; extra wires are reported."""
    levels = hop_levels(route, wired.volts, wired.ground_v, HIGH, LOW)
    if not levels:
        return
    hop, spare = min(levels, key=lambda item: (round(item[1], 9), item[0].sender))
    yield judge(
        "power.data-hop",
        f"{hop.sender} to {hop.reader}",
        at_least(spare, MARGIN_V, "V"),
        "Margin with which the first LED of a board reads the data from the last LED of the board"
        " before it.",
        remedy="Use more inlets (power.inlets) or lower power.brightness.",
        source=LEVEL_SOURCE,
    )
    wires = route.wires
    told = ", ".join(f"{hop.sender}-{hop.reader}" for hop in wires[:8])
    yield judge(
        "power.data-wires",
        "the wall",
        at_most(len(wires), 0, "wires"),
        f"Extra data wires: {told or 'none'}."
        + ("" if route.proven else f" At least {route.at_least} are needed with any route."),
        remedy='Draw the wires as the book shows them, or set power.control = "each".',
        source="integer programme" if route.proven else "search",
        otherwise="warn",
    )
