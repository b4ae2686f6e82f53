"""A drawn wall of hexagons or squares, read with other code than the door's: rows of marks, and the
steps between them.

Only drawings of the plain form are read: one mark a panel, apart by blanks, every mark on the same
grid of columns. For all others nothing is said here.
"""

from __future__ import annotations

import itertools
import math
import re
from statistics import fmean, median

from fab.proof.job import JobValues, WallPanel

EMPTY = "."


def drawn_panels(job: JobValues, listed: list[WallPanel]) -> list[WallPanel] | None:
    """The panels where the drawing has them, moved as a whole onto the listed ones; None for what
    is not read here.
    """
    text, design = job.at("layout.map", ""), job.design("panel")
    sides = int(design.values["sides"])
    rows = text if isinstance(text, list) else str(text).split("\n")
    rows = [str(row).rstrip() for row in rows if str(row).strip()]
    if not rows or sides not in (4, 6) or job.at("layout.panel", []) or "\t" in "".join(rows):
        return None
    marks = [
        (number, found.start(), found[0])
        for number, row in enumerate(rows)
        for found in re.finditer(r"\S+", row)
    ]
    step = _step(marks, len(rows), sides)
    panels = [mark for mark in marks if mark[2] != EMPTY]
    if step is None or any(len(name) != 1 for *_, name in marks) or len(panels) != len(listed):
        return None
    reach = design.apothem
    high = 2 * reach if sides == 4 else 1.5 * reach / math.cos(math.pi / 6)
    whole = math.radians(job.at("layout.turn_deg", 0.0))
    flat = [(2 * reach * column / step, -high * row) for row, column, _ in panels]
    turned = [
        (x * math.cos(whole) - y * math.sin(whole), x * math.sin(whole) + y * math.cos(whole))
        for x, y in flat
    ]
    names = [name for *_, name in panels]
    named = len(set(names)) == len(listed) and all(name.isalnum() for name in names)
    there = {panel.name: panel for panel in listed}
    if named and set(names) == set(there):  # one panel in the wrong place does not move the others
        dx = median(there[name].x - x for name, (x, _) in zip(names, turned, strict=True))
        dy = median(there[name].y - y for name, (_, y) in zip(names, turned, strict=True))
    else:
        dx = fmean(panel.x for panel in listed) - fmean(x for x, _ in turned)
        dy = fmean(panel.y for panel in listed) - fmean(y for _, y in turned)
    return [
        WallPanel(name if named else "", "panel", sides, reach, x + dx, y + dy, math.degrees(whole))
        for name, (x, y) in zip(names, turned, strict=True)
    ]


def _step(marks: list[tuple[int, int, str]], rows: int, sides: int) -> int | None:
    """Columns from one panel of a row to the next; None where the marks lie on no such grid."""
    columns: list[list[int]] = [[] for _ in range(rows)]
    for row, column, _ in marks:
        columns[row].append(column)
    gaps = [b - a for row in columns for a, b in itertools.pairwise(row)]
    step = min(gaps, default=2)
    if step < 2 or step % 2:
        return None
    shift = step // 2 if sides == 6 else 0
    first = columns[0][0]
    for row, found in enumerate(columns):
        if any((column - first - row * shift) % step for column in found):
            return None
    return step
