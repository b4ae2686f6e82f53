"""Kinds of things in the view in three dimensions, with the words for one that is clicked:
name, count, file.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fab.book.facts import BookFacts
from fab.design import Design
from fab.outputs.assembled import COLOURS
from fab.outputs.line import PartsLine
from fab.products import Made, PartSpec
from fab.solids.mesh import Mesh

# After the Okabe-Ito palette (published, safe for the colour-blind), lightened. `a` below 1 is seen
# through once the wall is pulled apart; `lift` (towards the viewer) and `out` (away from its edge)
# are how far a part moves then, in lifts; `glows` is its colour when it is lit.
KINDS: dict[str, dict[str, Any]] = {
    "base": {"name": "bases", "c": [*COLOURS["base"]], "lift": 0.0},
    "shell": {"name": "shells", "c": [*COLOURS["shell"]], "lift": 1.0},
    "diffuser": {
        "name": "diffusers",
        "c": [*COLOURS["diffuser"]],
        "a": 0.45,
        "lift": 1.45,
        "glows": [1.0, 0.96, 0.87],
    },
    "engraving": {"name": "engraving", "c": [0.83, 0.37, 0.0], "lift": 1.45},
    "board": {"name": "boards", "c": [*COLOURS["board"]], "lift": 0.5},
    "led": {"name": "LEDs", "c": [0.97, 0.95, 0.76], "lift": 0.5, "glows": [1.0, 0.97, 0.8]},
    "socket": {"name": "sockets", "c": [0.25, 0.27, 0.30], "lift": 0.5},
    "switch": {"name": "switches", "c": [0.45, 0.45, 0.45], "lift": 0.5},
    "tall part": {"name": "other parts on boards", "c": [0.45, 0.45, 0.55], "lift": 0.5},
    "header": {"name": "headers", "c": [0.0, 0.45, 0.70], "lift": 0.25},
    "jumper": {"name": "jumpers", "c": [0.80, 0.47, 0.65], "lift": -0.35},
    "clip": {"name": "clips", "c": [0.84, 0.37, 0.0], "lift": -0.35},
    "cap": {"name": "caps", "c": [*COLOURS["cap"]], "lift": 0.0, "out": 0.3},
    "inlet": {"name": "inlets", "c": [0.90, 0.62, 0.0], "lift": 0.25, "out": 0.25},
    "foot": {"name": "feet", "c": [0.45, 0.52, 0.60], "lift": -0.3},
    "board screw": {"name": "board screws", "c": [0.6, 0.6, 0.6], "lift": 0.75},
    "shell screw": {"name": "shell screws", "c": [0.6, 0.6, 0.6], "lift": -0.25},
    "wall screw": {"name": "wall screws", "c": [0.75, 0.72, 0.65], "lift": -0.6},
}
for _look in KINDS.values():
    _look.setdefault("a", 1)
    _look.setdefault("out", 0)

# Kind of a bought part: (word, what the list of parts calls it begins so)
BOUGHT = {
    "led": ("LEDs", "LED"),
    "socket": ("Sockets", "socket"),
    "header": ("Header, all pins", "header, all pins"),
    "header without supply": ("Header, supply pins pulled", "header, supply pins pulled"),
    "jumper": ("Jumper", "jumper"),
    "inlet": ("Inlet", "inlet"),
    "wall screw": ("Wall screw", "wall screw"),
    "switch": ("Switches", "switch"),
}


@dataclass(frozen=True)
class Wall:
    """The things that the view shows, with their words.

    `meshes`: printed and cut parts; `bought`: meshes of bought parts by design and name; `files`:
    kinds of files that a click may name.
    """

    design: Design
    meshes: Mapping[PartSpec, Made]
    bought: Mapping[str, Mapping[str, Mesh]]
    lines: Sequence[PartsLine]
    files: Sequence[str]


def wall_of(facts: BookFacts) -> Wall:
    """The wall as a book knows it."""
    bought = {name: facts.pictures.get(("view", name), {}) for name in facts.design.plans}
    return Wall(facts.design, facts.meshes, bought, facts.lines, facts.wanted)


class Things:
    """Rows for the view, and the number of each by its key."""

    def __init__(self) -> None:
        self.rows: list[dict[str, Any]] = []
        self.known: dict[tuple[str, ...], int] = {}

    def put(self, key: str, name: str, count: int, file: str = "", note: str = "") -> None:
        """A row under a key."""
        self.known[(key,)] = len(self.rows)
        self.rows.append({"name": name, "count": count, "file": file, "note": note})

    def number(self, key: tuple[str, ...]) -> int:
        """The row of a key."""
        return self.known[key]


def things(wall: Wall) -> Things:
    """Every thing that can be clicked, as the list of parts counts it."""
    found, lines = Things(), wall.lines
    for line in lines:
        if line.source not in ("print", "cut", "order"):
            continue
        kind = "print" if line.source == "print" else "cut" if line.source == "cut" else "board"
        file = line.file if kind in wall.files else ""
        base = line.part == "base"
        key = f"base {line.design} {_kind_of(line.item, line.design)}" if base else ""
        name = line.item[:1].upper() + line.item[1:]
        found.put(key or f"{line.part} {line.design}", name, line.count, file or "")
    for kind, (name, begins) in BOUGHT.items():
        count = sum(line.count for line in lines if line.item.startswith(begins))
        found.put(kind, name, count, note="Bought; see the shopping list.")
    for kind, word in (("board screw", "Board screws"), ("shell screw", "Shell screws")):
        note = "board to base" if kind == "board screw" else "into the shell"
        count = sum(line.count for line in lines if note in line.note and line.part == "screw")
        found.put(kind, word, count, note="Bought; see the shopping list.")
    found.put("tall part", "Other parts on the board", 0, note="See the brief for the board.")
    return found


def _kind_of(item: str, design: str) -> str:
    """The key of a base's kind from its name in files."""
    return item.removeprefix("base-" if design == "panel" else f"base-{design}-")
