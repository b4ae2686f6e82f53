"""Lists and counts, worked out anew from where the panels are: names, places, turns, joints, caps,
clips, screws, LEDs.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterable
from typing import Any

from fab.checks.model import Verdict
from fab.proof import boardfiles, netlist, pixels, pushes
from fab.proof.counts import counts
from fab.proof.differences import PANELS, PLACE_MM, same
from fab.proof.drawn import drawn_panels
from fab.proof.job import JobValues, WallPanel, cells_of, edges_of
from fab.proof.orders import orders
from fab.proof.panelrows import joint_rows, panel_rows
from fab.proof.screws import screws
from fab.proof.table import panels_of, rows_of
from fab.proof.tree import Tree, Unreadable


def prove(tree: Tree, job: JobValues) -> list[Verdict]:
    """Verdicts on lists/*, board/positions.csv and the manifest's counts."""
    if PANELS not in tree:
        return []
    rows = rows_of(
        tree,
        PANELS,
        ("name", "design", "x_mm", "y_mm", "turn_deg", "leds", "neighbours", "base", "open_edges"),
    )
    panels = panels_of(tree, job)
    edges = edges_of(panels)
    found = [
        *_values(tree, job),
        *_places(panels, job),
        *panel_rows(tree, rows, panels, edges, job),
    ]
    found += joint_rows(tree, panels, edges)
    found += counts(tree, rows, panels, edges, job)
    found += screws(tree, rows, job)
    if "lists/pixels.csv" in tree:
        found += pixels.prove(tree, rows, panels)
    found += netlist.prove(tree, rows)
    found += pushes.prove(tree, panels)
    found += boardfiles.prove(tree)
    found += orders(tree)
    return found


def _values(tree: Tree, job: JobValues) -> list[Verdict]:
    """job.toml, values.json and the job itself say the same."""
    found = []
    mine = dict(_flat(job.values))
    for path in ("lists/values.json", "lists/job.toml"):
        if path not in tree:
            continue
        try:
            told = tree.json(path) if path.endswith("json") else tomllib.loads(tree.text(path))
        except tomllib.TOMLDecodeError as error:
            raise Unreadable(path, f"is not TOML: {error}") from error
        there = dict(_flat(told))
        wrong = [
            f"{key} is {there.get(key)!r}, not {mine.get(key)!r}"
            for key in sorted({*mine, *there})
            if not _alike(mine.get(key), there.get(key))
        ]
        found.append(
            same("proof.list-values", path, wrong, "the values are those of the job", "values")
        )
    return found


def _alike(one: Any, other: Any) -> bool:
    if one in (None, [], {}) and other in (None, [], {}):
        return True
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(_alike, one, other))
    if _number(one) and _number(other):
        return math.isclose(one, other, rel_tol=1e-5, abs_tol=5e-7)  # lists have six decimals
    return bool(one == other)


def _number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _flat(value: Any, at: str = "") -> Iterable[tuple[str, Any]]:
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from _flat(inner, f"{at}.{name}" if at else str(name))
    else:
        yield at, _listed(value)


def _listed(value: Any) -> Any:
    """Tuples as lists, however deep: a file knows no others."""
    return [_listed(one) for one in value] if isinstance(value, list | tuple) else value


def _places(panels: list[WallPanel], job: JobValues) -> list[Verdict]:
    """Every panel stands where the job puts it."""
    wanted = drawn_panels(job, panels) if job.at("layout.map", "") else cells_of(job)
    if wanted is None:
        return []
    wrong = []
    left = list(wanted)
    for panel in panels:
        near = min(
            left, key=lambda one: math.dist((one.x, one.y), (panel.x, panel.y)), default=None
        )
        if near is None:
            wrong.append(f"panel {panel.name} is not in the job")
            continue
        left.remove(near)
        turn = abs((near.turn_deg - panel.turn_deg + 180.0) % 360.0 - 180.0)
        if math.dist((near.x, near.y), (panel.x, panel.y)) > 2 * PLACE_MM or turn > 0.001:
            wrong.append(
                f"panel {panel.name} stands at {panel.x:g}, {panel.y:g} turned by"
                f" {panel.turn_deg:g}; the job says {near.x:.3f}, {near.y:.3f} turned by"
                f" {near.turn_deg:g}"
            )
        if near.design != panel.design or (near.name and near.name != panel.name):
            wrong.append(
                f"panel {panel.name} is another one in the job: {near.name or near.design}"
            )
    wrong += [f"a panel at {one.x:.1f}, {one.y:.1f} is missing" for one in left]
    if not any(one.name for one in wanted):
        order = _reading(panels)
        expected = [_letters(k) for k in range(len(order))]
        wrong += [
            f"panel {panel.name} is {name} in reading order"
            for panel, name in zip(order, expected, strict=True)
            if panel.name != name
        ]
    return [
        same(
            "proof.list-places",
            PANELS,
            wrong,
            f"panels that stand where the job puts them: {len(panels)}",
            "panels",
        )
    ]


def _reading(panels: list[WallPanel]) -> list[WallPanel]:
    """Rows from above, each from the left."""
    rows: list[list[WallPanel]] = []
    step = 0.25 * min(panel.apothem for panel in panels)
    for panel in sorted(panels, key=lambda one: -one.y):
        if rows and rows[-1][0].y - panel.y < step:
            rows[-1].append(panel)
        else:
            rows.append([panel])
    return [panel for row in rows for panel in sorted(row, key=lambda one: one.x)]


def _letters(k: int) -> str:
    return chr(65 + k) if k < 26 else _letters(k // 26 - 1) + chr(65 + k % 26)
