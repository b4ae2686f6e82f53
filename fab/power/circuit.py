"""The part of a board's circuit that the wall fixes: parts with their pins, and which pins are one
net. Free of the kernel.

    U1  controller, or none with one controller for the wall     J0 .. J5   socket of edge 0 .. 5,
    pin 1 first
    U2  level shifter, where one is needed                       JP0 ..     pin row of a jumper,
    the same nets
    D1, D2 ...  LEDs in the order of the data line               C1, C2 ... a capacitor beside each
    LED
    C0  bulk capacitor                                           R1  resistor in the data line, R2
    ... pull-ups
    SW0 ..      edge switches, to ground                         TP1 ...    test points; J9x
    supply pads

The nets are enough to draw the circuit from; the circuit itself (controller's own parts,
protection, layout) is its
designer's.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from fab.parts.board_source import BoardLayout, edge_of
from fab.parts.plan import Plan
from fab.power.pins import pin_order
from fab.units import percent, some

SUPPLY, GROUND, LED_DATA = "VLED", "GND", "DATA"
DATA_OHM = 330.0  # at the first LED's data input; E-series value, common practice
PULL_OHM = 10_000.0  # pull-up of an edge switch; E-series value, common practice


@dataclass(frozen=True)
class Pin:
    """One pin of one part, and its net; "" where it is free."""

    part: str
    pin: str  # number or usual name
    net: str


@dataclass(frozen=True)
class Circuit:
    """All pins of one board."""

    pins: tuple[Pin, ...]
    what: Mapping[str, str]  # part to what it is, by generic trade name

    def of(self, part: str) -> tuple[Pin, ...]:
        """The pins of one part."""
        return tuple(pin for pin in self.pins if pin.part == part)


def socket_nets(plan: Plan, edge: int) -> tuple[str, ...]:
    """Nets of a socket's pins; pin 1 lies at the counter-clockwise end of its edge, front view.

    The order reads the same from both ends; of a pair of data pins the first sends out over this
    edge, the other
    receives, so that through a joint pin k meets pin n + 1 - k and what one sends the other
    receives.
    """
    order = pin_order(plan.params.header)
    if order is None:
        return ()
    data = [k for k, kind in enumerate(order) if kind == "data"]
    names = []
    for k, kind in enumerate(order):
        if kind == "supply":
            names.append(SUPPLY)
        elif kind == "ground":
            names.append(GROUND)
        else:
            before = data.index(k)
            behind = len(data) - 1 - before
            if before < behind:
                names.append(f"E{edge}_OUT{'' if len(data) < 4 else before + 1}")
            elif before > behind:
                names.append(f"E{edge}_IN{'' if len(data) < 4 else behind + 1}")
            else:
                names.append(f"E{edge}_IO")  # a lone data pin in the middle serves both ways
    return tuple(names)


def circuit(
    plan: Plan, layout: BoardLayout, control: str, *, shifter: bool, rows: bool = False
) -> Circuit:
    """Return a board's nets. `shifter`: one before the LEDs; `rows`: pin rows of jumpers."""
    pins: list[Pin] = []
    what: dict[str, str] = {}

    def put(part: str, kind: str, ends: Sequence[tuple[str, str]]) -> None:
        what[part] = kind
        pins.extend(Pin(part, pin, net) for pin, net in ends)

    edges = [edge_of(plan, socket.at) for socket in layout.sockets]
    data_ends = [
        (net.replace("_", ""), net)
        for edge in edges
        for net in socket_nets(plan, edge)
        if net.startswith("E")
    ]
    for edge in edges:
        nets = socket_nets(plan, edge)
        numbered = [(str(k), net) for k, net in enumerate(nets, 1)]
        put(
            f"J{edge}",
            f"socket, {some(len(nets), 'pin')}, pitch {plan.params.header.pitch:g} mm",
            numbered,
        )
        if rows:
            put(f"JP{edge}", f"pin row of a jumper, {some(len(nets), 'pin')}", numbered)
    put("J90", "supply pads of an inlet", [("1", SUPPLY), ("2", GROUND)])
    first = f"{LED_DATA}_1"
    if control == "each":
        source = f"{LED_DATA}_RAW" if shifter else f"{LED_DATA}_DRIVE"
        ends = [("VIN", SUPPLY), ("GND", GROUND), ("LED", source)]
        ends += data_ends
        ends += [
            (f"SW{edge_of(plan, one.at)}", f"SWITCH_{edge_of(plan, one.at)}")
            for one in layout.switches
        ]
        put("U1", "controller module with its own regulator", ends)
        if shifter:
            put(
                "U2",
                "level shifter, one gate, input for 3.3 V logic, fed from VLED",
                [("VCC", SUPPLY), ("GND", GROUND), ("A", source), ("Y", f"{LED_DATA}_DRIVE")],
            )
    else:
        # one line through the wall: which socket leads on to which board is set by solder bridges
        ends = [("COM_IN", f"{LED_DATA}_DRIVE"), ("COM_OUT", f"{LED_DATA}_LAST")]
        ends += data_ends
        put("SB1", "solder bridges: one edge's IN to COM_IN, one edge's OUT to COM_OUT", ends)
        put(
            "J91",
            "data pads for an extra wire or the controller",
            [("1", f"{LED_DATA}_DRIVE"), ("2", f"{LED_DATA}_LAST"), ("3", GROUND)],
        )
        for k, one in enumerate(layout.switches):
            put(
                f"J{92 + k}",
                "pads of a switch's wire",
                [("1", f"SWITCH_{edge_of(plan, one.at)}"), ("2", GROUND)],
            )
    put("R1", f"resistor {DATA_OHM:g} ohm", [("1", f"{LED_DATA}_DRIVE"), ("2", first)])
    many = len(layout.leds)
    for k in range(1, many + 1):
        out = f"{LED_DATA}_{k + 1}" if k < many else f"{LED_DATA}_LAST"
        ends = [("VDD", SUPPLY), ("DOUT", out), ("GND", GROUND), ("DIN", f"{LED_DATA}_{k}")]
        # usual names of its pins; their numbers are its data sheet's
        put(f"D{k}", "addressable LED", ends)
    nf = plan.params.led.bypass_nf
    for k in range(1, many + 1 if nf > 0 else 1):
        put(f"C{k}", f"ceramic capacitor {nf:g} nF", [("1", SUPPLY), ("2", GROUND)])
    if plan.params.board.bulk_uf > 0:
        put(
            "C0", f"bulk capacitor {plan.params.board.bulk_uf:g} uF", [("+", SUPPLY), ("-", GROUND)]
        )
    for one in layout.switches:
        edge = edge_of(plan, one.at)
        put(f"SW{edge}", "push switch, normally open", [("1", f"SWITCH_{edge}"), ("2", GROUND)])
        if control == "each":
            put(
                f"R{10 + edge}",
                f"resistor {PULL_OHM:g} ohm, pull-up",
                [("1", f"SWITCH_{edge}"), ("2", "LOGIC")],
            )
    if control == "each" and layout.switches:
        pins.append(Pin("U1", "VLOGIC", "LOGIC"))
    for k, net in enumerate((SUPPLY, GROUND, first, f"{LED_DATA}_LAST"), 1):
        put(f"TP{k}", f"test point {net}", [("1", net)])
    return Circuit(tuple(pins), what)


