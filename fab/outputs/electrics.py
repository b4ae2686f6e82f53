"""Parts to buy or order for power, light and data, by generic trade names. Pieces; values in
E-series where they have one.
"""

from __future__ import annotations

import math

from fab.checks.supply import shifted
from fab.design import Design
from fab.outputs.inlets import inlets
from fab.outputs.line import PartsLine, bought
from fab.parts.board_outline import socket_places
from fab.parts.board_source import board_layout
from fab.parts.leds import led_grid
from fab.power.circuit import DATA_OHM, PULL_OHM
from fab.units import some

# extra data wires are longer than the straight way by this; common practice, no source
SLACK = 1.15
CHOICE = "the maker's choice"


def electrics(design: Design) -> list[PartsLine]:
    """All lines, boards first."""
    return [*_boards(design), *_control(design), *_joints(design), *inlets(design)]


def _boards(design: Design) -> list[PartsLine]:
    """Boards and what sits on them."""
    lines = []
    many = len(design.plans) > 1
    for name in design.lit_designs:
        plan = design.plans[name]
        layout = board_layout(plan)
        assert layout is not None
        boards, leds, header = design.panels_of[name], len(led_grid(plan)), plan.params.header
        tail, outline = (
            (f" {name}", f"board/outline-{name}.dxf") if many else ("", "board/outline.dxf")
        )
        buy = [
            (
                "socket",
                "socket",
                len(socket_places(plan)),
                f"{header.pins} pins, pitch {header.pitch:g} mm, under each edge",
            ),
            (
                "LED",
                "led",
                leds,
                (
                    f"addressable, {plan.params.led.size:g} mm, {plan.params.led.full_a * 1000:g}"
                    f" mA at full white, {CHOICE}: type, and so its data sheet"
                ),
            ),
            (
                "capacitor",
                "bypass",
                leds if plan.params.led.bypass_nf > 0 else 0,
                f"ceramic, {plan.params.led.bypass_nf:g} nF, 10 V or more, beside each LED",
            ),
            (
                "bulk capacitor",
                "bulk",
                1 if plan.params.board.bulk_uf > 0 else 0,
                (
                    f"{plan.params.board.bulk_uf:g} uF, 10 V or more, no taller than the board's"
                    " free height"
                ),
            ),
            (
                "data resistor",
                "resistor",
                1,
                f"{DATA_OHM:g} ohm, in the data line before the first LED",
            ),
            (
                "switch",
                "switch",
                len(layout.switches),
                (
                    f"push switch, normally open, {plan.params.switch.size:g} mm, plunger's top "
                    f"{plan.params.switch.height:g} mm over the board"
                ),
            ),
            (
                "pull-up resistor",
                "resistor",
                len(layout.switches) if design.job.power.control == "each" else 0,
                f"{PULL_OHM:g} ohm, one a switch",
            ),
        ]
        note = f"{some(leds, 'LED')} each, {boards * leds} in all"
        lines.append(
            PartsLine(
                f"circuit board{tail}",
                "board",
                name,
                boards,
                "order",
                file=outline,
                note=note,
                sold="circuit board",
            )
        )
        lines += [
            bought(f"{item}{tail}", part, boards * each, says, design=name, sold=item)
            for item, part, each, says in buy
            if each
        ]
    return lines


def _control(design: Design) -> list[PartsLine]:
    """Controllers, level shifters, extra data wires."""
    power, wires = design.job.power, design.route.wires
    boards = sum(design.panels_of[name] for name in design.lit_designs)
    if not boards:
        return []
    count = boards if power.control == "each" else 1
    where = "one in every panel" if power.control == "each" else f"at panel {design.route.order[0]}"
    lines = [
        bought(
            "controller",
            "controller",
            count,
            f"{where}, data pin of {power.logic_v:g} V, fed with {power.supply_v:g} V; "
            f"{CHOICE}: module and program",
        )
    ]
    if shifted(design.wired, power, design.route):
        lines.append(
            bought(
                "level shifter",
                "level shifter",
                count,
                f"one gate fed with {power.supply_v:g} V whose input takes {power.logic_v:g} "
                "V as high",
            )
        )
    if wires:
        metres = math.ceil(sum(hop.length_mm for hop in wires) * SLACK / 100) / 10
        lines.append(
            bought(
                "data wire, green",
                "wire",
                len(wires),
                f"0.14 mm2 or more, {metres:g} m in all, see the data line in the book",
                metres=metres,
            )
        )
        ground = [hop for hop in wires if hop.ground]
        if ground:
            metres = math.ceil(sum(hop.length_mm for hop in ground) * SLACK / 100) / 10
            lines.append(
                bought(
                    "ground wire, black",
                    "wire",
                    len(ground),
                    f"0.14 mm2 or more, {metres:g} m in all, beside the data wire",
                    metres=metres,
                )
            )
    return lines


def _joints(design: Design) -> list[PartsLine]:
    """Headers, jumpers and their rows."""
    full, without = (design.table.counts[kind] for kind in ("header", "header without supply"))
    lines: list[PartsLine] = []
    if not design.lit_designs:
        return lines
    lit = next(panel.design for panel in design.layout.panels if panel.name not in design.blank)
    header = design.plans[lit].params.header
    what = f"{header.pins} pins, pitch {header.pitch:g} mm, {header.pin:g} mm of pin each way"
    if full:
        lines.append(bought("header, all pins", "header", full, what))
    if without:
        pulled = what + "; between zones: data and ground only"
        lines.append(bought("header, supply pins pulled", "header", without, pulled))
    for (one, _, wire, supply), count in design.cables.items():
        jumper, pins = design.plans[one].params.jumper, header.pins
        note = (
            f"{pins} wires of {jumper.wire_d:g} mm, {wire:g} mm between the plugs (plus or minus "
            f"{jumper.slack:g} mm), "
            f"pitch {jumper.pitch:g} mm; contact k to contact {pins + 1} - k, so that no wires "
            "cross"
        )
        if not supply:
            note += "; between zones: supply wires left out, data and ground only"
        item = f"jumper cable {wire:g} mm" + ("" if supply else ", no supply wires")
        lines.append(bought(item, "jumper", count, note))
    if design.cables:
        rows = 2 * sum(design.cables.values())
        note = (
            f"{header.pins} pins, pitch {design.plans[lit].params.jumper.pitch:g} mm, shrouded, "
            "upright, under the board"
        )
        lines.append(bought("pin row for a jumper", "pin row", rows, note))
    return lines
