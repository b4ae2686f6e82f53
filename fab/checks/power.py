"""Can every panel be fed: zones, supply, volts, pins, logic levels, room for the cable.

Reckoned in `fab/power`.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence

from fab.checks.model import Verdict, Word, at_least, at_most
from fab.layout.groups import connected
from fab.layout.model import Layout
from fab.params.job import PowerParams
from fab.params.panel import HeaderParams, PanelParams
from fab.power.cables import CableRun
from fab.power.corridor import edge_rooms, is_usable
from fab.power.limits import HIGH, LOW, MARGIN_V
from fab.power.model import EdgeRoom, Wired
from fab.power.pins import nearest_order, pin_order, stray_pins
from fab.power.remedies import cures
from fab.units import fixed, percent

KIRCHHOFF_A = 1e-9
# of the brightness that the inlets are chosen for; under it a wall fails (own rule)
DIM_SHARE = 0.5
SELV = (
    "Use a supply with a safety mark and an isolated output. Local codes come first; mains work"
    " is for a licensed electrician."
)


def power_checks(
    wired: Wired,
    layout: Layout,
    power: PowerParams,
    designs: Mapping[str, PanelParams],
    *,
    rooms: Sequence[EdgeRoom] | None = None,
    runs: Sequence[CableRun] = (),
) -> tuple[Verdict, ...]:
    """All verdicts about power.

    `rooms` as given to `wire`; `runs`: the cables, when their length is to be checked.
    """
    if not wired.zones:  # blank covers only
        return ()
    rooms = edge_rooms(layout, designs) if rooms is None else rooms
    live = sorted(name for name, design in designs.items() if not design.board.none)
    mates = bool(wired.table.joined)
    found = [
        zone_supply(wired, layout, power, designs, rooms),
        volts(wired, layout, power, designs, rooms),
        *pin_current(wired, layout, power, designs, rooms),
        *logic(wired, layout, power, designs, rooms),
        brightness(wired, power),
        *(pin_order_verdict(name, designs[name].header) for name in live if mates),
        inlet_room(wired, layout, power, designs, rooms),
        *supply_kind(power, designs),
        *cable_reach(power, runs),
        *sockets_clear(power, layout),
        *zone_count(wired, power),
        zones_apart(wired, layout),
        *data_reach(wired, layout),
        at_most(
            "power.kirchhoff",
            "the wall",
            wired.residual_a,
            KIRCHHOFF_A,
            "A",
            "In every node of the network the currents in and out are equal.",
            source="Kirchhoff's current law",
        ),
    ]
    return tuple(found)


def zone_supply(
    wired: Wired,
    layout: Layout,
    power: PowerParams,
    designs: Mapping[str, PanelParams],
    rooms: Sequence[EdgeRoom],
) -> Verdict:
    """The zone that draws most against what its inlet may give."""
    worst = max(wired.zones, key=lambda zone: (round(zone.current_a, 9), -zone.index))
    bad = worst.current_a > wired.zone_limit_a + 1e-9
    return at_most(
        "power.zone-supply",
        f"zone {worst.index}",
        worst.current_a,
        wired.zone_limit_a,
        "A",
        f"Zone {worst.index} with its inlet at panel {worst.inlet_panel} draws the highest current"
        f" at brightness {fixed(wired.brightness)}; with these inlets the wall holds up to"
        f" {fixed(wired.possible)}, limited by {_stop(wired.possible_by)}. {SELV}",
        remedy=(
            _set(cures(layout, wired, power, designs, rooms=rooms, fault="supply")) if bad else ""
        ),
        source="power.supply_a times power.derate",
    )


def volts(
    wired: Wired,
    layout: Layout,
    power: PowerParams,
    designs: Mapping[str, PanelParams],
    rooms: Sequence[EdgeRoom],
) -> Verdict:
    """The panel nearest to the least volts of its LEDs; a warning when it has less than `MARGIN_V`
    to spare.
    """
    least = {name: designs[layout.by_name[name].design].led.least_v for name in wired.volts}
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
    remedy = _set(cures(layout, wired, power, designs, rooms=rooms, fault="volts")) if short else ""
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


def pin_current(
    wired: Wired,
    layout: Layout,
    power: PowerParams,
    designs: Mapping[str, PanelParams],
    rooms: Sequence[EdgeRoom],
) -> Iterator[Verdict]:
    """The pin nearest to its rating."""
    hottest = wired.hottest
    if hottest is None:
        return
    joint = layout.joints[hottest.joint]
    bad = hottest.pin_a > hottest.pin_limit_a + 1e-9
    yield at_most(
        "power.pin-current",
        f"joint {joint.a}-{joint.b}",
        hottest.pin_a,
        hottest.pin_limit_a,
        "A",
        "The most loaded pin of all"
        f" {'jumpers' if wired.table.rows[hottest.joint].kind == 'jumper' else 'headers'};"
        " calculated with equal currents in pins side by side.",
        remedy=_set(cures(layout, wired, power, designs, rooms=rooms, fault="pins")) if bad else "",
        source="header.pin_a" if wired.table.rows[hottest.joint].is_header else "jumper.contact_a",
    )


def brightness(wired: Wired, power: PowerParams) -> Verdict:
    """How bright the wall may be set, and what limits it."""
    stop = {"pins": "the pins", "volts": "the voltage", "logic": "the logic levels"}.get(
        wired.possible_by, "the " + wired.possible_by
    )
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
            says, remedy = (
                says.replace("No inlets at the open edges", "The inlets that the job names do not"),
                "Leave power.inlet and power.inlets out.",
            )
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


def logic(
    wired: Wired,
    layout: Layout,
    power: PowerParams,
    designs: Mapping[str, PanelParams],
    rooms: Sequence[EdgeRoom],
) -> Iterator[Verdict]:
    """Data across every joint, both ways.

    Controllers talk at their own level; with one controller, LEDs send at their rails and read
    against theirs.
    """
    worst, where, own = math.inf, "", power.logic_v if power.control == "each" else None
    for joint in (layout.joints[k] for k in wired.table.joined):
        for sender, receiver in ((joint.a, joint.b), (joint.b, joint.a)):
            ground, span = wired.ground_v[receiver], wired.volts[receiver] if own is None else own
            sent = wired.ground_v[sender] + (wired.volts[sender] if own is None else own)
            high = sent - (ground + HIGH * span)
            low = ground + LOW * span - wired.ground_v[sender]
            if min(high, low) < worst - 1e-9:
                worst, where = min(high, low), f"{sender} to {receiver}"
    if not where:
        return
    yield at_least(
        "power.logic",
        f"joint {where}",
        worst,
        MARGIN_V,
        "V",
        (
            "Data that a panel sends at its own supply voltage"
            if own is None
            else f"Data of {fixed(own)} V between controllers"
        )
        + " is read by its neighbour with this margin.",
        remedy=(
            _set(cures(layout, wired, power, designs, rooms=rooms, fault="logic"))
            if worst < MARGIN_V
            else ""
        ),
        source=(
            "input levels 0.7 and 0.3 of the supply, usual for LEDs and controllers, from memory;"
            " margin: practice"
        ),
    )


def pin_order_verdict(name: str, header: HeaderParams) -> Verdict:
    """Do the pins mate when any edge meets any other?"""
    order, near = pin_order(header), nearest_order(header)
    key = "panel" if name in ("", "panel") else f"designs.{name}"
    remedy = ""
    if order is None and near is not None:
        remedy = (
            f"Set {key}.header.pins = {near[0]}, {key}.header.power_pins = {near[1]} and "
            f"{key}.header.ground_pins = {near[2]}."
        )
    if order is not None:
        says = f"Edges mate either way round: {', '.join(order)}."
    elif stray_pins(header):
        says = (
            "Pin k meets pin n + 1 - k of the neighbour: some pin would meet a pin of another"
            " kind, perhaps supply on ground."
        )
    else:
        says = "Supply and ground pins leave no pin for data."
    return at_most(
        "power.pin-order",
        f"header of {key}",
        max(stray_pins(header), 0 if order else 1),
        0,
        "pins",
        says,
        remedy=remedy,
        source="the edge is mirror-symmetric, see fab/power/pins.py",
    )


def inlet_room(
    wired: Wired,
    layout: Layout,
    power: PowerParams,
    designs: Mapping[str, PanelParams],
    rooms: Sequence[EdgeRoom],
) -> Verdict:
    """The inlet with the least room outside, for plug and bend of the cable."""

    def free(index: int) -> float:
        room = wired.zones[index].inlet.room
        return 0.0 if room.enclosed else room.free_mm

    def need(index: int) -> float:
        return designs[layout.by_name[wired.zones[index].inlet_panel].design].inlet.room

    worst = min(range(len(wired.zones)), key=lambda k: (round(free(k) - need(k), 6), k))
    zone = wired.zones[worst]
    says = f"The cable of panel {zone.inlet_panel} leaves at edge {zone.inlet_edge}."
    if zone.inlet.room.enclosed:
        says = (
            f"Edge {zone.inlet_edge} of panel {zone.inlet_panel} opens into a hole between panels:"
            " no cable reaches it."
        )
    able = sorted(
        {
            room.panel
            for room in rooms
            if is_usable(room, designs[layout.by_name[room.panel].design].inlet)
        }
    )
    remedy = ""
    fitted = [layout.joints[k] for k in wired.table.joined]
    groups = connected(list(wired.volts), [(joint.a, joint.b) for joint in fitted])
    group = next(group for group in groups if zone.inlet_panel in group)
    spare = [name for name in able if name in group and name not in power.inlet]
    if zone.inlet_panel in power.inlet and spare:
        here = layout.by_name[zone.inlet_panel]
        away = {
            name: math.dist((here.x, here.y), (layout.by_name[name].x, layout.by_name[name].y))
            for name in spare
        }
        other = min(spare, key=lambda name: (round(away[name], 6), name))
        names = ", ".join(
            f'"{other if name == zone.inlet_panel else name}"' for name in power.inlet
        )
        remedy = f"Set power.inlet = [{names}]."
    elif not zone.inlet.room.enclosed and free(worst) > 1:
        room = math.floor(free(worst))
        remedy = (
            f"Set panel.inlet.room = {room} if the plug and the bend of your cable are that short,"
            " or leave out a panel there."
        )
    elif zone.inlet.room.enclosed:
        remedy = "Leave a gap between the panels through which the cable can reach that panel."
    return at_least(
        "power.inlet-room",
        f"inlet of {zone.inlet_panel}",
        free(worst),
        need(worst),
        "mm",
        says,
        remedy=remedy,
        source="inlet.room",
        tolerance=1e-3,
    )


def supply_kind(power: PowerParams, designs: Mapping[str, PanelParams]) -> Iterator[Verdict]:
    """What a USB Type-C supply gives without negotiation."""
    if not any(design.inlet.kind == "usb-c" for design in designs.values()):
        return
    source = (
        "IEC 63002 4.4 and 4.5 as quoted by its preview: 5 V, 0.5, 0.9, 1.5 or 3 A; more only by"
        " negotiation"
    )
    for subject, key, have, most, unit in (
        ("supply", "power.supply_a", power.supply_a, 3.0, "A"),
        ("supply volts", "power.supply_v", power.supply_v, 5.0, "V"),
    ):
        yield at_most(
            "power.supply-class",
            subject,
            have,
            most,
            unit,
            f"A USB Type-C supply gives {fixed(most)} {unit} at most, unless the inlet negotiates"
            " for more.",
            source=source,
            remedy=(
                f'Set {key} = {fixed(most)}, or panel.inlet.kind = "round" for a supply with other'
                " values."
            ),
            otherwise="warn",
        )


def cable_reach(power: PowerParams, runs: Sequence[CableRun]) -> Iterator[Verdict]:
    """Does the cable reach its socket? Only where the job names sockets."""
    if not power.socket or not runs:
        return
    far = max(
        runs, key=lambda run: (math.inf if run.length_mm is None else run.length_mm, -run.zone)
    )
    length = math.inf if far.length_mm is None else far.length_mm
    says = (
        "Length of the longest cable, along the wall and round the panels. Tables and shelves on"
        " its path are not counted."
    )
    if far.length_mm is None:
        says = f"No path along the wall leads from panel {far.panel} to a mains socket."
    longer = (
        "" if far.length_mm is None else f"Set power.cable_mm = {math.ceil(length / 100) * 100}."
    )
    yield at_most(
        "power.cable",
        f"cable of zone {far.zone}",
        min(length, 1e9),
        power.cable_mm,
        "mm",
        says,
        remedy=longer or "Move the inlet (power.inlet).",
        source="power.cable_mm",
        otherwise="warn",
    )


def sockets_clear(power: PowerParams, layout: Layout) -> Iterator[Verdict]:
    """Sockets of the wall that a panel would cover."""
    for number, (x, y) in enumerate(power.socket, 1):
        deepest, over = -math.inf, ""
        for panel in layout.panels:
            turns = [math.radians(panel.normal_deg(edge)) for edge in range(panel.cell.sides)]
            reach = max((x - panel.x) * math.cos(a) + (y - panel.y) * math.sin(a) for a in turns)
            if panel.cell.apothem - reach > deepest:
                deepest, over = panel.cell.apothem - reach, panel.name
        yield at_most(
            "power.socket",
            f"socket {number}",
            deepest,
            0.0,
            "mm",
            f"Depth of mains socket {number} under panel {over}; negative: beside it. Never drill"
            " above, below or beside a socket without a detector.",
            remedy=(
                f"Move the wall, or leave panel {over} out: no plug fits behind it, and sockets"
                " must stay in reach."
            ),
            source="power.socket",
            otherwise="warn",
        )


def zone_count(wired: Wired, power: PowerParams) -> Iterator[Verdict]:
    """How near the number of zones is to the proven least; silent where the maker fixed it."""
    if power.inlet or power.inlets:
        return
    count = len(wired.zones)
    if wired.raised_by:
        says = (
            f"Zones needed for the supply alone: {wired.least_zones}; for the {wired.raised_by}:"
            f" {count}."
        )
        yield at_most(
            "power.zones",
            "the wall",
            count,
            count,
            "zones",
            says,
            source="found by trying more zones",
        )
        return
    says = (
        f"Zones of this wall: {count}. Fewer than {wired.least_zones} cannot feed it at the wanted"
        " brightness."
    )
    yield at_most(
        "power.zones",
        "the wall",
        count,
        wired.least_zones,
        "zones",
        says,
        otherwise="warn",
        remedy="The quick search may have missed a better split; set power.inlets to try a number.",
        source="integer programme" if wired.exact else "proven bound",
    )


def zones_apart(wired: Wired, layout: Layout) -> Verdict:
    """From the table of joints alone: each zone hangs together by its supply pins, has one inlet,
    and touches no other.
    """
    rows = [layout.joints[row.joint] for row in wired.table.rows if row.supply]
    joined = connected(list(wired.volts), [(joint.a, joint.b) for joint in rows])
    part_of = {name: k for k, group in enumerate(joined) for name in group}
    inlets = Counter(part_of[zone.inlet_panel] for zone in wired.zones)
    wrong = sum(inlets[part] != 1 for part in part_of.values())
    wrong += sum(
        part_of[name] != part_of[zone.inlet_panel] for zone in wired.zones for name in zone.panels
    )
    return at_most(
        "power.zones-apart",
        "table of joints",
        wrong,
        0,
        "panels",
        "By the table of joints, every panel is fed by one inlet and no supply meets another.",
        remedy="This is an internal error: please report it, and do not build from these lists.",
        source="own audit of the lists",
    )


def data_reach(wired: Wired, layout: Layout) -> Iterator[Verdict]:
    """Does data get from panel to panel? Said where blank covers or joints without a header stand
    between.
    """
    fed = list(wired.volts)
    parts = connected(fed, [(layout.joints[k].a, layout.joints[k].b) for k in wired.table.joined])
    if not wired.blank and len(parts) == len(layout.groups):
        return
    wanted = sum(any(name in wired.volts for name in group) for group in layout.groups)
    yield at_most(
        "power.data-reach",
        "the wall",
        len(parts),
        wanted,
        "parts",
        "Data does not pass a blank cover, nor a joint without header or jumper: each part of the"
        " wall needs its own data line.",
        remedy=(
            f"Lay the panels so that a chain of boards joins them, or bring data to {parts[-1][0]}"
            " too."
        ),
        source="a blank cover has no sockets",
        otherwise="warn",
    )


def _stop(word: str) -> str:
    return {
        "supply": "the supply",
        "pins": "the pins",
        "volts": "the voltage",
        "logic": "the logic levels",
        "heat": "heat",
        "full": "full white alone",
    }[word]


def _set(found: Sequence[str]) -> str:
    return (
        "Set " + ", or ".join(found) + "."
        if found
        else "Split the wall into smaller walls, or use another supply."
    )