def inlet_circuit(plan: Plan) -> Circuit:
    """Return the nets of an inlet's small board; its pads go to J90 of the panel's board."""
    inlet = plan.params.inlet
    feed = "VBUS" if inlet.soft_start_ms > 0 else SUPPLY
    pins, what = [], {}
    if inlet.kind == "usb-c":
        what["J1"] = "USB Type-C receptacle, power only"
        ends = (("VBUS", feed), ("GND", GROUND), ("CC1", "CC1"), ("CC2", "CC2"))
        pins += [Pin("J1", pin, net) for pin, net in ends]
        for part, net in (("R1", "CC1"), ("R2", "CC2")):
            what[part] = f"resistor {inlet.cc_ohm:g} ohm, {percent(inlet.cc_tolerance)}"
            pins += [Pin(part, "1", net), Pin(part, "2", GROUND)]
    else:
        what["J1"] = "pads of the supply cable"
        pins += [Pin("J1", "1", feed), Pin("J1", "2", GROUND)]
    if inlet.soft_start_ms > 0:
        what["U1"] = f"load switch, ramps up in {inlet.soft_start_ms:g} ms or more"
        pins += [Pin("U1", "IN", feed), Pin("U1", "OUT", SUPPLY), Pin("U1", "GND", GROUND)]
    what["J2"] = "pads of the wires to J90 of the panel's board"
    pins += [Pin("J2", "1", SUPPLY), Pin("J2", "2", GROUND)]
    return Circuit(tuple(pins), what)


def designators(plan: Plan, layout: BoardLayout) -> Mapping[str, tuple[str, ...]]:
    """Return the designators of what sits on a board, by kind, in the layout's order."""
    return {
        "hole": tuple(f"H{k}" for k in range(1, len(layout.holes) + 1)),
        "socket": tuple(f"J{edge_of(plan, socket.at)}" for socket in layout.sockets),
        "switch": tuple(f"SW{edge_of(plan, switch.at)}" for switch in layout.switches),
        "led": tuple(f"D{k}" for k in range(1, len(layout.leds) + 1)),
        "part": tuple(part.name or f"X{k}" for k, part in enumerate(layout.parts, 1)),
    }
