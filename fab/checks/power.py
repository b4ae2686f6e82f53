"""Checks of power in a wired wall: zones, supply, volts, pins. Worked out in `fab/power`."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from fab.checks.model import Verdict, Word, at_most, judge
from fab.checks.power_cables import cable_reach, inlet_room, sockets_clear, supply_kind
from fab.checks.power_data import data_reach, logic, pin_order_verdict
from fab.layout.groups import connected
from fab.layout.model import Layout
from fab.params.job import PowerParams
from fab.power.cables import CableRun
from fab.power.fed_wall import FedWall
from fab.power.limits import MARGIN_V
from fab.power.model import Wired
from fab.power.remedies import cures
from fab.units import fixed, percent

KIRCHHOFF_A = 1e-9
# of the brightness that the inlets are chosen for; under it a wall fails (own rule)
DIM_SHARE = 0.5
SELV = (
    "Use a supply with a safety mark and an isolated output. Local codes come first; mains work"
    " is for a licensed electrician."
)
# what limits the brightness
STOPS = {
    "supply": "the supply",
    "pins": "the pins",
    "volts": "the voltage",
    "logic": "the logic levels",
    "heat": "heat",
    "full": "full white alone",
}


def power_checks(wall: FedWall, runs: Sequence[CableRun] = ()) -> tuple[Verdict, ...]:
    """All verdicts about power. `runs`: the cables, when their length is to be checked."""
    wired, layout, power = wall.wired, wall.layout, wall.power
    if not wired.zones:  # blank covers only
        return ()
    live = sorted(name for name, design in wall.designs.items() if not design.board.none)
    mates = bool(wired.table.joined)
    return (
        zone_supply(wall),
        volts(wall),
        *pin_current(wall),
        *logic(wall),
        brightness(wired, power),
        *(pin_order_verdict(name, wall.designs[name].header) for name in live if mates),
        inlet_room(wall),
        *supply_kind(power, wall.designs),
        *cable_reach(power, runs),
        *sockets_clear(power, layout),
        *zone_count(wired, power),
        zones_apart(wired, layout),
        *data_reach(wired, layout),
        judge(
            "power.kirchhoff",
            "the wall",
            at_most(wired.residual_a, KIRCHHOFF_A, "A"),
            "In every node of the network the currents in and out are equal.",
            source="Kirchhoff's current law",
        ),
    )


def zone_supply(wall: FedWall) -> Verdict:
    """The zone that draws most against what its inlet may give."""
    wired = wall.wired
    worst = max(wired.zones, key=lambda zone: (round(zone.current_a, 9), -zone.index))
    bad = worst.current_a > wired.zone_limit_a + 1e-9
    return judge(
        "power.zone-supply",
        f"zone {worst.index}",
        at_most(worst.current_a, wired.zone_limit_a, "A"),
        f"Zone {worst.index} with its inlet at panel {worst.inlet_panel} draws the highest current"
        f" at brightness {fixed(wired.brightness)}; with these inlets the wall holds up to"
        f" {fixed(wired.possible)}, limited by {STOPS[wired.possible_by]}. {SELV}",
        remedy=cures(wall, "supply") if bad else "",
        source="power.supply_a times power.derate",
    )


def volts(wall: FedWall) -> Verdict:
    """The panel nearest to its LEDs' least volts; a warning with less than `MARGIN_V` over."""
    wired = wall.wired
    least = {name: wall.design(name).led.least_v for name in wired.volts}
    name = min(wired.volts, key=lambda n: (round(wired.volts[n] - least[n], 9), n))
    have, need = wired.volts[name], least[name]
    short, near = have < need - 1e-9, have < need + MARGIN_V - 1e-9
    if wired.collapsed:
        says = "The boards need more power than the wires can carry: the supply voltage collapses."
    else:
        says = (
            f"Lowest voltage: panel {name}; {fixed(MARGIN_V)} V above the limit are kept in"
            " reserve for contacts that age."
        )
    remedy = cures(wall, "volts") if short else ""
    if near and not short:
        remedy = (
            "A new wall works. For aged contacts lower power.brightness, or use a thicker cable"
            " (power.cable_ohm_per_m)."
        )
    return Verdict(
        "power.volts",
        "fail" if short else "warn" if near else "pass",
        f"panel {name}",
        have,
        need,
        "V",
        says,
        remedy,
        "led.least_v",
    )


