"""Chapters on power, light and the address table."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from fab.book.datalines import route_page
from fab.book.facts import BookFacts
from fab.book.pictures import anchor_of
from fab.files.document import Block, Chapter, Figure, Para, Table
from fab.files.table import Cell
from fab.layout.model import Layout
from fab.power.model import Wired
from fab.power.plan_page import plan_page
from fab.power.tables import cable_rows, joint_rows, what_if_rows
from fab.power.whatif import what_if
from fab.units import percent, some

PLAN_MM = 150.0  # height of the power plan: one panel does not fill a page
MOST_JOINTS = 100  # longer lists stand in lists/*.csv alone


def chapter(facts: BookFacts) -> Chapter:
    """Zones, inlets, supply cables, the data line."""
    design = facts.design
    job, layout, wired, runs = design.job, design.layout, design.wired, design.runs
    panel, low = wired.lowest
    zones = some(len(wired.zones), "zone") + (", each" if len(wired.zones) > 1 else "")
    blocks: list[Block] = [
        Para(
            f"{zones} from one inlet with {job.power.supply_v:g} V and"
            f" {job.power.supply_a:g} A, of which {wired.zone_limit_a:.2f} A are used at most. At"
            f" the brightness limit of {percent(wired.brightness)} the lowest voltage is {low:.2f}"
            " V in"
            f" panel {panel}; maximum {most_brightness(wired)}. Set the brightness limit in the"
            " controllers"
            " before the first light."
        ),
        Figure(
            plan_page(layout, wired, runs, most_height_mm=PLAN_MM),
            "Power plan, front view.",
            anchor="power-plan",
            wide=True,
        ),
        _table("Zones and cables", _said_rows(cable_rows(wired, runs))),
        *_data(facts),
    ]
    return Chapter("Power", "power", tuple(blocks))


def in_full(facts: BookFacts) -> Chapter:
    """Figures for a change of the wall: currents of joints, other inlet counts, the face."""
    design = facts.design
    job, layout, wired = design.job, design.layout, design.wired
    params = {name: plan.params for name, plan in design.plans.items()}
    blocks: list[Block] = []
    if 0 < len(layout.joints) <= MOST_JOINTS:
        blocks.append(joints_table(layout, wired))
    elif layout.joints:
        blocks.append(Para(f"All {len(layout.joints)} joints are in lists/joints.csv."))
    rows = what_if_rows(what_if(layout, wired, job.power, params))
    blocks.append(_table("What other numbers of inlets would give", rows))
    blocks += _light(facts)
    return Chapter("Currents and light in full", "light", tuple(blocks), folded=True)


def joints_table(layout: Layout, wired: Wired) -> Table:
    """One row a joint, as narrow as a page; places on the wall stand in lists/joints.csv."""
    picked = ("number", "a", "edge_a", "b", "edge_b", "kind")
    header = (
        "no",
        "a",
        "edge a",
        "b",
        "edge b",
        "kind",
        "mated by",
        "supply, A",
        "ground, A",
        "pin, A",
    )
    body = tuple(
        (
            *(shown(row[name]) for name in picked),
            _mated(row),
            *(shown(row[f"{name}_a"]) for name in ("supply", "ground", "pin")),
        )
        for row in joint_rows(layout, wired)
    )
    return Table("Joints", header, body, numeric=(0, 2, 4, 7, 8, 9))


def _mated(row: Mapping[str, Cell]) -> str:
    """The push that mates a joint, front view; or the reason why nothing does."""
    if not row["mated_by"]:
        return str(row["why"])
    way = f": {row['moves']} to {shown(row['heading_deg'])}°" if row["moves"] else ""
    return f"{row['mated_by']} {row['step']}{way}"


def _data(facts: BookFacts) -> list[Block]:
    """The way of the data to the panels: one controller's line drawn, its extra wires listed."""
    route, power = facts.design.route, facts.design.job.power
    if route.control == "each":
        return [
            Para(
                "Data: a controller in every panel. Controllers talk to their neighbours over the"
                " data pins of the joints."
            )
        ]
    wires = len(route.wires)
    said = (
        "the fewest that this wall allows"
        if route.proven
        else f"at least {route.at_least} are needed in any order"
    )
    blocks: list[Block] = [
        Para(
            f"Data: one controller of {power.logic_v:g} V at panel {route.order[0]}. The line"
            " visits the panels in the order of the picture; close the solder bridges of each"
            f" board for the edges that it uses. Extra wires: {wires}, {said}. lists/pixels.csv"
            " counts the LEDs in this order; the address table counts panels in reading order."
        ),
        Figure(route_page(facts.design), "Data line, front view.", anchor="data-line", wide=True),
    ]
    rows = [
        {
            "from": hop.sender,
            "to": hop.reader,
            "length_mm": round(hop.length_mm),
            "wires": "data and ground" if hop.ground else "data",
        }
        for hop in route.wires
    ]
    return (
        [*blocks, _table("Extra data wires, straight from middle to middle", rows)]
        if rows
        else blocks
    )


