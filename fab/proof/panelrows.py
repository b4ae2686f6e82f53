"""Rows of the address table, the joints and the LEDs, against where the panels are."""

from __future__ import annotations

import math
from typing import Any

from fab.checks.model import Verdict
from fab.proof.differences import JOINTS, PANELS, PLACE_MM, same
from fab.proof.job import Edges, JobValues, WallPanel
from fab.proof.table import Row, number, rows_of, truth
from fab.proof.tree import Tree, Unreadable


def _starts(tree: Tree) -> dict[str, int]:
    """The first LED of each panel by the list of all LEDs, which is proven against the boards; none
    without that list.
    """
    path = "lists/pixels.csv"
    if path not in tree:
        return {}
    found: dict[str, int] = {}
    for row in rows_of(tree, path, ("index", "panel")):
        found.setdefault(row["panel"], int(row["index"]))
    return found


def panel_rows(
    tree: Tree, rows: list[Row], panels: list[WallPanel], edges: Edges, job: JobValues
) -> list[Verdict]:
    """Neighbours, open edges, LEDs, inlets and bases of each panel."""
    wrong: list[str] = []
    beside: dict[str, list[str]] = {panel.name: [] for panel in panels}
    free: dict[str, set[str]] = {panel.name: set() for panel in panels}
    for a, i, b, k in edges.joints:
        beside[a].append(f"{i}:{b}/{k}")
        beside[b].append(f"{k}:{a}/{i}")
    for name, edge in edges.free:
        free[name].add(str(edge))
    leds = dict(_leds(tree, job).items())
    first, starts = 0, _starts(tree)
    for row in rows:
        name = row["name"]
        # by edges; a name may hold blanks, so words are not parted
        if row["neighbours"] != (there := " ".join(sorted(beside[name]))):
            wrong.append(f"neighbours of panel {name} are {there}, not {row['neighbours']}")
        if set(row["open_edges"].split()) != free[name]:
            wrong.append(
                f"open edges of panel {name} are {' '.join(sorted(free[name]))}, not"
                f" {row['open_edges']}"
            )
        count = int(row["leds"])
        if leds.get(row["design"], count) != count:
            wrong.append(
                f"LEDs of panel {name}: {leds[row['design']]} by board/positions.csv, not {count}"
            )
        start = starts.get(name, first)
        if "first_led" in row and int(row["first_led"]) != start and count:
            wrong.append(f"the first LED of panel {name} is {start}, not {row['first_led']}")
        first += count
        inlet = truth(row.get("inlet", "no"))
        # its plug comes in by the floor
        on_feet = job.design(row["design"]).at("base.feet", 0.0) > 0
        if inlet and not on_feet and row["inlet_edge"] not in free[name]:
            wrong.append(
                f"the inlet of panel {name} leaves by edge {row['inlet_edge']}, which is not open"
            )
        if inlet != ("inlet" in row["base"].split("-")):
            wrong.append(
                f"panel {name} {'has' if inlet else 'has no'} inlet, its base is {row['base']}"
            )
        if inlet and row["base_turn_edges"] != row["inlet_edge"]:
            wrong.append(
                f"the base of panel {name} is turned by edges: {row['base_turn_edges']}; its inlet"
                f" leaves by edge {row['inlet_edge']}"
            )
        if truth(row.get("hanger", "no")) != ("hanger" in row["base"]):
            wrong.append(f"panel {name}: hanger is {row['hanger']!r}, its base is {row['base']}")
    found = [
        same(
            "proof.list-panels",
            PANELS,
            wrong,
            "neighbours, open edges, LEDs and bases follow from the places",
        )
    ]
    if "lists/panels.json" in tree:
        told = tree.json("lists/panels.json").get("panels", [])
        wrong = []
        for row, one in zip(rows, told, strict=False):
            for key, text in row.items():
                if key in one and not _cell(one[key], text):
                    wrong.append(
                        f"{key} of panel {row['name']} is {one[key]!r}, in panels.csv {text!r}"
                    )
        if len(told) != len(rows):
            wrong.append(f"panels here: {len(told)}; in panels.csv: {len(rows)}")
        found.append(
            same("proof.list-panels", "lists/panels.json", wrong, "it says what panels.csv says")
        )
    return found


def _cell(value: Any, text: str) -> bool:
    if value is None:
        return text == ""
    if isinstance(value, bool):
        return value == truth(text)
    if isinstance(value, int | float):
        return text not in ("", None) and abs(float(text) - value) < 1e-9 + 1e-6 * abs(value)
    return str(value) == text


def _leds(tree: Tree, job: JobValues) -> dict[str, int]:
    """LEDs per design by the board's own list; their numbers run without a gap."""
    found = {}
    for name in ("panel", *job.at("designs", {})):
        path = next(
            (one for one in (f"board/positions-{name}.csv", "board/positions.csv") if one in tree),
            "",
        )
        if not path or (
            path == "board/positions.csv" and name != "panel" and tree.names("board/positions-")
        ):
            continue
        rows = [
            row
            for row in rows_of(tree, path, ("kind", "index", "x_mm", "y_mm"))
            if row["kind"] == "led"
        ]
        if [row["index"] for row in rows] != [str(k) for k in range(len(rows))]:
            raise Unreadable(path, "the LEDs are not numbered 0, 1, 2 and so on")
        found[name] = len(rows)
    return found


def joint_rows(tree: Tree, panels: list[WallPanel], edges: Edges) -> list[Verdict]:
    """The verdict on lists/joints.csv: the joints that the panels' places make, each at its middle,
    none missing and none too many.
    """
    if JOINTS not in tree:
        return []
    rows = rows_of(tree, JOINTS, ("a", "edge_a", "b", "edge_b", "x_mm", "y_mm", "kind"))
    by_name = {panel.name: panel for panel in panels}
    there = {frozenset(((a, i), (b, k))) for a, i, b, k in edges.joints}
    told, wrong = set(), []
    for row in rows:
        key = frozenset(((row["a"], int(row["edge_a"])), (row["b"], int(row["edge_b"]))))
        told.add(key)
        if key not in there:
            wrong.append(f"{row['a']}/{row['edge_a']} does not lie on {row['b']}/{row['edge_b']}")
            continue
        x, y = by_name[row["a"]].middle(int(row["edge_a"]))
        if (
            math.dist((x, y), (number(JOINTS, row, "x_mm"), number(JOINTS, row, "y_mm")))
            > 2 * PLACE_MM
        ):
            wrong.append(f"the joint of {row['a']} and {row['b']} lies at {x:.3f}, {y:.3f}")
    wrong += [
        f"the joint of {' and '.join(sorted(f'{p}/{e}' for p, e in one))} is missing"
        for one in there - told
    ]
    return [
        same(
            "proof.list-joints",
            JOINTS,
            wrong,
            f"joints, as the places of the panels make them: {len(there)}",
            "joints",
        )
    ]
