"""Brief for the board: all that the wall asks of a board, for the designer of its circuit. A brief,
not a circuit.
"""

from __future__ import annotations

import math
from collections import Counter

from fab.checks.supply import shifted, zone_uf
from fab.design import Design
from fab.files.docpdf import document_pdf
from fab.files.document import (
    Block,
    Caution,
    Chapter,
    Document,
    Facts,
    Figure,
    Heading,
    Para,
    Table,
)
from fab.outputs.board import circuit_of
from fab.outputs.boardpage import board_page, pins_page
from fab.outputs.model import PRINT_SIZES, OutFile
from fab.parts.board_source import BoardLayout, board_layout, edge_of
from fab.parts.plan import Plan
from fab.power.circuit import LED_DATA, socket_nets
from fab.power.supply import inrush_a, track_mm
from fab.remembered import remembering
from fab.units import fixed, percent

WAIVER = (
    "This is a brief, not a circuit: it states the requirements of the wall on a board."
    " Protection, the controller's own parts, layout and approval are work for a qualified board"
    " designer. Local codes come first."
)
PIN_MM = 0.64  # square pin of a 2.54 mm header; trade size, from memory
# IPC-2222: a hole is wider than the lead it takes; usual 1.02 mm for a 0.64 mm square pin
DRILL_OVER_MM = 0.11
PAD_OVER_MM = 0.68  # pad 1.7 mm round it: the usual land of such a header
LANDS = (
    ("LED", "land of the LED's own data sheet; body {size:g} x {size:g} mm"),
    (
        "capacitor and resistor, 1608 metric",
        "CAPC1608X90N and RESC1608X55N of IPC-7351, density level N",
    ),
    ("bulk capacitor", "land of its data sheet; must fit within the free height"),
)


def blocks(design: Design, name: str) -> list[Block]:
    """The brief of one design's board."""
    plan = design.plans[name]
    layout = board_layout(plan)
    assert layout is not None
    tail = "" if len(design.plans) == 1 else f"-{name}"
    rows = name in design.with_rows
    made = circuit_of(design, name)
    sorts = Counter(what for part, what in made.what.items())
    found: list[Block] = [
        Caution(WAIVER),
        Facts(_facts(design, plan, layout)),
        Figure(
            board_page(plan, layout, rows=rows),
            f"Board of {plan.params.name}, front view, edge 0 to the right: "
            f"board/outline{tail}.dxf and "
            f"board/positions{tail}.csv hold the places. Blue: the data line from D1 on; dots: "
            "pin 1 of each socket.",
        ),
        Figure(
            pins_page(plan),
            "Pins of a joint. The same order at every edge, so any edge mates with any other.",
        ),
        _sockets(plan, layout),
        _holes(plan, layout),
        Table(
            f"Parts of one board (board/netlist{tail}.csv has every pin and net)",
            ("what", "pieces"),
            tuple((what, str(count)) for what, count in sorts.items()),
            numeric=(1,),
        ),
        Table("Lands and drills", ("for", "land"), _lands(plan)),
        *_inlet(design, name),
        *_switches(plan, layout),
        Table(
            "Test points; print their names, and J90 and R1, on the board",
            ("point", "net", "reads"),
            _test_points(design),
        ),
    ]
    return found


def chapter(design: Design) -> Chapter:
    """The book's chapter: every board's brief."""
    found: list[Block] = []
    for name in design.lit_designs:
        if len(design.lit_designs) > 1:
            found.append(Heading(f"Board of {design.plans[name].params.name}"))
        found += blocks(design, name)
    return Chapter("Brief for the board", "brief", tuple(found), folded=True)


def document(design: Design, name: str) -> Document:
    """board/brief.pdf as a document of its own."""
    title = f"Board brief: {design.plans[name].params.name}"
    one = Chapter(title, "brief", tuple(blocks(design, name)))
    return Document(
        title, f"For the wall {design.job.job}: a brief, not a circuit", (one,), "brief", WAIVER
    )


