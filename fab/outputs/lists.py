"""What to make and buy with counts, and the address table of the panels. Pieces, not packs."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from fab.decisions import Design
from fab.files.table import Cell, csv_bytes, json_bytes
from fab.outputs.art import diffusers, note
from fab.outputs.model import OutFile
from fab.parts.board_outline import socket_places
from fab.parts.leds import led_grid
from fab.power.cables import CableRun, cable_runs
from fab.power.tables import CABLE_COLUMNS, JOINT_COLUMNS, address_rows, cable_rows, joint_rows
from fab.prints.mass import Printed
from fab.products import PartSpec
from fab.units import tool_size
from fab.values import job_toml, plain

PARTS_HEADER = ("item", "part", "design", "count", "source", "material", "each_g", "total_g", "total_hours", "cost", "file", "note")


@dataclass(frozen=True)
class Line:
    """One line of the parts list."""

    item: str
    part: str
    design: str
    count: int
    source: str  # print, cut, buy, order
    material: str = ""
    each_g: float | None = None
    total_g: float | None = None
    hours: float | None = None
    cost: float | None = None
    file: str = ""
    note: str = ""

    @property
    def row(self) -> tuple[Cell, ...]:
        return (
            self.item, self.part, self.design, self.count, self.source, self.material, _cut(self.each_g, 2),
            _cut(self.total_g, 1), _cut(self.hours, 2), _cut(self.cost, 2), self.file, self.note,
        )  # fmt: skip


def _cut(value: float | None, places: int) -> float | None:
    return None if value is None else round(value, places)


def parts(
    design: Design, uses: Mapping[PartSpec, Printed], sheets: Mapping[str, int]
) -> list[Line]:
    """All lines. `uses`: what one copy of a printed part uses up. `sheets`: stock to number of sheets used."""
    job, counts = design.job, design.counts
    shop = job.shop
    lines: list[Line] = []
    for spec, count in design.printed:
        use = uses[spec]
        whole = use.times(count)
        lines.append(
            Line(spec.name, spec.part, spec.design, count, "print", shop.filament.material, use.grams, whole.grams,
                 whole.hours, whole.cost, f"print/{spec.name}_x{count}.stl", _note(spec))
        )  # fmt: skip
    for one in diffusers(design):
        stock = design.plans[one.design].stock
        grams = one.outline(design).area_mm2 * stock.thickness / 1000 * stock.density
        label = f"{stock.material} {stock.finish} {stock.thickness:g} mm"
        lines.append(
            Line(one.item, "diffuser", one.design, one.count, "cut", label, grams, grams * one.count,
                 file=f"cut/{one.item}.dxf", note=note(one))
        )  # fmt: skip
    for stock_name, used in sheets.items():
        stock = shop.stock[stock_name]
        size = f"{stock.width:g} x {stock.height:g} x {stock.thickness:g} mm"
        lines.append(Line(f"sheet {stock_name}", "sheet", "", used, "buy", f"{stock.material} {stock.finish}", cost=used * stock.price, note=size))
    lines += _electrics(design)
    lines += _hardware(design, counts.hangers)
    return lines


def _note(spec: PartSpec) -> str:
    if spec.kind is None:
        return ""
    said = []
    if spec.kind.inlet:
        said.append(f"inlet at edge {spec.kind.steps}")
    if spec.kind.up_deg is not None:
        said.append("hangs with the arrow inside it upwards")
    return "; ".join(said)


def _electrics(design: Design) -> list[Line]:
    counts = design.counts
    lines = []
    for name, plan in design.plans.items():
        if plan.params.board.none:
            continue
        boards = design.panels_of[name]
        leds = len(led_grid(plan))
        tail = "" if len(design.plans) == 1 else f" {name}"
        outline = "board/outline.dxf" if len(design.plans) == 1 else f"board/outline-{name}.dxf"
        lines.append(Line(f"circuit board{tail}", "board", name, boards, "order", file=outline, note=f"{leds} LEDs each, {boards * leds} in all"))
        lines.append(Line(f"socket{tail}", "socket", name, boards * len(socket_places(plan)), "buy", note=f"{plan.params.header.pins} pins, pitch {plan.params.header.pitch:g} mm, under each edge"))
    full, without = (design.table.counts[kind] for kind in ("header", "header without supply"))
    lit = next(panel.design for panel in design.layout.panels if panel.name not in design.blank)
    header = design.plans[lit].params.header
    what = f"{header.pins} pins, pitch {header.pitch:g} mm, {header.pin:g} mm of pin each way"
    if full:
        lines.append(Line("header, all pins", "header", "", full, "buy", note=what))
    if without:
        lines.append(Line("header, supply pins pulled", "header", "", without, "buy", note=what + "; between zones: data and ground only"))
    for (one, _, wire, supply), count in design.cables.items():
        jumper, pins = design.plans[one].params.jumper, header.pins
        note = (
            f"{pins} wires of {jumper.wire_d:g} mm, {wire:g} mm between the plugs (plus or minus {jumper.slack:g} mm), "
            f"pitch {jumper.pitch:g} mm; contact k to contact {pins + 1} - k, so that no wires cross"
        )
        if not supply:
            note += "; between zones: supply wires left out, data and ground only"
        item = f"jumper cable {wire:g} mm" + ("" if supply else ", no supply wires")
        lines.append(Line(item, "jumper", "", count, "buy", note=note))
    if design.cables:
        rows = 2 * sum(design.cables.values())
        note = f"{header.pins} pins, pitch {design.plans[lit].params.jumper.pitch:g} mm, shrouded, upright, under the board"
        lines.append(Line("pin row for a jumper", "pin row", "", rows, "buy", note=note))
    if counts.inlets:
        inlet = design.plans[lit].params.inlet
        kind = "USB Type-C receptacle on a small board" if inlet.kind == "usb-c" else f"cable of {inlet.cable_d:g} mm"
        lines.append(Line("inlet", "inlet", "", counts.inlets, "buy", note=kind))
        power = design.job.power
        lines.append(Line("supply", "supply", "", counts.inlets, "buy", note=f"{power.supply_v:g} V, {power.supply_a:g} A, with a safety mark, one per inlet"))
        lines.append(Line("supply cable", "cable", "", counts.inlets, "buy", note=f"{power.cable_mm / 1000:g} m each"))
        runs = cables(design)
        clips = sum(run.clips for run in runs)
        if clips:
            lines.append(Line("cable clip", "cable clip", "", clips, "buy", note="for the way on the wall, see lists/cables.csv"))
        fuses = sorted({run.fuse_a for run in runs if run.fuse_a is not None})
        if fuses:
            lines.append(Line("fuse", "fuse", "", len(runs), "buy", note=f"{', '.join(f'{fuse:g} A' for fuse in fuses)}, at the start of each cable, or supplies that limit to less"))
    return lines


def cables(design: Design) -> tuple[CableRun, ...]:
    """The supply cables on the wall."""
    params = {name: plan.params for name, plan in design.plans.items()}
    return cable_runs(design.layout, design.wired, design.job.power, params, design.behind)


def screw_stand(design: Design) -> float:
    """How far a screw's head stands off the room wall: feet, floor of the base and a little play, mm."""
    return max(plan.floor_z + plan.params.base.feet for plan in design.plans.values()) + 0.3


