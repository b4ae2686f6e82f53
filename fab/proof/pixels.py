"""lists/pixels.csv against the boards' places and the panels' places and turns; the scaled places
against their box.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from fab.checks.model import Verdict, at_most, judge
from fab.proof.job import WallPanel
from fab.proof.table import Row, number, rows_of
from fab.proof.tree import Tree

PATH, DATA = "lists/pixels.csv", "lists/pixels.json"
NEAR_MM = 0.0011  # lists have three decimals
SCALED = 1e-4  # of the longer side; the box is known to three decimals


def prove(tree: Tree, rows: Sequence[Row], panels: Sequence[WallPanel]) -> list[Verdict]:
    """Every LED of every panel stands there once, where board and panel put it, counted through
    without a gap.
    """
    design = {row["name"]: row["design"] for row in rows}
    leds = {row["name"]: int(row["leds"]) for row in rows}
    by_name = {panel.name: panel for panel in panels}
    boards: dict[str, dict[int, tuple[float, float]]] = {}
    listed = rows_of(tree, PATH, ("index", "panel", "panel_index", "x_mm", "y_mm", "x", "y"))
    wrong, seen = [], dict.fromkeys(by_name, 0)
    for k, row in enumerate(listed):
        panel = by_name.get(row["panel"])
        if panel is None or int(number(PATH, row, "index")) != k:
            wrong.append(f"row {k + 1}: index {row['index']} of panel {row['panel']}")
            continue
        own = int(number(PATH, row, "panel_index"))
        if own != seen[panel.name]:
            wrong.append(
                f"row {k + 1}: LED {own} of panel {panel.name} comes after {seen[panel.name] - 1}"
            )
        seen[panel.name] += 1
        name = design[panel.name]
        if name not in boards:
            boards[name] = _board(tree, name)
        if not boards[name]:
            continue  # no board files in this tree
        led = boards[name].get(own)
        if led is None:
            wrong.append(f"row {k + 1}: the board of panel {panel.name} has no LED {own}")
            continue
        turn = math.radians(panel.turn_deg)
        x = panel.x + led[0] * math.cos(turn) - led[1] * math.sin(turn)
        y = panel.y + led[0] * math.sin(turn) + led[1] * math.cos(turn)
        if max(abs(x - number(PATH, row, "x_mm")), abs(y - number(PATH, row, "y_mm"))) > NEAR_MM:
            wrong.append(f"LED {own} of panel {panel.name} lies at {x:.3f}, {y:.3f}")
    wrong += [
        f"LEDs of panel {name}: {leds[name]}; listed: {count}"
        for name, count in seen.items()
        if count != leds[name]
    ]
    wrong += _scaled(listed)
    says = "; ".join(wrong[:3]) or "LEDs lie where board and panel put them"
    found = [judge("proof.list-pixels", PATH, at_most(float(len(wrong)), 0.0, "LEDs"), says)]
    return [*found, *([_as_data(tree, listed, by_name)] if DATA in tree else [])]


def _as_data(tree: Tree, listed: Sequence[Row], panels: Mapping[str, WallPanel]) -> Verdict:
    """The verdict on lists/pixels.json: box of the LEDs, and panels with their first LEDs, as in
    the table.
    """
    data, wrong = tree.json(DATA), []
    xs, ys = ([number(PATH, row, key) for row in listed] for key in ("x_mm", "y_mm"))
    # a wall of covers alone has no LEDs
    (x0, x1), (y0, y1) = ((min(all_), max(all_)) if all_ else (0.0, 0.0) for all_ in (xs, ys))
    box = {"x0_mm": x0, "y0_mm": y0, "longer_side_mm": max(x1 - x0, y1 - y0)}
    for key, value in box.items():
        if abs(float(data["scaled"][key]) - value) > 2 * NEAR_MM:
            wrong.append(f"{key} is {data['scaled'][key]}, in the table {value:.3f}")
    first: dict[str, int] = {}
    for k, row in enumerate(listed):
        first.setdefault(row["panel"], k)
    for one in data["panels"]:
        panel = panels[one["panel"]]
        off = math.dist((float(one["x_mm"]), float(one["y_mm"])), (panel.x, panel.y))
        turn = (float(one["turn_deg"]) - panel.turn_deg + 180) % 360 - 180
        if off > 2 * NEAR_MM or abs(turn) > NEAR_MM:
            wrong.append(f"panel {panel.name} lies elsewhere than in lists/panels.csv")
        if panel.name in first and int(one["first"]) != first[panel.name]:
            wrong.append(f"first LED of panel {panel.name} is {one['first']}")
    says = "; ".join(wrong[:3]) or f"box, places and first LEDs are those of {PATH}"
    return judge("proof.list-pixels", DATA, at_most(float(len(wrong)), 0.0, "values"), says)


def _board(tree: Tree, name: str) -> dict[int, tuple[float, float]]:
    """LED places of a design's board by index."""
    found = [
        path for path in (f"board/positions-{name}.csv", "board/positions.csv") if path in tree
    ]
    if not found:
        return {}
    rows = rows_of(tree, found[0], ("kind", "index", "x_mm", "y_mm"))
    return {
        int(row["index"]): (float(row["x_mm"]), float(row["y_mm"]))
        for row in rows
        if row["kind"] == "led"
    }


def _scaled(rows: Sequence[Row]) -> list[str]:
    """Scaled places: 0 at the lower left of the box round all LEDs, 1 at the end of its longer
    side.
    """
    if not rows:
        return []
    xs, ys = ([number(PATH, row, key) for row in rows] for key in ("x_mm", "y_mm"))
    side = max(max(xs) - min(xs), max(ys) - min(ys))
    wrong = []
    for row, x, y in zip(rows, xs, ys, strict=True):
        want = ((x - min(xs)) / side, (y - min(ys)) / side) if side > 0 else (0.0, 0.0)
        if (
            max(abs(want[0] - number(PATH, row, "x")), abs(want[1] - number(PATH, row, "y")))
            > SCALED
        ):
            wrong.append(f"LED {row['index']} is scaled to {row['x']}, {row['y']}")
    return wrong
