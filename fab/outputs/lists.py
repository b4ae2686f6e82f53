"""Lists of parts to make and buy with counts, and the address table of the panels. Pieces, not
packs.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from fab.colours import material, price_per_kg
from fab.design import Design
from fab.files.table import Cell, csv_bytes, json_bytes
from fab.outputs.art import diffusers, note
from fab.outputs.electrics import electrics
from fab.outputs.line import PartsLine, bought
from fab.outputs.model import OutFile
from fab.outputs.orders import priced
from fab.parts.plan import Plan
from fab.power.tables import CABLE_COLUMNS, JOINT_COLUMNS, address_rows, cable_rows, joint_rows
from fab.prints.mass import PrintUse
from fab.products import PartSpec
from fab.units import figure, tool_size
from fab.values import job_toml, plain
from fab.weigh import GLUE_G

PARTS_HEADER = (
    "item",
    "part",
    "design",
    "count",
    "source",
    "material",
    "each_g",
    "total_g",
    "total_hours",
    "cost",
    "file",
    "note",
)


def parts(
    design: Design, uses: Mapping[PartSpec, PrintUse], sheets: Mapping[str, int]
) -> list[PartsLine]:
    """All lines. `uses`: what one copy of a printed part uses up.

    `sheets`: stock to number of sheets used.
    """
    job, counts = design.job, design.counts
    shop = job.shop
    lines: list[PartsLine] = []
    for spec, count in design.printed:
        use = uses[spec]
        whole = use.times(count)
        lines.append(
            PartsLine(
                spec.name,
                spec.part,
                spec.design,
                count,
                "print",
                material(shop, roll := design.roll_of(spec)),
                use.grams,
                whole.grams,
                whole.hours,
                whole.grams / 1000.0 * price_per_kg(shop, roll),
                f"print/{spec.name}_x{count}.stl",
                _note(spec),
            )
        )
    for one in diffusers(design):
        stock = design.plans[one.design].stock
        grams = one.outline(design).area_mm2 * stock.thickness / 1000 * stock.density
        label = f"{stock.material} {stock.finish} {stock.thickness:g} mm"
        lines.append(
            PartsLine(
                one.item,
                "diffuser",
                one.design,
                one.count,
                "cut",
                label,
                grams,
                grams * one.count,
                file=f"cut/{one.item}.dxf",
                note=note(one),
            )
        )
    for stock_name, used in sheets.items():
        stock = shop.stock[stock_name]
        sides = (stock.width, stock.height, stock.thickness)
        size = f"{' x '.join(map(figure, sides))} mm"
        lines.append(
            PartsLine(
                f"sheet {stock_name}",
                "sheet",
                "",
                used,
                "buy",
                f"{stock.material} {stock.finish}",
                cost=used * stock.price,
                note=size,
            )
        )
    lines += electrics(design)
    lines += _hardware(design, counts.hangers)
    return [priced(line, shop.prices) for line in lines]


def _note(spec: PartSpec) -> str:
    if spec.kind is None:
        return ""
    said = []
    if spec.kind.inlet:
        said.append(f"inlet at edge {spec.kind.steps}")
    if spec.kind.up_deg is not None:
        said.append("hang with the inside arrow up")
    return "; ".join(said)


def screw_stand(design: Design) -> float:
    """Distance of a screw's head from the room wall, mm: feet, base floor and a little play."""
    return max(plan.floor.top_z + plan.params.base.feet for plan in design.plans.values()) + 0.3


def fixing(design: Design) -> str:
    """Plug and screw as the shop notes them for this wall; for bases on feet with the length that
    the screw then needs, because the note is that of a base that lies flat.
    """
    wall = design.job.shop.wall[design.job.hang.wall]
    long = _long_screw(design)
    return "; ".join(filter(None, (wall.note, f"on feet: screw {long}" if long else "")))


def _long_screw(design: Design) -> str:
    """Length of the wall screws under bases on feet, in words; "" where none has feet."""
    if not any(plan.params.base.feet for plan in design.plans.values()):
        return ""
    wall = design.job.shop.wall[design.job.hang.wall]
    return f"{math.ceil(wall.depth + screw_stand(design))} mm long under the head"


SCREW_MM = (4, 5, 6, 8, 10, 12, 14, 16, 20, 25, 30)  # ISO 888, lengths that are sold
TIP_MM = 0.5  # kept free below a screw's end; common practice, no source


def _board_screw_mm(plans: Mapping[str, Plan]) -> float:
    """The longest screw sold that ends above the floor of its hole: through the board into its
    standoff; of several designs the shortest.
    """
    room = min(
        plan.heights.board_top_z - plan.fixings.post_hole_z - TIP_MM
        for plan in plans.values()
        if plan.fixings.board_screws
    )
    return max((long for long in SCREW_MM if long <= room), default=SCREW_MM[0])