def pin_current(wall: FedWall) -> Iterator[Verdict]:
    """The pin nearest to its rating."""
    wired = wall.wired
    hottest = wired.hottest
    if hottest is None:
        return
    joint = wall.layout.joints[hottest.joint]
    bad = hottest.pin_a > hottest.pin_limit_a + 1e-9
    yield judge(
        "power.pin-current",
        f"joint {joint.a}-{joint.b}",
        at_most(hottest.pin_a, hottest.pin_limit_a, "A"),
        "The most loaded pin of all"
        f" {'jumpers' if wired.table.rows[hottest.joint].kind == 'jumper' else 'headers'};"
        " calculated with equal currents in pins side by side.",
        remedy=cures(wall, "pins") if bad else "",
        source="header.pin_a" if wired.table.rows[hottest.joint].is_header else "jumper.contact_a",
    )


def brightness(wired: Wired, power: PowerParams) -> Verdict:
    """The brightness that the wall may be set to, and what limits it."""
    stop = "the heat" if wired.possible_by == "heat" else STOPS[wired.possible_by]
    limited = "nothing limits it" if wired.possible_by == "full" else f"limited by {stop}"
    if wired.wished is not None:
        says = (
            f"Set the brightness limit of the controllers to {percent(wired.brightness)}, as the"
            " job asks."
        )
        return Verdict(
            "power.brightness",
            "pass",
            "the wall",
            wired.brightness,
            wired.wished,
            "",
            says,
            "",
            "power.brightness",
        )
    says = (
        f"Set the brightness limit of the controllers to {percent(wired.brightness)}: the highest"
        f" at which every check of power passes and the heat stays below its limits, {limited}."
    )
    dim = not power.inlet and not power.inlets and wired.brightness < DIM_SHARE * wired.aim
    fails = dim or wired.possible < wired.brightness - 1e-9
    word: Word = "fail" if fails else "pass" if wired.brightness >= wired.aim - 1e-9 else "warn"
    remedy = ""
    if word != "pass":
        says += f" No inlets at the open edges reach {percent(wired.aim)}."
        if power.inlet or power.inlets:
            says = says.replace(
                "No inlets at the open edges", "The inlets that the job names do not"
            )
            remedy = "Leave power.inlet and power.inlets out."
    return Verdict(
        "power.brightness",
        word,
        "the wall",
        wired.brightness,
        wired.aim,
        "",
        says,
        remedy,
        'power.brightness = "auto"',
    )


def zone_count(wired: Wired, power: PowerParams) -> Iterator[Verdict]:
    """The number of zones against the proven least; silent where the maker fixed it."""
    if power.inlet or power.inlets:
        return
    count = len(wired.zones)
    if wired.raised_by:
        says = (
            f"Zones needed for the supply alone: {wired.least_zones}; for the {wired.raised_by}:"
            f" {count}."
        )
        yield judge(
            "power.zones",
            "the wall",
            at_most(count, count, "zones"),
            says,
            source="found by trying more zones",
        )
        return
    says = (
        f"Zones of this wall: {count}. Fewer than {wired.least_zones} cannot feed it at the wanted"
        " brightness."
    )
    yield judge(
        "power.zones",
        "the wall",
        at_most(count, wired.least_zones, "zones"),
        says,
        otherwise="warn",
        remedy="The quick search may have missed a better split; set power.inlets to try a number.",
        source="integer programme" if wired.exact else "proven bound",
    )


def zones_apart(wired: Wired, layout: Layout) -> Verdict:
    """By the table of joints alone: each zone hangs together, has one inlet, touches no other."""
    rows = [layout.joints[row.joint] for row in wired.table.rows if row.supply]
    joined = connected(list(wired.volts), [(joint.a, joint.b) for joint in rows])
    part_of = {name: k for k, group in enumerate(joined) for name in group}
    inlets = Counter(part_of[zone.inlet_panel] for zone in wired.zones)
    wrong = sum(inlets[part] != 1 for part in part_of.values())
    wrong += sum(
        part_of[name] != part_of[zone.inlet_panel] for zone in wired.zones for name in zone.panels
    )
    return judge(
        "power.zones-apart",
        "table of joints",
        at_most(wrong, 0, "panels"),
        "By the table of joints, every panel is fed by one inlet and no supply meets another.",
        remedy="This is an internal error: please report it, and do not build from these lists.",
        source="own audit of the lists",
    )
