"""The drilling template: scale, view and marks measured from the pages' own content, against
keyholes in the meshes.

A page tells where it lies: its level line says which height over the datum hole it is, its plumb
line how far right. So a mark's place on the wall follows from the page alone.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from fab.checks.model import Verdict, at_most, judge
from fab.proof.dxf import read_dxf
from fab.proof.fullsize import full_size
from fab.proof.holes import HOLES, PLACE_MM, ReadHole
from fab.proof.job import JobValues, WallPanel
from fab.proof.keyholes import Hang, hangs
from fab.proof.pages import pages_of
from fab.proof.pdf import read_pdf
from fab.proof.svg import read_svg
from fab.proof.table import Row, number, panels_of, rows_of
from fab.proof.tree import Tree, Unreadable


def prove(tree: Tree, job: JobValues) -> list[Verdict]:
    """Verdicts on wall/*."""
    found: list[Verdict] = []
    rows = rows_of(tree, HOLES, ("panel", "x_mm", "y_mm", "drill_mm"))
    holes = [
        ReadHole(row["panel"], *(number(HOLES, row, key) for key in ("x_mm", "y_mm", "drill_mm")))
        for row in rows
    ]
    if not holes:
        raise Unreadable(HOLES, "has no hole")
    found += _table(holes, rows, job)
    panels: list[WallPanel] = []
    there: list[Hang] = []
    if "lists/panels.csv" in tree:
        panels = panels_of(tree, job)
        if tree.names("print/base", ".stl"):
            there = hangs(tree, job)
            found += _keyholes(holes, there)
    for path in ("wall/template.dxf", "wall/template.svg"):
        if path in tree:
            data = tree.read(path)
            paths = (
                read_dxf(path, data) if path.endswith("dxf") else list(read_svg(path, data).paths)
            )
            found += full_size(path, paths, holes, panels, there, job)
    for path in tree.names("wall/template-", ".pdf"):
        found += pages_of(path, read_pdf(path, tree.read(path)), holes, job)
    return found


def _table(holes: Sequence[ReadHole], rows: Sequence[Row], job: JobValues) -> list[Verdict]:
    """Distances in the table follow from its places; the drill is the wall's."""
    worst, where = 0.0, ""
    before = {hole.panel: hole for hole in holes}
    for hole, row in zip(holes, rows, strict=True):
        checks: list[tuple[str | float | None, float]] = [
            (row.get("from_datum_mm"), math.hypot(hole.x - holes[0].x, hole.y - holes[0].y))
        ]
        if row.get("before"):
            last = before[row["before"]]
            checks.append((row.get("from_before_mm"), math.hypot(hole.x - last.x, hole.y - last.y)))
        for key, place in (("x_in", hole.x), ("y_in", hole.y)):
            checks.append((float(row[key]) * 25.4 if row.get(key) else None, place))
        for said, is_ in checks:
            if said not in (None, "") and abs(float(said) - is_) > worst:
                worst, where = abs(float(said) - is_), f", hole of panel {hole.panel}"
    wall = job.shop.values["wall"][job.at("hang.wall")]
    drill = max(abs(hole.drill - wall["drill"]) for hole in holes)
    return [
        judge(
            "proof.holes-table",
            HOLES,
            at_most(worst, 0.01),
            f"a distance or a place in inches differs from x and y{where}",
        ),
        judge(
            "proof.holes-drill",
            HOLES,
            at_most(drill, 0.001),
            f"the drill differs from that of a {job.at('hang.wall')} wall",
        ),
    ]


def _keyholes(holes: Sequence[ReadHole], there: Sequence[Hang]) -> list[Verdict]:
    by_name = {hang.panel: hang for hang in there}
    names = {hole.panel for hole in holes}
    missing = names ^ set(by_name)
    says = (
        f"panels with a hole or a keyhole only: {', '.join(sorted(missing))}"
        if missing
        else "every hole has its keyhole"
    )
    found = [judge("proof.holes-panels", HOLES, at_most(float(len(missing)), 0.0, "panels"), says)]
    datum = by_name.get(holes[0].panel)
    if datum is None:
        return found
    worst, where, lean, leaning = 0.0, "", 0.0, ""
    for hole in holes:
        hang = by_name.get(hole.panel)
        if hang is None:
            continue
        off = math.hypot(
            hang.x - datum.x - hole.x + holes[0].x, hang.y - datum.y - hole.y + holes[0].y
        )
        if off > worst:
            worst, where = off, f": hole of panel {hole.panel}, {hang.file}"
        tilt = abs((hang.up_deg - 90.0 + 180.0) % 360.0 - 180.0)
        if tilt > lean:
            lean, leaning = tilt, f": {hang.file} of panel {hole.panel}"
    return [
        *found,
        judge(
            "proof.holes-rest",
            HOLES,
            at_most(worst, PLACE_MM),
            f"a hole lies beside the rest of its keyhole{where}",
        ),
        judge(
            "proof.keyhole-up",
            "lists/panels.csv",
            at_most(lean, 0.5, "deg"),
            f"a keyhole as it hangs leans from straight up{leaning}",
        ),
    ]
