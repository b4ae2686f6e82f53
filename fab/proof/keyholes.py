"""The points that panels hang by: the keyhole found in the mesh of its base, placed on the wall by
the address table.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import Any

from fab.proof.job import JobValues, WallPanel
from fab.proof.mesh import ReadMesh, holes_of, read_stl, section
from fab.proof.table import panels_of, rows_of, truth
from fab.proof.tree import Tree, Unreadable

Point = tuple[float, float]


@dataclass(frozen=True)
class Hang:
    """A keyhole on the wall: where the shank rests, and which way its slot points (degrees, 90 is
    up).
    """

    panel: str
    file: str
    x: float
    y: float
    up_deg: float


def hangs(tree: Tree, job: JobValues) -> list[Hang]:
    """The keyholes of all panels that hang. Raises Unreadable when a base has none."""
    panels = {panel.name: panel for panel in panels_of(tree, job)}
    found, meshes = [], {}
    for row in rows_of(tree, "lists/panels.csv", ("name", "base", "base_turn_edges", "hanger")):
        if not truth(row["hanger"]):
            continue
        panel = panels[row["name"]]
        path = base_file(tree, panel, row["base"])
        if path not in meshes:
            meshes[path] = keyhole(path, read_stl(path, tree.read(path)), job.design(panel.design))
        rest, entry = meshes[path]
        turn = math.radians(panel.turn_deg + 360.0 * float(row["base_turn_edges"]) / panel.sides)
        cos, sin = math.cos(turn), math.sin(turn)
        x, y = panel.x + rest[0] * cos - rest[1] * sin, panel.y + rest[0] * sin + rest[1] * cos
        up = math.degrees(math.atan2(rest[1] - entry[1], rest[0] - entry[0]) + turn) % 360.0
        found.append(Hang(panel.name, path, x, y, up))
    return found


def base_item(design: str, kind: str) -> str:
    """Name of a kind of base in the lists and in file names."""
    return f"base-{kind}" if design == "panel" else f"base-{design}-{kind}"


def base_file(tree: Tree, panel: WallPanel, kind: str) -> str:
    """The STL of a panel's base."""
    word = base_item(panel.design, kind)
    names = list(tree.names(f"print/{word}_x", ".stl"))
    if not names:
        raise Unreadable(f"print/{word}_x*.stl", f"is missing; panel {panel.name} needs it")
    return names[0]


def keyhole(path: str, mesh: ReadMesh, design: JobValues) -> tuple[Point, Point]:
    """Rest and entry's side of the keyhole in the floor of a base.

    Raises Unreadable when there is none.

    The slot has two straight parallel sides, and its round end begins exactly beside the rest: the
    rest is the middle of the sides' ends there. The other end opens into the wider entry.
    """
    floor = float(design.at("base.floor"))
    head, shank = float(design.at("hanger.head_d")), float(design.at("hanger.screw_d"))
    travel = float(design.at("hanger.travel"))
    low = float(mesh.corners[:, 2].min())
    for step in range(1, 9):
        for hole in holes_of(section(mesh, low + floor * step * 0.47)):
            ends = _slot(hole, head, shank, travel)
            if ends is not None:
                return ends
    raise Unreadable(path, "has no keyhole in its floor")


def _slot(hole: Any, head: float, shank: float, travel: float) -> tuple[Point, Point] | None:
    area = hole.area
    if not math.pi * head**2 / 4 < area < (head + 4) * (travel + head + 4):
        return None
    points = list(hole.simplify(1e-6).exterior.coords)
    edges = sorted(((math.dist(a, b), a, b) for a, b in itertools.pairwise(points)), reverse=True)[
        :2
    ]
    (l1, a, b), (l2, c, d) = edges
    if abs(l1 - l2) > 0.05 or l1 < 0.8:
        return None
    ux, uy = (b[0] - a[0]) / l1, (b[1] - a[1]) / l1
    if ux * (d[0] - c[0]) + uy * (d[1] - c[1]) > 0:  # both run the same way round: no slot
        return None
    width = abs((c[0] - a[0]) * uy - (c[1] - a[1]) * ux)
    if not shank <= width < head:
        return None
    one = ((b[0] + c[0]) / 2, (b[1] + c[1]) / 2)
    other = ((a[0] + d[0]) / 2, (a[1] + d[1]) / 2)
    reach = [
        max(math.dist(p, end) for p in points if math.dist(p, end) < math.dist(p, away))
        for end, away in ((one, other), (other, one))
    ]
    return (one, other) if reach[0] < reach[1] else (other, one)
