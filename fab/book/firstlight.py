"""Light in the whole wall: zone by zone, with what to measure, what it reads, and the way back."""

from __future__ import annotations

import math
from collections.abc import Sequence

from fab.book.facts import BookFacts
from fab.book.lightdata import Row, dark, hops
from fab.book.onepanel import NO_SHORT_OHM, of_rows
from fab.book.spotlight import LIGHT, spotlight
from fab.design import Design
from fab.files.document import Block, Caution, Chapter, Para, Step, Table
from fab.power.cautions import CAUTIONS
from fab.power.circuit import GROUND, SUPPLY, socket_nets
from fab.power.model import Zone
from fab.units import percent, some

LIT = (1, 10, 100)  # LEDs at full white that each step lights
# less between the supplies of two zones is a pin that was not pulled; common practice, no source
APART_OHM = 1000
MOST_PAIRS = 8  # pairs of zones that are listed one by one
# a current may read this share beside the calculated one: LEDs differ; common practice, no source
SHARE = 0.2
VOLTS = 0.1  # and a voltage this much
MOST_ROWS = 60
MOST_ZONES = 12  # with a step each
FIRST_HOURS = (
    "A bad joint can get hot and start a fire. Stay with the wall during its first hours. If a"
    " panel, plug or joint is too hot to touch, switch off and find out why."
)


def chapter(facts: BookFacts) -> Chapter:
    """From the wall on its screws to light in every zone."""
    design = facts.design
    zones = design.wired.zones
    drawn = [currents(design, zone) for zone in zones]
    found: list[Block] = [
        *(_zone(design, zone, row) for zone, row in zip(zones[:MOST_ZONES], drawn, strict=False)),
        Para(
            f"{reached(design)} A panel without an open edge is not measured. A current may read"
            f" {percent(SHARE)} beside its figure, a voltage {VOLTS:g} V."
        ),
        Table(
            "Current of each zone, A",
            (
                "zone",
                "inlet",
                "dark",
                *(f"{some(n, 'LED')} white" for n in LIT),
                "all, at the limit",
            ),
            tuple(drawn),
            numeric=(2, 3, 4, 5, 6),
        ),
        Table(
            "Voltage at each panel, all LEDs white at the brightness limit, V",
            ("panel", "zone", "TP1 to TP2"),
            _volts(design),
            numeric=(1, 2),
        ),
        Table("If it reads otherwise", ("seen", "look for"), _otherwise(design)),
        Caution(CAUTIONS[3][0]),
    ]
    return Chapter("Light the wall", "first-light", tuple(found))


def joined(design: Design) -> Step:
    """The measuring of the joined wall before it is hung."""
    names = [panel.name for panel in design.layout.panels]
    return of_rows(
        "Measure the joined wall",
        spotlight(design, names, "All panels", "The whole wall, front view."),
        f"multimeter with thin probes. Nothing is plugged in. {reached(design)}",
        _joined(design),
    )


def reached(design: Design) -> str:
    """The way to the test points of a closed panel from outside."""
    if all(plan.params.shell.fixing == "snap" for plan in design.plans.values()):
        return "TP1 to TP4 are on the board: take the shell off to the front."
    panel = next(p for p in design.layout.panels if p.name not in design.blank)
    nets = socket_nets(design.plans[panel.design], 0)
    pins = {net: [str(k) for k, one in enumerate(nets, 1) if one == net] for net in nets}
    supply, ground = (" or ".join(pins.get(net, [])) for net in (SUPPLY, GROUND))
    return (
        "The test points are inside the closed panel. Measure at the socket of an open edge, with"
        " its"
        f" cap pulled out: pin {supply} is TP1 (supply), pin {ground} is TP2 (ground). Pin 1 is at"
        " the"
        " counter-clockwise end of the edge, front view."
    )


def _zone(design: Design, zone: Zone, drawn: Sequence[str]) -> Step:
    """One zone plugged in alone; its supply and fuse, and what it draws."""
    low = min(design.wired.volts[name] for name in zone.panels)
    title = f"Light zone {zone.index}"
    says = f"Zone {zone.index}: {some(len(zone.panels), 'panel')}, inlet at {zone.inlet_panel}."
    page = spotlight(design, zone.panels, title, says, tint=LIGHT)
    first, last = drawn[2], drawn[-1]
    fitting = [(n, amps) for n, amps in zip(LIT, drawn[3:-1], strict=True) if "skip" not in amps]
    counts = [str(n) for n, _ in fitting]
    lit = "".join(f"; {some(n, 'LED')} {amps}" for n, amps in fitting)
    which, then = "the supply", ""
    if len(design.wired.zones) > 1:
        which, then = "this supply alone", " Unplug it before the next zone."
    some_white = f"Light {' and '.join(counts)} LEDs white, then all" if counts else "Light all"
    return Step(
        title,
        page,
        f"Plug in {which}, at panel {zone.inlet_panel}. Read the current before you light"
        f" an LED. {some_white} of them white at the brightness limit.{then}",
        'its supply, with cable and fuse as in the table "Zones and cables"; multimeter.',
        f"Amperes: dark {first}{lit}; all at the limit {last}. No panel of the zone reads"
        f" less than {low - VOLTS:.2f} V.",
        "Unplug the supply. Look up what you see in the last table of this chapter.",
        f"{CAUTIONS[2][0]} {FIRST_HOURS}" if zone.index == 1 else "",
    )


