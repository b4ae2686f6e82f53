"""Lines of the parts list for what feeds a wall: inlets with what holds them, supplies, cables on
the wall, fuses, wire.
"""

from __future__ import annotations

import math
from collections import Counter

from fab.design import Design
from fab.outputs.line import PartsLine, bought
from fab.params.job import PowerParams
from fab.parts.inlet_sizes import TIE_MOST
from fab.parts.plan import Plan
from fab.power.cables import CableRun
from fab.power.supply import wire_for
from fab.units import figure, percent

# from an inlet to its board, each colour, with a loop; common practice, no source
INLET_WIRE_MM = 150.0


def inlets(design: Design) -> list[PartsLine]:
    """Inlets with their parts, supplies, cables, fuses, wire."""
    power, count = design.job.power, design.counts.inlets
    if not count:
        return []
    kinds = Counter(design.layout.by_name[name].design for name in design.wired.inlets)
    lines = []
    for name, pieces in kinds.items():
        tail = "" if len(kinds) == 1 else f" {name}"
        lines += _inlet(design.plans[name], power, name, pieces, tail)
    return [*lines, *_supplies(power, count), *_on_the_wall(design.runs)]


def _inlet(plan: Plan, power: PowerParams, design: str, pieces: int, tail: str) -> list[PartsLine]:
    """The inlets of one design, with what holds and guards each; `tail` ends the items' names."""
    inlet, typec = plan.params.inlet, plan.params.inlet.kind == "usb-c"
    kind = "USB Type-C receptacle on a small board" if typec else f"cable of {inlet.cable_d:g} mm"
    lines = [bought(f"inlet{tail}", "inlet", pieces, kind, sold="inlet")]
    if inlet.kind == "round":
        wide, thick = TIE_MOST
        note = (
            f"{wide:g} mm wide and {thick:g} mm thick at most, {plan.inlet.tie_long:g} mm long or"
            " longer, around the cable and its ribs"
        )
        item = "cable tie"
        lines.append(bought(f"{item}{tail}", "tie", pieces, note, design=design, sold=item))
    if typec:
        note = (
            f"{inlet.cc_ohm:g} ohm, {percent(inlet.cc_tolerance)}, two an inlet, on its small board"
        )
        item = "pull-down resistor"
        lines.append(bought(f"{item}{tail}", "resistor", 2 * pieces, note, sold=item))
    if inlet.soft_start_ms > 0:
        where = "on the inlet's" if typec else "in the supply cable, on a"
        note = (
            f"{power.supply_a:g} A, ramps up in {inlet.soft_start_ms:g} ms or more, {where}"
            " small board"
        )
        item = "load switch"
        lines.append(bought(f"{item}{tail}", item, pieces, note, sold=item))
    return lines


def _supplies(power: PowerParams, count: int) -> list[PartsLine]:
    """Supplies, their cables, and the wire from each inlet to its board."""
    says = f"{power.supply_v:g} V, {power.supply_a:g} A, with a safety mark, one per inlet"
    wire = wire_for(power.cable_ohm_per_m)
    size = "" if wire is None else f"{wire[0]:g} mm2 (AWG {wire[1]})"
    each = f"{figure(power.cable_mm / 1000, 'm')} each"
    lines = [
        bought("supply", "supply", count, says),
        bought(
            "supply cable", "cable", count, f"{each}, each wire {size} or more" if size else each
        ),
    ]
    if size:
        metres = math.ceil(count * INLET_WIRE_MM / 100) / 10
        for colour, net in (("red", "plus"), ("black", "ground")):
            note = (
                f"{size}, {metres:g} m in all: {INLET_WIRE_MM:g} mm from each inlet to its board,"
                f" {net}"
            )
            lines.append(bought(f"wire, {colour}", "wire", count, note, metres=metres))
    return lines


def _on_the_wall(runs: tuple[CableRun, ...]) -> list[PartsLine]:
    """Clips and fuses of the cables on the wall."""
    lines = []
    clips = sum(run.clips for run in runs)
    if clips:
        note = "for the cables on the wall, see lists/cables.csv"
        lines.append(bought("cable clip", "cable clip", clips, note))
    fuses = Counter(run.fuse_a for run in runs if run.fuse_a is not None)
    note = "at the start of a cable, see lists/cables.csv"
    lines += [
        bought(f"fuse {rated:g} A", "fuse", pieces, note) for rated, pieces in sorted(fuses.items())
    ]
    if fuses:
        note = "in the cable, for the fuses above; touch-proof"
        lines.append(bought("fuse holder", "fuse holder", sum(fuses.values()), note))
    return lines
