"""Random connected walls, written to disk as `panejig new` writes them: the same walls on every
machine.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from pathlib import Path

from fab.errors import InputError
from fab.layout.find import find_layout
from fab.layout.model import Cell, Layout
from fab.layout.place import lattice_pose
from fab.params.job import LayoutParams, PlacedParams
from fab.params.new_job import SIDES, draft
from fab.params.wallmap import At, neighbours

SHOP = "metric-bench"
KINDS = ("grown", "compact", "ring", "branch")
SHAPES = ("hexagon", "square", "triangle", "mixed")
EDGE90 = {"hexagon": "edge90-hexagon", "square": "edge90-square", "triangle": "edge90-triangle"}
LEAST, MOST = 3, 40


@dataclass(frozen=True)
class AnyWall:
    """One wall: its name says which it is, its files are those of a new job."""

    name: str
    files: dict[str, bytes]
    panels: int

    def write(self, folder: Path) -> Path:
        """The job file, with all files below `folder`; files that are there stay."""
        for name, data in self.files.items():
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            if not path.exists():
                path.write_bytes(data)
        return folder / f"{self.name}.toml"


def any_wall(number: int, seed: int = 15) -> AnyWall:
    """One of the walls of a seed; shapes and kinds take turns, sizes are random."""
    dice = random.Random(f"{seed}-{number}")
    shape, kind = SHAPES[number % 4], KINDS[number // 4 % 4]
    panels = dice.randint(LEAST, MOST)
    name = f"wall-{number:03d}-{shape}-{kind}"
    return (
        _mixed(name, kind, panels, dice)
        if shape == "mixed"
        else _plain(name, shape, kind, panels, dice)
    )


def patch(sides: int, kind: str, count: int, dice: random.Random) -> list[At]:
    """A connected patch of cells: grown anywhere, as round as can be, around a hole, or with few
    neighbours each.
    """
    if kind == "ring":
        return _around_a_hole(sides, count, dice)
    cells = [(0, 0)] if sides != 3 else [(0, dice.randrange(2))]
    while len(cells) < count:
        rim = sorted({near for cell in cells for near in neighbours(cell, sides)} - set(cells))
        if kind == "compact":
            middle = [sum(_middle(sides, cell)[k] for cell in cells) / len(cells) for k in (0, 1)]
            rim = sorted(
                rim, key=lambda cell: (round(math.dist(_middle(sides, cell), middle), 6), cell)
            )[:3]
        elif kind == "branch":
            lone = [cell for cell in rim if len(set(neighbours(cell, sides)) & set(cells)) == 1]
            rim = lone or rim
        cells.append(dice.choice(rim))
    return cells


def _around_a_hole(sides: int, count: int, dice: random.Random) -> list[At]:
    """All cells that touch a hole in an edge or a corner, then more that grow on them."""
    hole = patch(sides, "compact", max(1, min(count // 8, 3)), dice)
    reach = {6: 1.01, 4: math.sqrt(2) + 0.01, 3: 1.16}[sides]
    box = [(x, y) for x in range(-12, 13) for y in range(-8, 9)]
    at = {cell: _middle(sides, cell) for cell in box}
    ring = [
        cell
        for cell in box
        if cell not in hole and min(math.dist(at[cell], at[one]) for one in hole) < reach
    ]
    cells = list(ring)
    while len(cells) < count:
        rim = sorted(
            {near for cell in cells for near in neighbours(cell, sides)} - set(cells) - set(hole)
        )
        cells.append(dice.choice(rim))
    return cells


def _middle(sides: int, cell: At) -> tuple[float, float]:
    """Middle of a cell, the distance of two hexagons or squares and the edge of a triangle being
    1.
    """
    x, y, _ = lattice_pose(Cell(sides, 0.5 if sides != 3 else 0.5 / math.sqrt(3)), cell)
    return (x, y)


def _plain(name: str, shape: str, kind: str, panels: int, dice: random.Random) -> AnyWall:
    cells = patch(SIDES[shape], kind, panels, dice)
    return AnyWall(name, draft(name, shape, cells, SHOP), len(cells))


def _mixed(name: str, kind: str, panels: int, dice: random.Random) -> AnyWall:
    """A drawn wall of one shape, and panels of all three that sit on it and on each other."""
    shape = dice.choice(sorted(SIDES))
    drawn = patch(SIDES[shape], kind, min(max(1, panels // 2), 24), dice)
    files = draft(name, shape, drawn, SHOP)
    text = files[f"{name}.toml"].decode()
    own = next(row for row in text.splitlines() if row.startswith('extends = "./panels/'))
    text = text.replace(own, f'extends = "{EDGE90[shape]}"')
    text = text.replace(
        "[power]\n", _attached(text, shape, panels - len(drawn), dice) + "[power]\n"
    )
    designs = "".join(
        f'\n[designs.{other}]\nextends = "{EDGE90[other]}"\n'
        for other in sorted(SIDES)
        if other != shape
    )
    files[f"{name}.toml"] = (text + designs).encode()
    return AnyWall(name, files, max(panels, len(drawn)))


def _attached(text: str, shape: str, count: int, dice: random.Random) -> str:
    """Tables of panels that sit on others where there is room."""
    drawing = text.split("'''\n")[1]
    designs = {name: Cell(sides, 45.0 / math.tan(math.pi / sides)) for name, sides in SIDES.items()}
    placed: list[PlacedParams] = []

    def lay(more: list[PlacedParams]) -> Layout:
        params = LayoutParams(map=drawing, panel=tuple(more))
        return find_layout(
            params, lambda design: designs[shape if design in ("", "panel") else design]
        )

    layout = lay([])
    while len(placed) < count:
        free = dice.choice(layout.open_edges)
        design = dice.choice(sorted(SIDES))
        new = PlacedParams(
            name=f"p{len(placed) + 1}",
            design="" if design == shape else design,
            on=free.panel,
            edge=free.edge,
        )
        try:
            layout = lay([*placed, new])
        except InputError:  # it lies on another one
            continue
        placed.append(new)
    return "".join(
        f"[[layout.panel]]\nname = "
        f'"{new.name}"\n'
        + (f'design = "{new.design}"\n' if new.design else "")
        + f'on = "{new.on}"\nedge = {new.edge}\n\n'
        for new in placed
    )