def most_brightness(wired: Wired) -> str:
    """The highest brightness at which every check holds, in whole per cent, and what limits it."""
    if wired.possible_by == "full":
        return "100 % is possible"
    stop = {"pins": "the pins", "volts": "the voltage", "logic": "the logic levels"}
    by = stop.get(
        wired.possible_by,
        f"the {wired.possible_by}" if wired.possible_by == "supply" else wired.possible_by,
    )
    return f"{math.floor(wired.possible * 100 + 1e-9)} %, limited by {by}"


def _light(facts: BookFacts) -> list[Block]:
    """The look of the face: picture, heat map, cut, and the curve over depth; kept under what
    they depend on.
    """
    from fab.book.lightpictures import light_blocks

    return light_blocks(facts)


def _said_rows(rows: Sequence[Mapping[str, Cell]]) -> list[Mapping[str, Cell]]:
    """Rows of cables in the words of the book, without a column that none has anything in."""
    names = {"socket": "mains_outlet", "clips": "cable_clips"}
    filled = [name for name in rows[0] if any(row[name] is not None for row in rows)]
    return [{names.get(name, name): row[name] for name in filled} for row in rows]


def _table(caption: str, rows: Sequence[Mapping[str, Cell]]) -> Table:
    """Plain rows as a table; the keys are the header."""
    header = tuple(map(column, rows[0])) if rows else ("none",)
    numeric = (
        tuple(
            k
            for k, value in enumerate(rows[0].values())
            if isinstance(value, int | float) and not isinstance(value, bool)
        )
        if rows
        else ()
    )
    return Table(
        caption,
        header,
        tuple(tuple(shown(value) for value in row.values()) for row in rows),
        numeric=numeric,
    )


def column(name: str) -> str:
    """A column's name for people: `length_mm` is "length, mm", `edge_a` stays edge a."""
    head, _, unit = name.rpartition("_")
    units = {"mm": "mm", "in": "in", "deg": "degrees", "a": "A", "v": "V"}
    if not head or unit not in units or name in ("edge_a", "edge_b"):
        return name.replace("_", " ")
    return f"{head.replace('_', ' ')}, {units[unit]}"


def shown(value: Cell) -> str:
    """A cell for people."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:.4g}" if isinstance(value, float) else str(value)


def addresses(facts: BookFacts) -> Chapter:
    """The table that the controllers are set up from; each row is the target of its panel in the
    picture.
    """
    rows = facts.addresses
    picked = (
        "number",
        "name",
        "x_mm",
        "y_mm",
        "turn_deg",
        "leds",
        "first_led",
        "zone",
        "inlet_edge",
        "base",
        "base_turn_edges",
        "neighbours",
    )
    header = (
        "no",
        "name",
        "x mm",
        "y mm",
        "turn",
        "LEDs",
        "first LED",
        "zone",
        "inlet edge",
        "base",
        "base turned",
        "neighbours",
    )
    body = tuple(tuple(_place(name, row[name]) for name in picked) for row in rows)
    names = [str(row["name"]) for row in rows]
    base_files = {line.item: line.file for line in facts.lines}
    links = tuple(
        tuple(_link(name, row, base_files) if "print" in facts.wanted else "" for name in picked)
        for row in rows
    )
    return Chapter(
        "Address table",
        "addresses",
        (
            Para(
                "One row a panel in reading order, seen from the front; neighbours read: own edge,"
                " colon, panel, slash, its edge. The same stands in lists/panels.csv and"
                " panels.json."
            ),
            Table(
                "Panels",
                header,
                body,
                numeric=(0, 2, 3, 4, 5, 6, 7),
                ticks=tuple(f"placed-{name}" for name in names),
                anchors=tuple(f"panel-{anchor_of(name)}" for name in names),
                links=links,
            ),
        ),
    )


def _place(name: str, value: Cell) -> str:
    return (
        f"{value:.1f}"
        if name in ("x_mm", "y_mm", "turn_deg") and isinstance(value, int | float)
        else shown(value)
    )


def _link(name: str, row: Mapping[str, Cell], files: Mapping[str, str]) -> str:
    """From the table to the base's own file, and from the name back to the picture."""
    if name == "name":
        return "#wall"
    if name == "base":
        design = str(row["design"])
        item = f"base-{row['base']}" if design == "panel" else f"base-{design}-{row['base']}"
        return f"../{files[item]}" if item in files else ""
    return ""
