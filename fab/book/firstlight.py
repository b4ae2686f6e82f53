"""First light: tests in the order in which things can break, with what to measure, what it reads,
and the way back.
"""

from __future__ import annotations

import math

from fab.book.lightdata import dark, hops, program, switches
from fab.checks.supply import shifted
from fab.decisions import Design
from fab.files.document import Block, Caution, Chapter, Heading, Para, Steps, Table
from fab.power.cautions import CAUTIONS
from fab.power.limits import HIGH
from fab.power.model import Zone
from fab.units import fixed, percent

LIT = (1, 10, 100)  # LEDs at full white that each step lights
NO_SHORT_OHM = 100  # less between the rails of a board is a short; common practice, no source
# less between the supplies of two zones is a pin that was not pulled; common practice, no source
APART_OHM = 1000
# a current may read this share beside the calculated one: LEDs differ; common practice, no source
SHARE = 0.2
VOLTS = 0.1  # and a voltage this much
MOST_ROWS = 60
CODES = (
    "Mains voltage kills. Connect only finished, isolating supplies with a safety mark. Work on "
    "mains wiring is "
    "for a licensed electrician; local codes come before this page."
)
FIRE = (
    "A short circuit on a 3 A supply can burn fingers and start a fire. Make every step with a "
    "current limit, "
    "switch off before you change a wire, and stay with the wall during its first hours."
)


def chapter(design: Design) -> Chapter:
    """From a bare board to the whole wall."""
    found: list[Block] = [
        Caution(CODES),
        Caution(FIRE),
        Para(
            "Take a multimeter and a bench supply with a current limit. Do the steps in this "
            "order: each one finds what "
            "the next one would damage. If a reading is off, do not go on: the last column is the "
            "way back."
        ),
        program(design),
        Heading("One board on the bench"),
        Table("Board without supply, then alone on the bench supply", _HEAD, _board(design)),
        Heading("Each inlet"),
        Table("Inlet on its cable, not yet joined to a board", _HEAD, _inlet(design)),
        Heading("The joined wall"),
        Table("All panels joined, nothing plugged in", _HEAD, _joined(design)),
        Steps(
            (
                "Plug in the supply of zone 1 alone. Look at the current before you light an LED.",
                (
                    "Light 1, 10 and 100 LEDs of that zone white, and compare the current with the "
                    "table."
                ),
                (
                    "Set the brightness limit, light all LEDs of the zone white, and measure the "
                    "voltage at its panels."
                ),
                "Switch off. Repeat with every other zone, then with all zones together.",
            )
        ),
        Table(
            "Current of each zone, A",
            (
                "zone",
                "inlet",
                "dark",
                *(f"{n} LED{'' if n == 1 else 's'} white" for n in LIT),
                "all, at the limit",
            ),
            tuple(_currents(design, zone) for zone in design.wired.zones),
            numeric=(2, 3, 4, 5, 6),
        ),
        Para(
            f"A current may read {percent(SHARE)} beside the table, a voltage {VOLTS:g} V. Where a "
            "zone has fewer LEDs than the "
            "column names, the column counts all of them."
        ),
        Table(
            "Voltage at each panel, all LEDs white at the brightness limit, V",
            ("panel", "zone", "TP1 to TP2"),
            _volts(design),
            numeric=(1, 2),
        ),
        Table("If it reads otherwise", ("seen", "look for"), _otherwise(design)),
        *(Caution(text) for text, _ in CAUTIONS[3:5]),
    ]
    return Chapter("First light", "first-light", tuple(found))


_HEAD = ("measure", "it reads", "if not")


