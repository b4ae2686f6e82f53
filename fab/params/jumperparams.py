"""The jumper of a joint: two crimped plugs, loose wires, and the pin rows under the boards.

The defaults are one stack as it is sold by many makers: a shrouded pin row with 2.0 mm pitch for
crimped plugs, upright, through-hole, with 24-gauge wire of thin insulation. Sizes from memory of
catalogues; measure yours.
"""

from __future__ import annotations

from fab.params.spec import ParamTable, length, number

CATALOGUE = "crimp connectors of 2.0 mm pitch, wire to board, upright; from memory"
WIRE = "24-gauge stranded wire, insulation 0.23 mm; from memory"


class JumperParams(ParamTable):
    """Pin row, plug and wires of a jumper; it has as many poles as `header.pins`."""

    pitch: float = length(2.0, "pitch of row and plug", 0.8, 5.08, source=CATALOGUE)
    row_height: float = length(
        6.0, "height of the shrouded row under the board", 1.0, 20.0, source=CATALOGUE
    )
    row_depth: float = length(
        4.5, "depth of row and plug, square to the row", 1.0, 20.0, source=CATALOGUE
    )
    row_end: float = length(
        1.95,
        "length of row and plug beyond the middle of the outer pins",
        0.3,
        10.0,
        source=CATALOGUE,
    )
    stack: float = length(
        8.0,
        "from the board to the wire end of a plug that is pushed home",
        1.5,
        30.0,
        source=CATALOGUE,
    )
    plug_height: float = length(
        7.0, "length of the plug along its insertion path", 1.0, 30.0, source=CATALOGUE
    )
    pin: float = length(
        0.5,
        "side length of the square pins; their tails stand out on the LED side",
        0.2,
        1.5,
        source=CATALOGUE,
    )
    tail: float = length(
        1.8,
        "how far a tail stands out of the board's face; 0: a surface-mounted row",
        0.0,
        5.0,
        source="3.4 mm less 1.6 mm of board; from memory",
    )
    wire_d: float = length(1.1, "wire with its insulation", 0.3, 3.0, source=WIRE)
    bend: float = number(
        2.0,
        "least inner radius of a bend, as a multiple of the wire's diameter",
        0.5,
        20.0,
        source=(
            "workmanship standards for wire harnesses, single insulated wires: twice; from memory"
        ),
    )
    straight: float = length(
        1.0, "straight length of a wire behind the plug, before its bend", 0.0, 10.0
    )
    slack: float = length(1.0, "tolerance of the wires' length, plus or minus", 0.0, 20.0)
    air: float = length(0.5, "clearance round the plug in the opening, per side", 0.1, 5.0)
    contact_a: float = number(
        2.0, "current rating of one contact", 0.05, 30.0, unit="A", source=CATALOGUE
    )
    contact_ohm: float = number(
        0.02, "resistance of one contact after ageing", 0.0, 10.0, unit="ohm", source=CATALOGUE
    )
    wire_ohm_per_m: float = number(
        0.085, "resistance of one wire", 0.0, 100.0, unit="ohm/m", source=WIRE
    )