def _hardware(design: Design, hangers: int) -> list[Line]:
    lines = []
    board = shell = inserts = 0
    first = design.plans[design.layout.panels[0].design].params
    for name, plan in design.plans.items():
        count = design.panels_of[name]
        board += plan.board_screws * count
        shell += len(plan.shell_screws) * count
        if plan.params.base.board_fixing == "insert":
            inserts += plan.board_screws * count
    size = f"M{first.screw_d:g}"
    if board:
        lines.append(Line(f"screw {size}, pan head", "screw", "", board, "buy", note="board to base"))
    if shell:
        lines.append(Line(f"screw {size}, countersunk", "screw", "", shell, "buy", note="from the back into the shell; 10 to 12 mm long"))
    if inserts:
        lines.append(Line(f"heat-set insert {size}", "insert", "", inserts, "buy", note=f"hole {first.insert_d:g} mm"))
    wall = design.job.shop.wall[design.job.hang.wall]
    if hangers:
        hanger = first.hanger
        stand = screw_stand(design)
        long = f"; {math.ceil(wall.depth + stand)} mm long under the head" if first.base.feet else ""
        lines.append(Line("wall screw", "hanger", "", hangers, "buy", note=f"shank {hanger.screw_d:g} mm, head {hanger.head_d:g} mm at most{long}"))
        lines.append(Line("wall plug", "hanger", "", hangers, "buy", note=f"for {design.job.hang.wall}, drill {tool_size(wall.drill, design.job.shop.units == 'in')}; {wall.note}".rstrip("; ")))
    lines.append(Line("clear adhesive", "glue", "", design.counts.diffusers, "buy", note="a few dots under each diffuser; try it on an offcut first"))
    return lines


def addresses(design: Design) -> list[dict[str, Cell]]:
    """One row a panel: the wiring's address table, with base kind and how the base is turned."""
    rows = []
    left_open: dict[str, list[str]] = {}
    for edge in design.layout.open_edges:
        left_open.setdefault(edge.panel, []).append(str(edge.edge))
    for row, use in zip(address_rows(design.layout, design.wired), design.uses, strict=True):
        rows.append(
            row | {"base": use.kind.key, "base_turn_edges": use.steps,
                   "hanger": use.panel in design.hung.by_panel,
                   "open_edges": " ".join(left_open.get(use.panel, ()))}
        )  # fmt: skip
    return rows


def files(design: Design, lines: Sequence[Line], addresses: Sequence[Mapping[str, Cell]]) -> list[OutFile]:
    """lists/parts.csv, panels.csv, panels.json, and the values that all of it was made of."""
    header = tuple(addresses[0])
    joints, runs = joint_rows(design.layout, design.wired), cable_rows(design.wired, cables(design))
    return [
        OutFile("lists/parts.csv", "list", csv_bytes(PARTS_HEADER, [line.row for line in lines]), "parts"),
        OutFile("lists/panels.csv", "list", csv_bytes(header, [tuple(row.values()) for row in addresses]), "panels"),
        OutFile("lists/panels.json", "list", json_bytes({"job": design.job.job, "panels": addresses}), "panels"),
        OutFile("lists/joints.csv", "list", csv_bytes(tuple(JOINT_COLUMNS), [tuple(row.values()) for row in joints]), "joints"),
        OutFile("lists/cables.csv", "list", csv_bytes(tuple(CABLE_COLUMNS), [tuple(row.values()) for row in runs]), "cables"),
        OutFile("lists/values.json", "list", json_bytes(plain(design.job)), "values"),
        OutFile("lists/job.toml", "list", job_toml(design.job), "values"),
    ]
