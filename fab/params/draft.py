"""The files of a new job: a commented job file, and beside it the shop, the panel and the schemas.

They are copies, so that the maker owns them.
"""

from __future__ import annotations

from collections.abc import Sequence

from fab.errors import Fault, InputError
from fab.params import presets
from fab.params.across import RESERVED
from fab.params.job import Job, LayoutParams
from fab.params.panel import PanelParams
from fab.params.showing import number, show
from fab.params.spec import specs
from fab.params.values import Bad, convert

SHAPES = {"hexagon": "hexagon-120", "triangle": "edge90-triangle", "square": "edge90-square"}
SIZES = {"hexagon": "across_flats", "triangle": "edge", "square": "edge"}
MOST_PANELS = 1_000
_WAVES = {  # steps from cell to cell that never close a ring of panels
    "hexagon": ((1, 0), (0, 1), (1, 0), (1, -1)),
    "square": ((1, 0), (1, 0), (0, 1), (1, 0), (1, 0), (0, -1)),
    "triangle": ((1, 0),),
}
_CELL_WORDS = {
    "hexagon": "[q, r]: q steps to the right, r steps up and to the right",
    "square": "[column, row]",
    "triangle": "[column, row]: two columns are one edge wide, every other triangle stands on its head",
}


def garland(shape: str, panels: int) -> list[tuple[int, int]]:
    """Cells of a winding row of panels; no three of them meet in a ring, so each header can be pushed in straight."""
    steps = _WAVES[shape]
    found = [(0, 0)]
    for place in range(panels - 1):
        (x, y), (dx, dy) = found[-1], steps[place % len(steps)]
        found.append((x + dx, y + dy))
    return found


def draft(name: str, shape: str, cells: Sequence[tuple[int, int]], shop: str, size: str = "") -> dict[str, bytes]:
    """File name to bytes of a new job; raises InputError when a word of it can't be.

    `size` is across flats for a hexagon, an edge for the others: "120", "120 mm" or "5 in"; empty for the preset's.
    """
    panel = SHAPES[shape]
    faults = [*_name_faults(name), *_cell_faults(cells), *_size_faults(shape, size)]
    shop_file, panel_file = presets.path_of("shop", shop), presets.path_of("panel", panel)
    if shop_file is None:
        works = f"Shops: {', '.join(presets.names('shop'))}."
        faults.append(Fault("", "--shop", f"there is no shop preset {show(shop)}.", works))
    if panel_file is None:
        faults.append(
            Fault("", "--shape", f"the preset {panel} is missing from this installation.", "Install it again.")
        )
    if faults or shop_file is None or panel_file is None:
        raise InputError(faults)
    files = {f"schema/{file}": data for file, data in presets.schema_files().items()}
    files[f"shops/{shop}.toml"] = shop_file.read_bytes()
    files[f"panels/{panel}.toml"] = panel_file.read_bytes()
    files[f"{name}.toml"] = _job_text(name, shape, cells, shop, size).encode()
    return files


def _job_text(name: str, shape: str, cells: Sequence[tuple[int, int]], shop: str, size: str) -> str:
    key = SIZES[shape]
    told = f"{key} = {_size_word(size)}" if size else f"# {key} = 100"
    says = specs(PanelParams)[key].doc.split(";")[0]
    hint = says if size else f"take the first # off for a size of your own: {says}"
    rows = [list(cells[place : place + 8]) for place in range(0, len(cells), 8)]
    cell_rows = "\n".join("  " + " ".join(f"[{x}, {y}]," for x, y in row) for row in rows)
    return f"""#:schema ./schema/job.schema.json
# {name}: made with `panejig new`. Everything here is yours to change.
# Check it with `panejig check {name}.toml`, build it with `panejig build {name}.toml`.
# Lengths are millimetres, or texts with a unit: "4 in", "1/8 in". `panejig params` lists every key.

job = "{name}"
title = ""

[shop]
extends = "./shops/{shop}.toml" # your machines and sheets: measure them and write the figures there

[panel]
extends = "./panels/{SHAPES[shape]}.toml" # your design
{told} # {hint}

[layout]
turn_deg = 0 # turn of the whole wall, anticlockwise
# {_CELL_WORDS[shape]}
cells = [
{cell_rows}
]

[power]
supply_v = 5
supply_a = 3 # current that one inlet's supply gives
brightness = 0.3 # cap, share of full white

[hang]
wall = "plaster" # one of [wall.*] in your shop file; detector before drill, local codes come first
"""


def _size_word(size: str) -> str:
    value = _number_or_text(size)
    if isinstance(value, float):
        return number(value)
    return f'"{value.strip()}"' if '"' not in value else f"'{value.strip()}'"


def _number_or_text(size: str) -> float | str:
    try:
        return float(size)
    except ValueError:
        return size


def _name_faults(name: str) -> list[Fault]:
    try:
        convert(specs(Job)["job"], name)
    except Bad as bad:
        return [Fault("", "NAME", bad.says, bad.works)]
    if name.lower() in RESERVED:
        return [
            Fault("", "NAME", f"{show(name)} is a name that Windows keeps for itself.", f"For example {name}-wall.")
        ]
    return []


def _cell_faults(cells: Sequence[tuple[int, int]]) -> list[Fault]:
    if not 1 <= len(cells) <= MOST_PANELS:
        return [Fault("", "--panels", f"{len(cells)} panels can't be.", f"1 to {MOST_PANELS:,} work.")]
    try:
        convert(specs(LayoutParams)["cells"], [list(cell) for cell in cells])
    except Bad as bad:
        return [Fault("", "--cells", bad.says, bad.works)]
    return []


def _size_faults(shape: str, size: str) -> list[Fault]:
    if not size:
        return []
    try:
        convert(specs(PanelParams)[SIZES[shape]], _number_or_text(size))
    except Bad as bad:
        return [Fault("", "--size", bad.says, bad.works)]
    return []