def _joined(design: Design) -> list[Row]:
    rows: list[Row] = [
        (
            "Measure ohms from TP1 to TP2 of one panel of each zone",
            f"over {NO_SHORT_OHM} ohm, rising while capacitors charge",
            "Open one joint of the zone after the other until the short is gone.",
        ),
        (
            "Measure ohms between TP2 of any two panels",
            "under 2 ohm: ground is one",
            "A header is not pushed home"
            + (", or a jumper is missing." if design.table.counts["jumper"] else "."),
        ),
    ]
    between = sorted(
        {
            (min(a, b), max(a, b), f"{joint.a}-{joint.b}")
            for row in design.table.rows
            if row.joined and not row.supply
            for joint in (design.layout.joints[row.joint],)
            for a, b in (
                (design.wired.zone_of[joint.a].index, design.wired.zone_of[joint.b].index),
            )
        }
    )
    pairs = sorted({(a, b) for a, b, _ in between})
    if len(pairs) > MOST_PAIRS:
        rows.append(
            (
                "Measure ohms from TP1 of each zone to TP1 of every zone beside it",
                f"over {APART_OHM} ohm, no beep",
                "A supply pin was not pulled at a joint between the two zones: lists/joints.csv has"
                " all joints that get a header without supply.",
            )
        )
        return rows
    for a, b in pairs:
        joints = ", ".join(name for x, y, name in between if (x, y) == (a, b))
        rows.append(
            (
                f"Measure ohms from TP1 of zone {a} to TP1 of zone {b}",
                f"over {APART_OHM} ohm, no beep",
                f"A supply pin was not pulled at {joints}.",
            )
        )
    return rows + hops(design)


def currents(design: Design, zone: Zone) -> tuple[str, ...]:
    """Dark, with some LEDs at full white, and with all at the brightness limit."""
    loads = [load for load in design.wired.loads if load.panel in zone.panels]
    idle, leds = math.fsum(load.idle_a for load in loads), sum(load.leds for load in loads)
    each = math.fsum(load.full_a for load in loads) / leds
    told = []
    for n in LIT:
        amps = n * each
        fits = idle + amps <= design.wired.zone_limit_a
        said = dark(design, idle, len(loads), amps)
        told.append((said if fits else "over the supply: skip") if n <= leds else "skip")
    most = zone.current_a
    return (
        str(zone.index),
        zone.inlet_panel,
        dark(design, idle, len(loads)),
        *told,
        dark(design, idle, len(loads), most - idle),
    )


def _volts(design: Design) -> tuple[tuple[str, str, str], ...]:
    wired = design.wired
    rows = [
        (name, str(wired.zone_of[name].index), f"{volts:.2f}")
        for name, volts in wired.volts.items()
    ]
    if len(rows) <= MOST_ROWS:
        return tuple(rows)
    lowest = sorted(wired.volts, key=lambda name: (round(wired.volts[name], 6), name))[:MOST_ROWS]
    # the lowest; the others stand in lists/panels.csv
    return tuple(row for row in rows if row[0] in set(lowest))


def _otherwise(design: Design) -> tuple[tuple[str, str], ...]:
    one = design.job.power.control == "one"
    return (
        (
            "A zone is dark",
            (
                "supply, fuse, pull-downs of the inlet, polarity, header without supply in a joint "
                "that needs it"
            ),
        ),
        (
            "The supply switches off and on",
            "a short; capacitors without a load switch; a supply that advertises too little",
        ),
        (
            "A panel reads 0.2 V less than the table",
            "a header that is not pushed home, a cold solder joint: feel for warmth",
        ),
        (
            "Current is right, colours of the far LEDs drift to red",
            "voltage too low there: brightness limit, contacts",
        ),
        (
            "LEDs flicker or show other colours than asked",
            "data level, ground of the data wire, resistor R1"
            + (", order of the panels in lists/pixels.csv" if one else ""),
        ),
        (
            "Panels light in the wrong places",
            "a board or base that is turned: its mark does not point where the picture shows",
        ),
        (
            "A plug, panel or joint is too hot to touch",
            "switch off; do not go on before you know why",
        ),
    )
