"""The board's mechanical outline as DXF, and where its parts sit as CSV. Front view, panel frame."""

from __future__ import annotations

import math

from fab.decisions import Design
from fab.errors import BrokenGeometry
from fab.files.dxf import dxf
from fab.files.readback import check_dxf
from fab.files.table import csv_bytes
from fab.outlines.drawing import Drawing, Layer
from fab.outputs.model import OutFile
from fab.parts.board_outline import board_outline, socket_places
from fab.parts.leds import led_grid
from fab.parts.plan import Plan

HEADER = ("kind", "index", "x_mm", "y_mm", "turn_deg", "width_mm", "depth_mm", "height_mm", "side", "note")


def files(design: Design) -> list[OutFile]:
    """board/outline.dxf and positions.csv for the main design, with its name for the others."""
    out = []
    for name, plan in design.plans.items():
        tail = "" if len(design.plans) == 1 else f"-{name}"
        drawing = outline_drawing(plan)
        data = dxf(drawing, version="R2000")
        problems = check_dxf(data, drawing)
        if problems:
            raise BrokenGeometry(f"board/outline{tail}.dxf does not read back as it was made: {'; '.join(problems[:3])}")
        count = design.panels_of[name]
        out.append(OutFile(f"board/outline{tail}.dxf", "board", data, "board", count))
        out.append(OutFile(f"board/positions{tail}.csv", "board", csv_bytes(HEADER, positions(plan)), "board", count))
    return out


def outline_drawing(plan: Plan) -> Drawing:
    """Outline and holes at true size, moved so that the lower left corner of the box is at the origin."""
    outline = board_outline(plan)
    x0, y0, x1, y1 = outline.box
    moved = outline.moved(-x0, -y0)
    layers = (
        Layer("HOLES", "#0072b2", 5, moved.holes),
        Layer("OUTLINE", "#000000", 7, (moved.edge,)),
    )
    notes = (
        "front view, not mirrored", "nominal size, no kerf",
        f"panel centre at x {(-x0):.4f}, y {(-y0):.4f} mm; edge 0 towards +X",
    )  # fmt: skip
    return Drawing(x1 - x0, y1 - y0, layers, f"board of {plan.params.name}", notes)


def positions(plan: Plan) -> list[tuple[str | int | float, ...]]:
    """One row a part: x, y of its middle in the panel frame (origin at the panel's centre), front view."""
    params = plan.params
    rows: list[tuple[str | int | float, ...]] = []
    for k, (x, y) in enumerate(plan.board_holes):
        rows.append(("hole", k, x, y, 0.0, params.board.hole, params.board.hole, 0.0, "both", "mounting hole"))
    header = params.header
    wide = header.pins * header.pitch
    for k, (x, y) in enumerate(socket_places(plan)):
        angle = math.degrees(math.atan2(y, x)) % 360.0
        note = f"socket mouth on edge {k}, axis {plan.axis_z - plan.board_z:.3f} mm over the underside"
        rows.append(("socket", k, x, y, angle, wide, header.socket_depth, header.socket_height, "back", note))
    if params.switch.on:
        reach = plan.cell.apothem - plan.switch_u
        for k in range(plan.cell.sides):
            angle = 2 * math.pi * k / plan.cell.sides
            rows.append(
                ("switch", k, reach * math.cos(angle), reach * math.sin(angle), math.degrees(angle), params.switch.size,
                 params.switch.size, params.switch.height, "front", "plunger's middle")
            )  # fmt: skip
    led = params.led
    for k, (x, y) in enumerate(led_grid(plan)):
        rows.append(("led", k, x, y, 0.0, led.size, led.size, led.height, "front", "in data order"))
    return rows
