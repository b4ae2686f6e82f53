"""First light of one panel, on the bench and before anything is joined: each step finds what the
next one would damage.
"""

from __future__ import annotations

from collections.abc import Sequence

from fab.book.benchart import board_bench, inlet_bench
from fab.book.drawings import inlet_page, with_inlet
from fab.book.facts import BookFacts
from fab.book.lightdata import Row, dark, program, switches
from fab.book.shadedart import shaded_page
from fab.checks.supply import shifted
from fab.design import Design
from fab.files.document import Block, Chapter, Para, Step, Table
from fab.outlines.page import Page
from fab.outputs.boardpage import board_page
from fab.parts.board_source import board_layout
from fab.power.limits import HIGH
from fab.units import fixed, some

BOARD_NAMES = (
    ("TP1, TP2", "test points of the supply: plus and ground"),
    ("TP3, TP4", "test points of the data: into the first LED, out of the last"),
    ("J90", "two pads for the wires of an inlet: pad 1 plus (VLED), pad 2 ground (GND)"),
    ("R1", "resistor in the data line before the first LED"),
)
SMALL_MM = 72.0  # width of a picture beside its texts
NO_SHORT_OHM = 100  # less between the rails of a board is a short; common practice, no source
MAINS = (
    "WARNING: Mains voltage kills. Connect only finished, isolating supplies of safety extra-low"
    " voltage (SELV) with a safety mark. Work on mains wiring is for a licensed electrician; local"
    " codes come before this book."
)
FIRE = (
    "A short circuit on the supply can burn fingers and start a fire. Set a current limit for"
    " every step, and switch off before you change a wire."
)


def step_page(facts: BookFacts, key: str, name: str, title: str, says: str) -> Page:
    """A shaded picture of a step."""
    return shaded_page(facts.pictures[key, name], SMALL_MM, 70.0, title, says)


def inlet_picture(facts: BookFacts, name: str) -> Page:
    """The base with its receptacle over the cradle."""
    return inlet_page(facts, name, SMALL_MM)


def chapter(facts: BookFacts) -> Chapter:
    """One board alone, then lit, then an inlet on its cable."""
    design = facts.design
    name = _most(design)
    plan = design.plans[name]
    layout = board_layout(plan)
    assert layout is not None
    boards = len(design.layout.panels) - len(design.blank)
    number = some(boards, "board")
    supply = f"{design.job.power.supply_v:g} V"
    blocks: list[Block] = [
        Para(
            "Do these steps with every board and every inlet before it goes into its base. Take"
            " them"
            " in this order: each one finds what the next one would damage. If a reading is off, do"
            " not go on."
        ),
        program(design),
        Table("Names on the board", ("name", "what it is"), BOARD_NAMES),
        Para(
            "Whoever designs the board chooses their places and prints the names beside them, as"
            " the"
            " brief asks. Mark them on your first board."
        ),
        of_rows(
            "Measure a board without supply",
            step_page(
                facts, "board", name, "Board alone", "A board with its parts, from the front."
            ),
            f"{number} one by one, multimeter." if boards > 1 else "the board, multimeter.",
            _rails(),
            caution=MAINS,
        ),
        of_rows(
            "Give it power, then light it",
            board_bench(supply),
            f"the same board, bench supply of {supply} with a current limit: plus to TP1 (supply),"
            " minus to TP2 (ground); the controller with its test program.",
            lit(design),
            caution=FIRE,
        ),
        of_rows(
            "Look at every LED",
            board_page(plan, layout, rows=name in design.with_rows),
            "the same board on the bench supply.",
            data(design),
        ),
    ]
    if with_inlet(design):
        blocks.append(
            of_rows(
                "Measure each inlet",
                inlet_bench(supply),
                f"{some(len(design.wired.inlets), 'inlet')} with the red and black wire soldered"
                " on,"
                " not yet joined to a board; the supply, multimeter.",
                _inlet(design),
            )
        )
    return Chapter("First light of one panel", "one-panel", tuple(blocks))