def _board(design: Design) -> tuple[tuple[str, str, str], ...]:
    """Steps with one board; figures of the design with most LEDs."""
    power = design.job.power
    plans = {panel.name: design.plans[panel.design] for panel in design.layout.panels}
    load = max((one for one in design.wired.loads if one.leds), key=lambda one: one.leds)
    one = plans[load.panel].params.led.full_a
    lit = [(n, load.idle_a + n * one) for n in sorted({1, min(10, load.leds)})]
    level = power.supply_v if shifted(design.wired, power, design.route) else power.logic_v
    rows = [
        (
            "Ohms from TP1 to TP2, red lead on TP1",
            f"over {NO_SHORT_OHM} ohm, rising while capacitors charge",
            (
                "Do not power it. Look for solder bridges and for capacitors and LEDs that are"
                " turned round."
            ),
        ),
        (
            "Polarity: ohms from pad 1 of J90 to TP1, and pad 2 to TP2",
            "under 1 ohm each",
            "The pads are swapped: mend the board or swap the wires at every inlet.",
        ),
        (
            f"Bench supply {power.supply_v:g} V, limit {load.idle_a + 0.1:.2f} A, LEDs dark",
            f"{dark(design, load.idle_a, 1)} A, {power.supply_v:g} V at TP1",
            "At the limit: switch off and look for a short."
            + ("" if power.control == "one" else " 0 A: polarity, broken rail."),
        ),
    ]
    rows += [
        (
            f"{n} LED{'' if n == 1 else 's'} white, limit {amps + 0.1:.2f} A",
            f"{dark(design, load.idle_a, 1, n * one)} A",
            "Much more: a damaged LED. None lit: data, see the next row.",
        )
        for n, amps in lit
    ]
    rows.append(
        (
            "Data at TP3, with a scope; a meter on DC reads their mean",
            f"pulses of {level:g} V; the LEDs take {fixed(HIGH * power.supply_v, 2)} V as high;"
            " mean over 0 V and below the pulses while LEDs change",
            (
                "Too low: level shifter missing or fed from the wrong rail. None: controller's pin,"
                " resistor R1."
            ),
        )
    )
    rows.append(
        (
            "Every LED in order, D1 to the last",
            "each lights red, green, blue in turn",
            "The first dark one or the one before it: its data joint or its turn on the board.",
        )
    )
    return tuple(rows + switches(design))


def _inlet(design: Design) -> tuple[tuple[str, str, str], ...]:
    power = design.job.power
    first = design.wired.zones[0].inlet_panel
    inlet = design.plans[design.layout.by_name[first].design].params.inlet
    rows: list[tuple[str, str, str]] = []
    if inlet.kind == "usb-c":
        low, high = inlet.cc_ohm * (1 - inlet.cc_tolerance), inlet.cc_ohm * (1 + inlet.cc_tolerance)
        rows.append(
            (
                "Ohms from CC1 to ground, and from CC2 to ground, nothing plugged in",
                f"{low:.0f} to {high:.0f} ohm each",
                "A resistor is missing or both pins share one: a C-to-C cable gives nothing then.",
            )
        )
    rows += [
        (
            "Volts at the inlet's end of the red and black wires",
            f"{power.supply_v * 0.95:.2f} to {power.supply_v * 1.05:.2f} V, red is plus",
            (
                "Minus: swap the wires before you join a board. 0 V: pull-downs, cable, fuse,"
                " supply that advertises too little."
            ),
        ),
        (
            "Label of the supply",
            f"{power.supply_v:g} V, {power.supply_a:g} A or more, safety mark",
            "Take another supply.",
        ),
    ]
    return tuple(rows)


def _joined(design: Design) -> tuple[tuple[str, str, str], ...]:
    rows = [
        (
            "Ohms from TP1 to TP2 of one panel of each zone",
            f"over {NO_SHORT_OHM} ohm, rising while capacitors charge",
            "Part the zone at one joint after the other until the short is gone.",
        ),
        (
            "Ohms between TP2 of any two panels",
            "under 2 ohm: ground is one",
            "A header is not pushed home, or a jumper is missing.",
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
    for a, b in sorted({(a, b) for a, b, _ in between}):
        joints = ", ".join(name for x, y, name in between if (x, y) == (a, b))
        rows.append(
            (
                f"Ohms from TP1 of zone {a} to TP1 of zone {b}",
                f"over {APART_OHM} ohm, no beep",
                f"A supply pin was not pulled at {joints}.",
            )
        )
    return tuple(rows + hops(design))


def _currents(design: Design, zone: Zone) -> tuple[str, ...]:
    """Dark, with some LEDs at full white, and with all at the brightness limit."""
    loads = [load for load in design.wired.loads if load.panel in zone.panels]
    idle, leds = math.fsum(load.idle_a for load in loads), sum(load.leds for load in loads)
    each = math.fsum(load.full_a for load in loads) / leds
    told = []
    for n in LIT:
        amps = min(n, leds) * each
        fits = idle + amps <= design.wired.zone_limit_a
        said = dark(design, idle, len(loads), amps)
        told.append(said if fits else f"{idle + amps:.2f}: too much, skip")
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
            "a header that is not home, a cold solder joint; feel for warmth",
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
