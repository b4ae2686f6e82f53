"""The wiring as plain rows, for CSV, JSON and the book.

Every column is told in the dictionaries beside the rows.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import accumulate

from fab.layout.model import Layout
from fab.power.cables import CableRun
from fab.power.model import Wired
from fab.power.whatif import WhatIf

Cell = str | int | float | bool | None
Row = dict[str, Cell]

ADDRESS_COLUMNS: Mapping[str, str] = {
    "number": "number of the panel in reading order, from 1",
    "name": "name of the panel",
    "design": "design of the panel; panel is the main one",
    "cell_1": (
        "lattice cell: q of a hexagon, column of a square or triangle; empty for an attached panel"
    ),
    "cell_2": "lattice cell: r of a hexagon, row of a square or triangle",
    "x_mm": "centre on the wall, right, mm",
    "y_mm": "centre on the wall, up, mm",
    "turn_deg": "turn of the panel on the wall, counter-clockwise seen from the front, degrees",
    "leds": "LEDs on its board",
    "first_led": (
        "index of its first LED on the wall, from 0, as in pixels.csv: panel after panel as the"
        " data line visits them"
    ),
    "zone": "zone that feeds it, from 1; empty for a blank cover",
    "inlet": "true: the panel has the zone's inlet",
    "inlet_edge": "open edge at which the inlet's cable leaves; empty without inlet",
    "volts": "voltage between its supply rails at the job's brightness; empty for a blank cover",
    "neighbours": "one word per joint: own edge, colon, neighbour's name, slash, neighbour's edge",
}
JOINT_COLUMNS: Mapping[str, str] = {
    "number": "number of the joint, from 1",
    "a": "first panel",
    "edge_a": "its edge",
    "b": "second panel",
    "edge_b": "its edge",
    "x_mm": "middle of the joint on the wall, right, mm",
    "y_mm": "the same, up, mm",
    "kind": (
        "header; header without supply: its supply pins are pulled, data and ground stay; jumper;"
        " none"
    ),
    "supply": "true: the supply passes the joint",
    "why": "reason, where nothing joins the boards",
    "mated_by": "push, lift or jumper",
    "step": "number of that push, lift or jumper, from 1",
    "moves": "panel that moves; empty for a jumper",
    "heading_deg": "direction in which it moves, counter-clockwise from the right, front view",
    "supply_a": "current through its supply pins together, from a to b",
    "ground_a": "current through its ground pins together, from a to b",
    "pin_a": "current through its most loaded pin",
}
CABLE_COLUMNS: Mapping[str, str] = {
    "zone": "zone, from 1",
    "panels": "panels that it feeds",
    "inlet": "panel with the inlet",
    "edge": "open edge at which the cable leaves",
    "x_mm": "where it leaves the panel, right, mm",
    "y_mm": "the same, up, mm",
    "leaves": "direction as seen from the front",
    "socket": "number of its mains socket, from 1; empty if the job names none",
    "length_mm": "approximate length on the wall: to the socket, or until it leaves the panels",
    "clips": "cable clips for that length",
    "current_a": "current at the job's brightness",
    "fuse_a": (
        "fuse at the start of the cable, above what is drawn and below what the supply gives;"
        " empty: the supply limits"
    ),
}
WHAT_IF_COLUMNS: Mapping[str, str] = {
    "inlets": "number of inlets, each with a supply like the job's",
    "brightness": "highest brightness, share of full white",
    "limited_by": "what stops it: supply, pins, volts, logic, heat; full: nothing",
    "lowest_v": "lowest voltage at that brightness",
    "at": "panel with the lowest voltage",
    "hottest_pin_a": "current of the most loaded pin at that brightness",
    "inlet_a": "current of the most loaded inlet at that brightness",
}


def address_rows(layout: Layout, wired: Wired, order: Sequence[str] = ()) -> list[Row]:
    """One row per panel, in reading order; keys are `ADDRESS_COLUMNS`.

    `order`: panels as the data line visits them, by which LEDs are counted; left out: as they are
    read.
    """
    rows: list[Row] = []
    leds = {panel.name: load.leds for panel, load in zip(layout.panels, wired.loads, strict=True)}
    line = dict.fromkeys([*order, *leds])
    firsts = dict(zip(line, accumulate((leds[name] for name in line), initial=0), strict=False))
    for number, (panel, load) in enumerate(zip(layout.panels, wired.loads, strict=True), 1):
        zone = wired.zone_of[panel.name]
        carries = zone.inlet_panel == panel.name
        fed = panel.name in wired.volts
        rows.append(
            {
                "number": number,
                "name": panel.name,
                "design": panel.design,
                "cell_1": panel.lattice[0] if panel.lattice else None,
                "cell_2": panel.lattice[1] if panel.lattice else None,
                "x_mm": _cut(panel.x),
                "y_mm": _cut(panel.y),
                "turn_deg": _cut(panel.turn_deg % 360.0),
                "leds": load.leds,
                "first_led": firsts[panel.name],
                "zone": zone.index if fed else None,
                "inlet": carries,
                "inlet_edge": zone.inlet_edge if carries else None,
                "volts": _cut(wired.volts[panel.name]) if fed else None,
                "neighbours": " ".join(
                    f"{own}:{name}/{edge}" for own, name, edge in layout.neighbours[panel.name]
                ),
            }
        )
    return rows


def joint_rows(layout: Layout, wired: Wired) -> list[Row]:
    """One row per joint; keys are `JOINT_COLUMNS`."""
    return [
        {
            "number": k + 1,
            "a": joint.a,
            "edge_a": joint.edge_a,
            "b": joint.b,
            "edge_b": joint.edge_b,
            "x_mm": _cut(joint.x),
            "y_mm": _cut(joint.y),
            "kind": row.kind,
            "supply": row.supply,
            "why": row.why,
            "mated_by": row.by,
            "step": row.step or None,
            "moves": row.moves,
            "heading_deg": _cut(row.heading_deg),
            "supply_a": _cut(wiring.supply_a),
            "ground_a": _cut(wiring.ground_a),
            "pin_a": _cut(wiring.pin_a),
        }
        for k, (joint, row, wiring) in enumerate(
            zip(layout.joints, wired.table.rows, wired.wiring, strict=True)
        )
    ]


def cable_rows(wired: Wired, runs: Sequence[CableRun]) -> list[Row]:
    """One row per zone; keys are `CABLE_COLUMNS`."""
    return [
        {
            "zone": run.zone,
            "panels": " ".join(zone.panels),
            "inlet": run.panel,
            "edge": zone.inlet_edge,
            "x_mm": _cut(run.x),
            "y_mm": _cut(run.y),
            "leaves": run.leaves,
            "socket": run.socket,
            "length_mm": None if run.length_mm is None else round(run.length_mm),
            "clips": run.clips,
            "current_a": _cut(run.current_a),
            "fuse_a": run.fuse_a,
        }
        for zone, run in zip(wired.zones, runs, strict=True)
    ]


def what_if_rows(rows: Sequence[WhatIf]) -> list[Row]:
    """One row per number of inlets; keys are `WHAT_IF_COLUMNS`."""
    return [
        {
            "inlets": row.inlets,
            "brightness": _cut(row.possible),
            "limited_by": row.by,
            "lowest_v": _cut(row.lowest_v),
            "at": row.lowest_panel,
            "hottest_pin_a": _cut(row.hottest_pin_a),
            "inlet_a": _cut(row.inlet_a),
        }
        for row in rows
    ]


def _cut(value: float | None) -> float | None:
    """To three decimals, without a minus before zero."""
    return None if value is None else round(value, 3) + 0.0