def files(design: Design) -> list[OutFile]:
    """board/brief.pdf, one a design."""
    found = []
    for name in design.lit_designs:
        tail = "" if len(design.plans) == 1 else f"-{name}"
        data = _pdf(document(design, name), *PRINT_SIZES[design.job.shop.units])
        found.append(
            OutFile(f"board/brief{tail}.pdf", "board", data, "board", design.panels_of[name])
        )
    return found


# during a watch the board seldom changes
_pdf = remembering(2)(document_pdf)


def _facts(design: Design, plan: Plan, layout: BoardLayout) -> tuple[tuple[str, str], ...]:
    params = plan.params
    x0, y0, x1, y1 = layout.outline.box
    under = plan.heights.board_z - plan.floor.top_z
    busiest = max(zone.current_a for zone in design.wired.zones)
    rail = max([busiest, *(abs(w.supply_a) for w in design.wired.wiring)])
    width = track_mm(rail, params.board.copper_um)
    return (
        (
            "Outline",
            f"{fixed(x1 - x0, 2)} x {fixed(y1 - y0, 2)} mm, {params.board.thickness:g} mm thick",
        ),
        (
            "Free height under the board",
            (
                f"{fixed(under, 1)} mm to the floor; parts up to {params.board.controller_height:g}"
                " mm away from clips, posts and inlet"
            ),
        ),
        (
            "Free height above the board",
            (
                f"{fixed(plan.heights.ledge_z - plan.heights.board_top_z, 1)} mm to the diffuser;"
                " keep it for LEDs, switches and light"
            ),
        ),
        (
            "Solder mask",
            (
                f"white on the LED side, reflectance {params.board.reflectance:g} or more; print an"
                " arrow and 0 at edge 0 (board/mark.dxf)"
            ),
        ),
        (
            "Copper",
            (
                f"{params.board.copper_um:g} um; rails for {fixed(rail, 2)} A: {fixed(width, 2)} mm"
                " or wider on an outer layer, 10 K warmer (IPC-2221 6.2, from memory); better two"
                " planes"
            ),
        ),
        (
            "Path of each rail",
            (
                f"{params.board.power_squares:g} squares of copper at most from an edge to the"
                " middle; the power calculation uses this value"
            ),
        ),
        (
            "LEDs",
            (
                f"{len(layout.leds)}, {params.led.full_a * 1000:g} mA each at full white, "
                f"{params.led.least_v:g} V at least"
            ),
        ),
        (
            "Controller",
            (
                f"middle of the back, idle current of the board {params.board.controller_a:g} A"
                if design.job.power.control == "each"
                else (
                    "none: one data line for the whole wall; solder bridges select the edge that"
                    " passes it on"
                )
            ),
        ),
    )


def _sockets(plan: Plan, layout: BoardLayout) -> Table:
    """Pins of every socket in order."""
    rows = []
    for socket in layout.sockets:
        edge = edge_of(plan, socket.at)
        nets = socket_nets(plan, edge)
        rows.append(
            (
                f"J{edge}",
                f"{fixed(socket.x, 2)}",
                f"{fixed(socket.y, 2)}",
                socket.side,
                " ".join(f"{k} {net}" for k, net in enumerate(nets, 1)),
            )
        )
    return Table(
        f"Sockets: middle of the mouth, axis {fixed(plan.heights.board_z - plan.heights.axis_z, 2)}"
        " mm under the board's underside; pins from pin 1 on",
        ("part", "x mm", "y mm", "side", "pins in order"),
        tuple(rows),
        numeric=(1, 2),
    )


def _holes(plan: Plan, layout: BoardLayout) -> Table:
    free = -1 if plan.fixings.mark is None else plan.fixings.mark.index
    rows = tuple(
        (
            f"H{k + 1}",
            fixed(hole.x, 2),
            fixed(hole.y, 2),
            fixed(hole.width, 2),
            "the mark: peg of the base, no screw" if k == free else "screw",
        )
        for k, hole in enumerate(layout.holes)
    )
    return Table(
        "Mounting holes, not plated",
        ("part", "x mm", "y mm", "diameter mm", "takes"),
        rows,
        numeric=(1, 2, 3),
    )


