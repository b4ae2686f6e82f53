"""The board's outline and mark as DXF, where its parts sit as CSV. Front view, panel frame."""

from __future__ import annotations

from fab.checks.supply import shifted
from fab.design import Design
from fab.files.dxf import dxf
from fab.files.readback import check_dxf, refuse
from fab.files.table import csv_bytes
from fab.outlines.drawing import Drawing, Layer
from fab.outlines.inks import BLACK, BLUE, GREEN
from fab.outputs.model import OutFile
from fab.parts.board_outline import board_outline
from fab.parts.board_source import board_layout, edge_of
from fab.parts.boardmark import board_mark
from fab.parts.jumpersizes import jumper_sizes, row_places
from fab.parts.plan import Plan
from fab.power.circuit import Circuit, circuit, designators, inlet_circuit
from fab.units import fixed

PLACES = 6  # decimals, as in the DXF: the panel's centre can be read back from them
HEADER = (
    "designator",
    "x_mm",
    "y_mm",
    "side",
    "turn_deg",
    "kind",
    "index",
    "width_mm",
    "depth_mm",
    "height_mm",
    "note",
)
NETLIST = ("part", "pin", "net", "what")


def files(design: Design) -> list[OutFile]:
    """board/outline.dxf, mark.dxf and lists for the main design, with its name for the others."""
    out = []
    for name, plan in design.plans.items():
        if plan.params.board.none:
            continue
        tail, rows = "" if len(design.plans) == 1 else f"-{name}", name in design.with_rows
        drawing = outline_drawing(plan)
        data = dxf(drawing, version="R2000")
        refuse(f"board/outline{tail}.dxf", check_dxf(data, drawing))
        count = design.panels_of[name]
        out.append(OutFile(f"board/outline{tail}.dxf", "board", data, "board", count))
        if (printing := mark_drawing(plan, drawing)) is not None:
            data = dxf(printing, version="R2000")
            refuse(f"board/mark{tail}.dxf", check_dxf(data, printing, cut=False))
            out.append(OutFile(f"board/mark{tail}.dxf", "board", data, "board", count))
        placed, nets = csv_bytes(HEADER, positions(plan, rows_too=rows)), netlist(design, name)
        out.append(OutFile(f"board/positions{tail}.csv", "board", placed, "board", count))
        out.append(
            OutFile(f"board/netlist{tail}.csv", "board", csv_bytes(NETLIST, nets), "board", count)
        )
        fed = sum(design.layout.by_name[panel].design == name for panel in design.wired.inlets)
        if fed:
            small = csv_bytes(NETLIST, _rows(inlet_circuit(plan)))
            out.append(OutFile(f"board/inlet{tail}.csv", "board", small, "inlet", fed))
    return out


def circuit_of(design: Design, name: str) -> Circuit:
    """The nets of one design's board."""
    plan, power = design.plans[name], design.job.power
    layout = board_layout(plan)
    assert layout is not None
    shifter = shifted(design.wired, power, design.route)
    return circuit(plan, layout, power.control, shifter=shifter, rows=name in design.with_rows)


def netlist(design: Design, name: str) -> list[tuple[str, str, str, str]]:
    """One row a pin."""
    return _rows(circuit_of(design, name))


def _rows(made: Circuit) -> list[tuple[str, str, str, str]]:
    return [(pin.part, pin.pin, pin.net, made.what[pin.part]) for pin in made.pins]


def outline_drawing(plan: Plan) -> Drawing:
    """Outline and holes at true size, moved so that the lower left corner of the box is at the
    origin.
    """
    outline = board_outline(plan)
    x0, y0, x1, y1 = (round(value, PLACES) + 0.0 for value in outline.box)
    moved = outline.moved(-x0, -y0)
    layers = (Layer("HOLES", BLUE, 5, moved.holes), Layer("OUTLINE", BLACK, 7, (moved.edge,)))
    notes = (
        "front view, not mirrored",
        "nominal size, no kerf",
        f"panel centre at x {fixed(-x0, PLACES)}, y {fixed(-y0, PLACES)} mm; edge 0 towards +X",
    )
    return Drawing(x1 - x0, y1 - y0, layers, f"board of {plan.params.name}", notes)


def mark_drawing(plan: Plan, outline: Drawing) -> Drawing | None:
    """The printing on the board's LED side, to be laid over its outline: same page, same origin.
    A file of its own: a board editor takes every line of an outline for an edge.

    None where the board has no room for it.
    """
    layout = board_layout(plan)
    assert layout is not None
    x0, y0, _, _ = (round(value, PLACES) + 0.0 for value in board_outline(plan).box)
    curves = tuple(curve.moved(-x0, -y0) for curve in board_mark(layout))
    if not curves:
        return None
    layers = (Layer("MARK", GREEN, 3, curves),)
    notes = ("front view, not mirrored", "printing on the LED side: the arrow points to edge 0")
    return Drawing(outline.width, outline.height, layers, f"mark of {plan.params.name}", notes)


def positions(plan: Plan, *, rows_too: bool = False) -> list[tuple[str | int | float, ...]]:
    """One row a part in the usual form of placement files (designator, x, y, side, turn), then what
    it is: x, y of its middle (a socket's mouth) in the panel frame, front view.

    `rows_too`: with the pin rows of jumpers, one at each edge: a row is fitted where the table of
    joints has a jumper.
    """
    layout = board_layout(plan)
    if layout is None:
        return []
    axis = f"{plan.heights.axis_z - plan.heights.board_z:.3f} mm over the underside"
    names = designators(plan, layout)
    free = -1 if plan.fixings.mark is None else plan.fixings.mark.index
    groups = (
        (layout.holes, lambda part: "mounting hole"),
        (
            layout.sockets,
            lambda part: f"socket mouth on edge {edge_of(plan, part.at)}, axis {axis}",
        ),
        (layout.switches, lambda part: "plunger's middle"),
        (layout.leds, lambda part: "in data order"),
        (layout.parts, lambda part: part.name),
    )
    rows: list[tuple[str | int | float, ...]] = []
    for parts, note in groups:
        for k, part in enumerate(parts):
            says = (
                "hole of the mark: a peg of the base, no screw"
                if part.kind == "hole" and k == free
                else note(part)
            )
            place = (part.x, part.y, part.side, part.turn_deg)
            rows.append(
                (
                    names[part.kind][k],
                    *place,
                    part.kind,
                    k,
                    part.width,
                    part.depth,
                    part.height,
                    says,
                )
            )
    for edge, (x, y) in enumerate(row_places(plan) if rows_too else ()):
        jumper, pins = plan.params.jumper, plan.params.header.pins
        says = (
            f"pin row of a jumper on edge {edge}, {pins} poles, pitch {jumper.pitch:g} mm along the"
            " edge, keyed side towards the edge, open towards the wall; fit it where"
            " lists/joints.csv has a jumper"
        )
        size = (round(2 * jumper_sizes(plan).half_t, 6), jumper.row_depth, jumper.row_height)
        bearing = round(360.0 * edge / plan.cell.sides, 6)
        rows.append((f"JP{edge}", x, y, "back", bearing, "jumper", edge, *size, says))
    return rows
