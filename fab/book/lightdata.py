"""First light of the data: what drives the LEDs during the tests, switches, and the line from board
to board of one controller.
"""

from __future__ import annotations

from fab.design import Design
from fab.files.document import Para
from fab.parts.board_source import board_layout
from fab.power.circuit import DATA_OHM, PULL_OHM
from fab.units import percent

Row = tuple[str, str, str]
MOST_HOPS = 40
LEVELS = 255  # of a colour of the usual addressable LED: a byte


def program(design: Design) -> Para:
    """The demands on the controller before the first LED is lit."""
    power, brightness = design.job.power, design.wired.brightness
    where = (
        "each board's own controller"
        if power.control == "each"
        else "the wall's one controller, with its data at pad 1 of J91 and its ground at pad 3"
    )
    return Para(
        f"Put a test program on {where}. It sets any number of LEDs to full white and the others"
        f" to dark, and only as many as a step says. The program that the wall runs later keeps"
        f" the brightness limit of {percent(brightness)}: it sets no colour of an LED above"
        f" {int(LEVELS * brightness)} of {LEVELS}."
    )


def dark(design: Design, idle_a: float, boards: int, lit_a: float = 0.0) -> str:
    """A current with its idle part. With one controller most boards have none: they draw what
    their dark LEDs draw, and the sums count with a controller's current as the most.
    """
    most = f"{idle_a + lit_a:.2f}"
    if design.job.power.control == "each" or idle_a <= 0:
        return most
    least = lit_a + idle_a / boards if boards > 1 else lit_a
    return f"{least:.2f} to {most}"


def switches(design: Design) -> list[Row]:
    """Every switch once, on the bench."""
    if not any((board := board_layout(plan)) and board.switches for plan in design.plans.values()):
        return []
    if design.job.power.control == "one":
        return [
            (
                "Measure ohms across each switch's pads",
                "open; under 2 ohm while pressed",
                "A switch that is turned by a quarter is closed all the time: turn it.",
            )
        ]
    return [
        (
            "Measure volts from each switch's pin of the controller to TP2",
            "the controller's logic supply; under 0.1 V while pressed",
            f"Always 0: a switch turned by a quarter. Floating: its pull-up of {PULL_OHM:g} ohm.",
        )
    ]


def hops(design: Design) -> list[Row]:
    """The line from the last LED of a board to the first of the next, one controller for all."""
    route = design.route
    if not route.hops:
        return []
    named = "; ".join(f"{hop.sender} to {hop.reader}" for hop in route.hops[:MOST_HOPS])
    more = len(route.hops) - MOST_HOPS
    rest = f"; and {more} more in the order of lists/pixels.csv" if more > 0 else ""
    return [
        (
            f"Measure ohms from TP4 of a panel to TP3 of the next: {named}{rest}",
            f"{DATA_OHM * 0.9:.0f} to {DATA_OHM * 1.1:.0f} ohm: resistor R1 and the line",
            "Open: a solder bridge at the wrong edge, a header that is not pushed home, an extra"
            " wire missing.",
        )
    ]