def _lands(plan: Plan) -> tuple[tuple[str, str], ...]:
    lead = PIN_MM * math.sqrt(2)
    drill = lead + DRILL_OVER_MM
    header = (
        f"drill {fixed(drill, 2)} mm, pad {fixed(drill + PAD_OVER_MM, 2)} mm for a {PIN_MM} mm "
        "square pin; or the land of the socket's data sheet"
    )
    lands = tuple((what, text.format(size=plan.params.led.size)) for what, text in LANDS)
    return ((f"socket, pitch {plan.params.header.pitch:g} mm", header), *lands)


def _inlet(design: Design, name: str) -> list[Block]:
    """The parts on the small board of a zone's inlet."""
    zones = [
        zone
        for zone in design.wired.zones
        if design.layout.by_name[zone.inlet_panel].design == name
    ]
    if not zones:
        return []
    params = {key: plan.params for key, plan in design.plans.items()}
    inlet = design.plans[name].params.inlet
    held = max(zone_uf(zone, design.wired, design.layout, params) for zone in zones)
    rows = [("capacitors behind it", f"{fixed(held, 1)} uF")]
    if inlet.kind == "usb-c":
        rows.insert(
            0, ("receptacle", "USB Type-C, power only (6 or 16 contacts): VBUS, GND, CC1, CC2")
        )
        rows.insert(
            1,
            (
                "pull-downs",
                (
                    f"two resistors of {inlet.cc_ohm:g} ohm, {percent(inlet.cc_tolerance)}: CC1 to"
                    " GND and CC2 to GND, one each"
                ),
            ),
        )
    if inlet.soft_start_ms > 0:
        surge = inrush_a(held, design.job.power.supply_v, inlet.soft_start_ms)
        rows.append(
            (
                "load switch",
                (
                    f"ramps the supply up in {inlet.soft_start_ms:g} ms or more: {fixed(surge, 2)}"
                    " A fill the capacitors"
                ),
            )
        )
    rows.append(("to the panel's board", "red to pad 1 of J90 (VLED), black to pad 2 (GND)"))
    where = "Inlet, on its own small board"
    if inlet.kind == "round":
        switch = "; the load switch is on a small board in the cable"
        where = f"Inlet of a cable{switch if inlet.soft_start_ms > 0 else ''}"
    title = f"{where} (board/inlet.csv has the nets)"
    return [Table(title, ("part", "what"), tuple(rows))]


def _switches(plan: Plan, layout: BoardLayout) -> list[Block]:
    if not layout.switches:
        return []
    rows = tuple(
        (f"SW{edge_of(plan, one.at)}", fixed(one.x, 2), fixed(one.y, 2)) for one in layout.switches
    )
    return [
        Table(
            "Edge switches, LED side: middle of the plunger",
            ("part", "x mm", "y mm"),
            rows,
            numeric=(1, 2),
        ),
        Para(
            "Normally open, either way round: one contact to GND, the other to the controller and "
            "a pull-up to its own logic supply, never to VLED."
        ),
    ]


def _test_points(design: Design) -> tuple[tuple[str, str, str], ...]:
    power = design.job.power
    level = (
        power.supply_v
        if shifted(design.wired, power, design.route) or power.control == "one"
        else power.logic_v
    )
    return (
        ("TP1", "VLED", f"{power.supply_v:g} V from a bench supply, against TP2"),
        ("TP2", "GND", "0 V"),
        ("TP3", f"{LED_DATA}_1", f"pulses of {level:g} V while LEDs change"),
        ("TP4", f"{LED_DATA}_LAST", "the same pulses once every LED is lit"),
    )