def _screws(design: Design, plans: Mapping[str, Plan], size: str) -> list[PartsLine]:
    """Machine screws and inserts of one size, for the designs that take them."""
    lines = []
    count = {name: design.panels_of[name] for name in plans}
    board = sum(plan.fixings.board_screws * count[name] for name, plan in plans.items())
    shell = sum(len(plan.fixings.shell_screws) * count[name] for name, plan in plans.items())
    melted = [(n, p) for n, p in plans.items() if p.params.base.board_fixing == "insert"]
    fed = [
        plan.params.inlet.kind
        for name in design.wired.inlets
        if (plan := plans.get(design.layout.by_name[name].design)) is not None
    ]
    clamps = fed.count("usb-c")
    if board:
        note = f"board to base; {_board_screw_mm(plans):g} mm long"
        lines.append(bought(f"screw {size}, pan head", "screw", board, note))
    if clamps:
        note = "for an inlet's board; pan head, 6 to 8 mm long"
        lines.append(bought(f"screw {size} with washer", "clamp", clamps, note))
    if shell:
        note = "from the back into the shell; 10 to 12 mm long"
        lines.append(bought(f"screw {size}, countersunk", "screw", shell, note))
    if melted:
        inserts = sum(plan.fixings.board_screws * count[name] for name, plan in melted)
        note = f"hole {melted[0][1].params.insert_d:g} mm"
        lines.append(bought(f"heat-set insert {size}", "insert", inserts, note))
    return lines


def _hardware(design: Design, hangers: int) -> list[PartsLine]:
    lines = []
    first = design.plans[design.layout.panels[0].design].params
    sizes = sorted({plan.params.screw_d for plan in design.plans.values()}, reverse=True)
    for size in sizes:
        alike = {n: p for n, p in design.plans.items() if p.params.screw_d == size}
        lines += _screws(design, alike, f"M{size:g}")
    wall = design.job.shop.wall[design.job.hang.wall]
    if hangers:
        hanger = first.hanger
        long = _long_screw(design)
        lines.append(
            bought(
                "wall screw",
                "hanger",
                hangers,
                f"shank {hanger.screw_d:g} mm, head {hanger.head_d:g} mm at most"
                + ("; " * bool(long) + long),
            )
        )
        drill = tool_size(wall.drill, in_inches=design.job.shop.units == "in")
        lines.append(
            bought(
                "wall plug",
                "hanger",
                hangers,
                f"for {design.job.hang.wall}, drill {drill}; {fixing(design)}".rstrip("; "),
            )
        )
    lines.append(
        bought(
            "clear adhesive",
            "glue",
            design.counts.diffusers,
            f"a few dots under each diffuser, {GLUE_G:g} g, so"
            f" {design.counts.diffusers * GLUE_G:g} g in all; try it on an offcut first",
        )
    )
    return lines


def addresses(design: Design) -> list[dict[str, Cell]]:
    """One row a panel: the wiring's address table, with base kind and how the base is turned."""
    rows = []
    left_open: dict[str, list[str]] = {}
    for edge in design.layout.open_edges:
        left_open.setdefault(edge.panel, []).append(str(edge.edge))
    for row, use in zip(
        address_rows(design.layout, design.wired, design.route.order), design.uses, strict=True
    ):
        rows.append(
            row
            | {
                "base": use.kind.key,
                "base_turn_edges": use.steps,
                "hanger": use.panel in design.hung.by_panel,
                "open_edges": " ".join(left_open.get(use.panel, ())),
            }
        )
    return rows


def files(
    design: Design, lines: Sequence[PartsLine], addresses: Sequence[Mapping[str, Cell]]
) -> list[OutFile]:
    """lists/parts.csv, panels.csv, panels.json, and the values that all of it was made of."""
    header = tuple(addresses[0])
    joints, runs = joint_rows(design.layout, design.wired), cable_rows(design.wired, design.runs)
    return [
        OutFile(
            "lists/parts.csv",
            "list",
            csv_bytes(PARTS_HEADER, [line.row for line in lines]),
            "parts",
        ),
        OutFile(
            "lists/panels.csv",
            "list",
            csv_bytes(header, [tuple(row.values()) for row in addresses]),
            "panels",
        ),
        OutFile(
            "lists/panels.json",
            "list",
            json_bytes({"job": design.job.job, "panels": addresses}),
            "panels",
        ),
        OutFile(
            "lists/joints.csv",
            "list",
            csv_bytes(tuple(JOINT_COLUMNS), [tuple(row.values()) for row in joints]),
            "joints",
        ),
        OutFile(
            "lists/cables.csv",
            "list",
            csv_bytes(tuple(CABLE_COLUMNS), [tuple(row.values()) for row in runs]),
            "cables",
        ),
        OutFile("lists/values.json", "list", json_bytes(plain(design.job)), "values"),
        OutFile("lists/job.toml", "list", job_toml(design.job), "values"),
    ]
