"""Lines of the parts list for what feeds a wall: inlets with what holds them, supplies, cables on
the wall, fuses, wire.
"""

from __future__ import annotations

import math
from collections import Counter

from fab.design import Design
from fab.outputs.line import PartsLine
from fab.parts.inlet_sizes import TIE_MOST
from fab.power.supply import wire_for
from fab.units import figure, percent

# from an inlet to its board, each colour, with a loop; common practice, no source
INLET_WIRE_MM = 150.0


def inlets(design: Design) -> list[PartsLine]:
    """Inlets with their parts, supplies, cables, fuses, wire."""
    power, count = design.job.power, design.counts.inlets
    if not count:
        return []
    lines: list[PartsLine] = []
    kinds = Counter(design.layout.by_name[name].design for name in design.wired.inlets)
    for name, pieces in kinds.items():
        inlet = design.plans[name].params.inlet
        tail = "" if len(kinds) == 1 else f" {name}"
        kind = (
            "USB Type-C receptacle on a small board"
            if inlet.kind == "usb-c"
            else f"cable of {inlet.cable_d:g} mm"
        )
        lines.append(PartsLine(f"inlet{tail}", "inlet", "", pieces, "buy", note=kind, sold="inlet"))
        if inlet.kind == "round":
            (wide, thick), length = TIE_MOST, design.plans[name].inlet.tie_long
            note = (
                f"{wide:g} mm wide and {thick:g} mm thick at most, {length:g} mm long or longer,"
                " around the cable and its ribs"
            )
            lines.append(
                PartsLine(
                    f"cable tie{tail}", "tie", name, pieces, "buy", note=note, sold="cable tie"
                )
            )
        if inlet.kind == "usb-c":
            note = (
                f"{inlet.cc_ohm:g} ohm, {percent(inlet.cc_tolerance)}, two an inlet, on its small"
                " board"
            )
            lines.append(
                PartsLine(
                    f"pull-down resistor{tail}",
                    "resistor",
                    "",
                    2 * pieces,
                    "buy",
                    note=note,
                    sold="pull-down resistor",
                )
            )
        if inlet.soft_start_ms > 0:
            where = "on the inlet's" if inlet.kind == "usb-c" else "in the supply cable, on a"
            note = (
                f"{power.supply_a:g} A, ramps up in {inlet.soft_start_ms:g} ms or more, {where}"
                " small board"
            )
            lines.append(
                PartsLine(
                    f"load switch{tail}",
                    "load switch",
                    "",
                    pieces,
                    "buy",
                    note=note,
                    sold="load switch",
                )
            )
    lines.append(
        PartsLine(
            "supply",
            "supply",
            "",
            count,
            "buy",
            note=f"{power.supply_v:g} V, {power.supply_a:g} A, with a safety mark, one per inlet",
        )
    )
    wire = wire_for(power.cable_ohm_per_m)
    each_wire = "" if wire is None else f", each wire {wire[0]:g} mm2 (AWG {wire[1]}) or more"
    lines.append(
        PartsLine(
            "supply cable",
            "cable",
            "",
            count,
            "buy",
            note=f"{figure(power.cable_mm / 1000, 'm')} each{each_wire}",
        )
    )
    if wire is not None:
        metres = math.ceil(count * INLET_WIRE_MM / 100) / 10
        for colour, net in (("red", "plus"), ("black", "ground")):
            note = (
                f"{wire[0]:g} mm2 (AWG {wire[1]}), {metres:g} m in all: {INLET_WIRE_MM:g} mm from "
                f"each inlet to its board, {net}"
            )
            lines.append(
                PartsLine(f"wire, {colour}", "wire", "", count, "buy", note=note, metres=metres)
            )
    runs = design.runs
    clips = sum(run.clips for run in runs)
    if clips:
        lines.append(
            PartsLine(
                "cable clip",
                "cable clip",
                "",
                clips,
                "buy",
                note="for the cables on the wall, see lists/cables.csv",
            )
        )
    fuses = Counter(run.fuse_a for run in runs if run.fuse_a is not None)
    for rated, pieces in sorted(fuses.items()):
        lines.append(
            PartsLine(
                f"fuse {rated:g} A",
                "fuse",
                "",
                pieces,
                "buy",
                note="at the start of a cable, see lists/cables.csv",
            )
        )
    if fuses:
        lines.append(
            PartsLine(
                "fuse holder",
                "fuse holder",
                "",
                sum(fuses.values()),
                "buy",
                note="in the cable, for the fuses above; touch-proof",
            )
        )
    return lines