def of_rows(title: str, page: Page, take: str, rows: Sequence[Row], *, caution: str = "") -> Step:
    """A step of measurements: what is measured, what it reads, and the way back, numbered alike."""
    mark = ["" if len(rows) == 1 else f"({k}) " for k in range(1, len(rows) + 1)]
    do, right, otherwise = (
        " ".join(f"{mark[k]}{row[column].rstrip('.')}." for k, row in enumerate(rows))
        for column in range(3)
    )
    return Step(title, page, do, take, right, otherwise, caution)


def _most(design: Design) -> str:
    """The design of the panel with most LEDs."""
    load = max((one for one in design.wired.loads if one.leds), key=lambda one: one.leds)
    return design.layout.by_name[load.panel].design


def _rails() -> list[Row]:
    return [
        (
            "Measure ohms from TP1 to TP2, red lead on TP1",
            f"it reads over {NO_SHORT_OHM} ohm, rising while capacitors charge",
            "Do not power the board. Look for solder bridges, and for capacitors and LEDs that are"
            " turned round.",
        ),
        (
            "Measure ohms from pad 1 of J90 to TP1, and from pad 2 to TP2",
            "it reads under 1 ohm each",
            "The pads are swapped: repair the board, or swap the wires at every inlet.",
        ),
    ]


def lit(design: Design) -> list[Row]:
    """Dark, then some LEDs at full white; figures of the panel with fewest LEDs, so that
    every board has as many.
    """
    power = design.job.power
    load = min((one for one in design.wired.loads if one.leds), key=lambda one: one.leds)
    one = design.plans[design.layout.by_name[load.panel].design].params.led.full_a
    rows = [
        (
            f"Set the limit to {load.idle_a + 0.1:.2f} A and switch on, LEDs dark",
            f"{dark(design, load.idle_a, 1)} A, and {power.supply_v:g} V at TP1",
            "At the limit: switch off and look for a short."
            + ("" if power.control == "one" else " 0 A: check the polarity and the rails."),
        )
    ]
    for count in sorted({1, min(10, load.leds)}):
        amps = load.idle_a + count * one
        rows.append(
            (
                f"Set the limit to {amps + 0.1:.2f} A and light {some(count, 'LED')} white",
                f"{dark(design, load.idle_a, 1, count * one)} A",
                "Much more: a damaged LED. Nothing lit: measure the data at TP3, next step.",
            )
        )
    return rows


def data(design: Design) -> list[Row]:
    """Every LED, the level of the data, every switch."""
    power = design.job.power
    level = power.supply_v if shifted(design.wired, power, design.route) else power.logic_v
    rows: list[Row] = [
        (
            "Light every LED in order, D1 to the last, red, green, blue",
            "each lights in all three colours",
            "Look at the first dark LED and at the one before it: solder joint, or turned round.",
        ),
        (
            "Look at the data at TP3 with a scope, or with a meter on DC, which reads the mean",
            f"pulses of {level:g} V; the LEDs take {fixed(HIGH * power.supply_v, 2)} V as high",
            "Too low: the level shifter is missing or fed from the wrong rail. No pulses: check the"
            " controller's pin and resistor R1.",
        ),
    ]
    return rows + switches(design)


def _inlet(design: Design) -> list[Row]:
    power = design.job.power
    first = design.wired.zones[0].inlet_panel
    inlet = design.plans[design.layout.by_name[first].design].params.inlet
    rows: list[Row] = [
        (
            "Read the label of the supply",
            f"{power.supply_v:g} V, {power.supply_a:g} A or more, and a safety mark",
            "Take another supply.",
        )
    ]
    if inlet.kind == "usb-c":
        low, high = inlet.cc_ohm * (1 - inlet.cc_tolerance), inlet.cc_ohm * (1 + inlet.cc_tolerance)
        rows.append(
            (
                "With nothing plugged in, measure ohms from CC1 to ground and from CC2 to ground",
                f"{low:.0f} to {high:.0f} ohm each",
                "A resistor is missing, or both pins share one: a C-to-C cable then gives nothing.",
            )
        )
    rows.append(
        (
            "Plug the supply in and measure volts between the red and the black wire",
            f"{power.supply_v * 0.95:.2f} to {power.supply_v * 1.05:.2f} V, red is plus",
            "Minus: swap the wires. 0 V: check pull-downs, cable and fuse, and whether the supply"
            " offers enough.",
        )
    )
    return rows
