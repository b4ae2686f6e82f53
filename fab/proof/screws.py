"""Screws that the list of parts counts, against the holes in the meshes of the bases."""

from __future__ import annotations

import math
from collections import Counter
from typing import Any

from fab.checks.model import Verdict
from fab.proof.differences import PARTS, same
from fab.proof.job import JobValues
from fab.proof.keyholes import base_item
from fab.proof.mesh import holes_of, read_stl, section
from fab.proof.table import Row, rows_of
from fab.proof.tree import Tree


def screws(tree: Tree, rows: list[Row], job: JobValues) -> list[Verdict]:
    """Screws that the list counts against the holes in the meshes of the bases."""
    if PARTS not in tree or not tree.names("print/base", ".stl"):
        return []
    shell = board = 0
    designs = {base_item(row["design"], row["base"]): row["design"] for row in rows}
    for path in tree.names("print/base", ".stl"):
        item, _, count_word = path.removeprefix("print/").removesuffix(".stl").rpartition("_x")
        count = int(count_word)
        design = job.design(designs.get(item, "panel"))
        one = _round_holes(read_stl(path, tree.read(path)), design)
        board, shell = board + one[0] * count, shell + one[1] * count
    listed: Counter[str] = Counter()
    for line in rows_of(tree, PARTS, ("item", "count")):
        word = (
            "board"
            if "pan head" in line["item"]
            else "shell"
            if "countersunk" in line["item"]
            else ""
        )
        listed[word] += int(line["count"])
    wrong = []
    if listed["shell"] != shell:
        wrong.append(f"screws for shells: {listed['shell']} listed, holes in the bases: {shell}")
    boards = sum(1 for row in rows if int(row["leds"]) > 0)
    if not 2 * boards <= listed["board"] <= max(board, 0) or (
        boards and not job.at("designs", {}) and listed["board"] % boards
    ):
        wrong.append(
            f"screws for boards: {listed['board']} listed; boards: {boards}; holes in the bases:"
            f" {board}"
        )
    return [
        same(
            "proof.list-screws",
            PARTS,
            wrong,
            f"holes for the screws of shells: {shell}; of boards: up to {board}",
            "lines",
        )
    ]


def _round_holes(mesh: Any, design: JobValues) -> tuple[int, int]:
    """Holes of a base that a board's screw and a shell's screw go into."""
    insert = design.at("base.board_fixing") == "insert"
    wide = design.at("insert_d") if insert else design.at("pilot_d")
    # a hole for a melted-in nut or a thin screw is short, and only the base's maker knows where it
    # begins
    levels = [k / 10 for k in range(1, 10)] if insert else [0.3, 0.5, 0.7]
    floor, low = float(design.at("base.floor")), float(mesh.corners[:, 2].min())
    top = float(mesh.corners[:, 2].max())

    def rings(z: float, low_d: float, high_d: float) -> int:
        count = 0
        for hole in holes_of(section(mesh, z)):
            x0, y0, x1, y1 = hole.bounds
            round_one = (
                abs((x1 - x0) - (y1 - y0)) < 0.15
                and abs(hole.area - math.pi * (x1 - x0) ** 2 / 4) < 0.05 * hole.area
            )
            count += round_one and low_d <= x1 - x0 <= high_d
        return count

    shell = rings(low + floor * 0.9, design.at("screw_d"), design.at("screw_d") + 1.2)
    heights = (low + floor + (top - low - floor) * level for level in levels)
    return max(rings(z, wide - 0.2, wide + 0.2) for z in heights), shell
