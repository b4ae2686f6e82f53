"""The steps in which joints are pushed together, tried on the panels' places: every step moves one
piece of the wall straight onto one other.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence

from fab.checks.model import Verdict
from fab.proof.differences import HEADERS, JOINTS, same
from fab.proof.job import WallPanel
from fab.proof.table import Row, number, rows_of
from fab.proof.tree import Tree

OFF_DEG = 0.01
BARE = "a panel without a board"
COLUMNS = ("a", "b", "kind", "why", "mated_by", "step", "moves", "heading_deg")


def prove(tree: Tree, panels: Sequence[WallPanel]) -> list[Verdict]:
    """The verdict on lists/joints.csv; none without that list."""
    if JOINTS not in tree:
        return []
    by_name = {panel.name: panel for panel in panels}
    piece = {name: name for name in by_name}
    steps: dict[int, list[Row]] = defaultdict(list)
    wrong, bare = [], 0
    for row in rows_of(tree, JOINTS, COLUMNS):
        bare += row["why"] == BARE
        if row["mated_by"] == "push":
            steps[int(number(JOINTS, row, "step"))].append(row)
        elif row["kind"] in HEADERS and not row["step"]:
            wrong.append(f"no step mates the header of {row['a']} and {row['b']}")
    # a step that joins a panel without a board mates no header and stands in no row
    if max(steps, default=0) - len(steps) > bare or min(steps, default=1) < 1:
        wrong.append(f"steps are not numbered 1 to {len(steps)}")
    for step in sorted(steps):
        wrong += _step(step, steps[step], by_name, piece)
    good = f"{len(steps)} steps, each moves one piece straight onto another"
    return [same("proof.list-steps", JOINTS, wrong, good, "joints")]


def _step(
    step: int, rows: list[Row], panels: dict[str, WallPanel], piece: dict[str, str]
) -> list[str]:
    """The faults of one step; the pieces that it joins are one in `piece` after it."""
    wrong = []
    pairs = set()
    for row in rows:
        mover, other = row["moves"], row["b"] if row["moves"] == row["a"] else row["a"]
        if mover not in (row["a"], row["b"]) or other not in panels:
            wrong.append(f"step {step} moves {mover}, not {row['a']} or {row['b']}")
            continue
        pairs.add((piece[mover], piece[other]))
        one, two = panels[mover], panels[other]
        towards = math.degrees(math.atan2(two.y - one.y, two.x - one.x))
        off = (number(JOINTS, row, "heading_deg") - towards + 180) % 360 - 180
        if abs(off) > OFF_DEG:
            wrong.append(
                f"step {step} pushes {mover} towards {row['heading_deg']} degrees; {other} lies at"
                f" {towards % 360:.0f}"
            )
    if len(pairs) > 1 or any(one == two for one, two in pairs):
        wrong.append(f"step {step} does not move one piece onto one other")
    for moved, onto in pairs:
        for name in [name for name, now in piece.items() if now == moved]:
            piece[name] = onto
    return wrong
