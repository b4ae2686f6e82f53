"""The files of a new job: a commented job file, and beside it the shop, the panel and the schemas.

They are copies, so that the maker owns them.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

from fab.errors import Fault, InputError
from fab.params import presets
from fab.params.convert import Converter
from fab.params.cross_checks import RESERVED
from fab.params.files import read_bytes
from fab.params.job import Job, LayoutParams
from fab.params.layers import File, Layers
from fab.params.merge import overlay
from fab.params.one_value import Bad
from fab.params.panel import PanelParams
from fab.params.quoting import clean, number, show
from fab.params.spec import specs
from fab.params.toml import annotate, parse
from fab.params.tree import Source, TableNode, Where
from fab.params.values import convert
from fab.params.wallmap import At, draw_map, pieces_of
from fab.units import some

SHAPES = {"hexagon": "hexagon-120", "triangle": "edge90-triangle", "square": "edge90-square"}
SIZES = {"hexagon": "across_flats", "triangle": "edge", "square": "edge"}
MOST_PANELS = 1_000
_HEADS: dict[str, tuple[tuple[At, ...], tuple[At, ...]]] = {  # head; steps of the branch behind it
    "hexagon": (((0, 0), (1, 0), (0, 1)), ((1, 0), (1, 0), (0, 1))),
    "square": (((0, 0), (0, 1), (1, 0), (1, 1)), ((1, 0), (1, 0), (0, 1))),
    "triangle": (((2, 0), (3, 0), (1, 0), (1, 1), (2, 1), (3, 1)), ((1, 0),)),
}
SIDES = {"hexagon": 6, "triangle": 3, "square": 4}
_MAP_WORDS = {
    "hexagon": "Every second row is shifted by half a step.",
    "square": "Squares stand one above the other.",
    "triangle": (
        "Triangles point up and down in turn; the lower left one points up. Or draw ^ and v."
    ),
}


def arrangement(shape: str, panels: int) -> list[At]:
    """Cells of a small wall that looks like something: a head, and a branch that climbs from it.

    The head is three hexagons around a corner, a block of four squares, or six triangles around a
    corner.
    """
    head, step = _HEADS[shape]
    found = list(head[:panels])
    while len(found) < panels:
        (x, y), (dx, dy) = found[-1], step[(len(found) - len(head)) % len(step)]
        found.append((x + dx, y + dy))
    return found


def draft(
    name: str, shape: str, cells: Sequence[At], shop: str, size: str = "", turn_deg: float = 0.0
) -> dict[str, bytes]:
    """File name to bytes of a new job; raises InputError when a word of it can't be.

    `size` is across flats for a hexagon, an edge for the others: "120", "120 mm" or "5 in"; empty
    for the preset's.
    """
    panel = SHAPES[shape]
    faults = [*_name_faults(name), *_cell_faults(cells), *_size_faults(shape, size)]
    shop_file, panel_file = presets.path_of("shop", shop), presets.path_of("panel", panel)
    if shop_file is None:
        works = f"Shops: {', '.join(presets.names('shop'))}."
        faults.append(Fault("--shop", f"there is no shop preset {show(shop)}.", works))
    if panel_file is None:
        faults.append(
            Fault(
                "--shape",
                f"the preset {panel} is missing from this installation.",
                "Install it again.",
            )
        )
    if faults or shop_file is None or panel_file is None:
        raise InputError(faults)
    files = {f"schema/{file}": data for file, data in presets.schema_files().items()}
    files[f"shops/{shop}.toml"] = shop_file.read_bytes()
    files[f"panels/{panel}.toml"] = _of_one_shape(panel_file.read_text("utf-8")).encode()
    files[f"{name}.toml"] = _job_text(name, shape, cells, shop, size, turn_deg).encode()
    return files


def design_of(shape: str, size: str, folder: Path) -> PanelParams:
    """The design of a new job in `folder`: the copy that is there, or the preset, in that size.

    Raises InputError when it can't be read.
    """
    faults = _size_faults(shape, size)
    name = f"panels/{SHAPES[shape]}.toml"
    path = folder / name if (folder / name).is_file() else presets.path_of("panel", SHAPES[shape])
    if path is None:
        faults.append(
            Fault("--shape", f"the preset {SHAPES[shape]} is missing.", "Install panejig again.")
        )
    if faults or path is None:
        raise InputError(faults)
    source = Source(clean(str(path)), clean(path.name))
    table = parse(read_bytes(path, source.shown), source)
    layers = Layers()
    whole = layers.under_job(
        TableNode({"panel": table}, Where(source, 1)), File(path.absolute(), source)
    )
    if size:
        given = annotate({SIZES[shape]: _number_or_text(size)}, Where(Source("--size", "--size")))
        whole = overlay(whole, TableNode({"panel": given}, Where(source, 1)))
    converter = Converter()
    panel = converter.table(Job, whole, ()).panel
    if layers.faults or converter.faults:
        raise InputError([*layers.faults, *converter.faults])
    assert isinstance(panel, PanelParams)
    return panel


def drawing(cells: Sequence[At], shape: str) -> str:
    """Cells as a drawing: a letter each in reading order, or no names for want of letters."""
    order = sorted(cells, key=lambda cell: (-cell[1], cell[0]))
    letters = [chr(ord("A") + k) for k in range(26)] if len(order) <= 26 else [""] * len(order)
    return draw_map(zip(order, letters, strict=False), SIDES[shape])


def _of_one_shape(panel: str) -> str:
    """The text of a panel that meets panels of its own shape alone: its depth follows its size."""
    hint = "remove the first # where these meet panels of another shape: depths must be alike"
    return re.sub(r"(?m)^(depth = [\d.]+) #.*$", rf"# \1 # {hint}", panel)


def _job_text(
    name: str, shape: str, cells: Sequence[At], shop: str, size: str, turn_deg: float
) -> str:
    key = SIZES[shape]
    told = f"{key} = {_size_word(size)}" if size else f"# {key} = 100"
    says = specs(PanelParams)[key].doc.split(";")[0]
    hint = says if size else f"remove the first # to set your own size: {says}"
    separate = (
        'groups = "separate" # the groups do not touch\n'
        if pieces_of(cells, SIDES[shape]) > 1
        else ""
    )
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
# The wall as you see it: a letter or name is a panel, # one without a name, . an empty place.
# {_MAP_WORDS[shape]}
map = '''
{drawing(cells, shape)}'''
turn_deg = {number(turn_deg)} # turn of the whole wall, counter-clockwise
{separate}
[power]
supply_v = 5
supply_a = 3 # current that one inlet's supply gives
brightness = "auto" # the highest at which every check holds, or a share of full white: 0.2

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
        return [Fault("NAME", bad.says, bad.works)]
    if name.lower() in RESERVED:
        return [
            Fault(
                "NAME", f"{show(name)} is a reserved name of Windows.", f"For example {name}-wall."
            )
        ]
    return []


def _cell_faults(cells: Sequence[At]) -> list[Fault]:
    if not 1 <= len(cells) <= MOST_PANELS:
        return [
            Fault(
                "--panels",
                f"{some(len(cells), 'panel')}: out of range.",
                f"1 to {MOST_PANELS:,} work.",
            )
        ]
    try:
        convert(specs(LayoutParams)["cells"], [list(cell) for cell in cells])
    except Bad as bad:
        return [Fault("--cells", bad.says, bad.works)]
    return []


def _size_faults(shape: str, size: str) -> list[Fault]:
    if not size:
        return []
    try:
        convert(specs(PanelParams)[SIZES[shape]], _number_or_text(size))
    except Bad as bad:
        return [Fault("--size", bad.says, bad.works)]
    return []
