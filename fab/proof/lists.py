"""Lists and counts, worked out anew from where the panels are: names, places, turns, joints, caps, clips, screws, LEDs."""

from __future__ import annotations

import math
import re
import tomllib
from collections import Counter
from collections.abc import Iterable
from typing import Any

from fab.checks.model import Verdict, at_most
from fab.proof import netlist, pixels
from fab.proof.drawn import drawn_panels
from fab.proof.job import Edges, JobValues, Placed, cells_of, edges_of
from fab.proof.mesh import read_stl, section
from fab.proof.table import Row, number, panels_of, rows_of, truth
from fab.proof.tree import Tree, Unreadable

PANELS, JOINTS, PARTS = "lists/panels.csv", "lists/joints.csv", "lists/parts.csv"
PIXELS = "lists/pixels.csv"
PLACE_MM = 0.0011  # lists have three decimals
SUPPLY = ("full", "header")  # kinds of joint that pass supply on
HEADERS = ("full", "header", "no-supply", "header without supply")


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
    found = [*_values(tree, job), *_places(panels, job), *_rows(tree, rows, panels, edges, job)]
    found += _joints(tree, panels, edges)
    found += _counts(tree, rows, panels, edges, job)
    found += _screws(tree, rows, job)
    if PIXELS in tree:
        found += pixels.prove(tree, rows, panels)
    found += netlist.prove(tree, rows)
    return found


def same(check: str, path: str, wrong: Iterable[str], good: str, unit: str = "places") -> Verdict:
    """Fails with the first of what is wrong."""
    told = list(wrong)
    more = f" and {len(told) - 3} more" if len(told) > 3 else ""
    return at_most(
        check, path, float(len(told)), 0.0, unit, "; ".join(told[:3]) + more if told else good
    )


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
    return bool(one == other)


def _flat(value: Any, at: str = "") -> Iterable[tuple[str, Any]]:
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from _flat(inner, f"{at}.{name}" if at else str(name))
    else:
        yield (
            at,
            [list(v) if isinstance(v, tuple) else v for v in value]
            if isinstance(value, list | tuple)
            else value,
        )


def _places(panels: list[Placed], job: JobValues) -> list[Verdict]:
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
                f"panel {panel.name} stands at {panel.x:g}, {panel.y:g} turned by {panel.turn_deg:g}; the job says {near.x:.3f}, {near.y:.3f} turned by {near.turn_deg:g}"
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
            f"{len(panels)} panels stand where the job puts them",
            "panels",
        )
    ]


def _reading(panels: list[Placed]) -> list[Placed]:
    """Rows from above, each from the left."""
    rows: list[list[Placed]] = []
    step = 0.25 * min(panel.apothem for panel in panels)
    for panel in sorted(panels, key=lambda one: -one.y):
        if rows and rows[-1][0].y - panel.y < step:
            rows[-1].append(panel)
        else:
            rows.append([panel])
    return [panel for row in rows for panel in sorted(row, key=lambda one: one.x)]


def _letters(k: int) -> str:
    return chr(65 + k) if k < 26 else _letters(k // 26 - 1) + chr(65 + k % 26)


def _rows(
    tree: Tree, rows: list[Row], panels: list[Placed], edges: Edges, job: JobValues
) -> list[Verdict]:
    """Neighbours, open edges, LEDs, inlets and bases of each panel."""
    wrong: list[str] = []
    beside: dict[str, set[str]] = {panel.name: set() for panel in panels}
    free: dict[str, set[str]] = {panel.name: set() for panel in panels}
    for a, i, b, k in edges.joints:
        beside[a].add(f"{i}:{b}/{k}")
        beside[b].add(f"{k}:{a}/{i}")
    for name, edge in edges.free:
        free[name].add(str(edge))
    leds = dict(_leds(tree, job).items())
    first = 0
    for row in rows:
        name = row["name"]
        if set(row["neighbours"].split()) != beside[name]:
            wrong.append(
                f"neighbours of panel {name} are {' '.join(sorted(beside[name]))}, not {row['neighbours']}"
            )
        if set(row["open_edges"].split()) != free[name]:
            wrong.append(
                f"open edges of panel {name} are {' '.join(sorted(free[name]))}, not {row['open_edges']}"
            )
        count = int(row["leds"])
        if leds.get(row["design"], count) != count:
            wrong.append(
                f"panel {name} has {leds[row['design']]} LEDs by board/positions.csv, not {count}"
            )
        if "first_led" in row and int(row["first_led"]) != first:
            wrong.append(f"the first LED of panel {name} is {first}, not {row['first_led']}")
        first += count
        inlet = truth(row.get("inlet", "no"))
        if inlet and row["inlet_edge"] not in free[name]:
            wrong.append(
                f"the inlet of panel {name} leaves by edge {row['inlet_edge']}, which is not open"
            )
        if inlet != ("inlet" in row["base"].split("-")):
            wrong.append(
                f"panel {name} {'has' if inlet else 'has no'} inlet, its base is {row['base']}"
            )
        if inlet and row["base_turn_edges"] != row["inlet_edge"]:
            wrong.append(
                f"the base of panel {name} is turned by {row['base_turn_edges']} edges, its inlet leaves by edge {row['inlet_edge']}"
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
            wrong.append(f"it has {len(told)} panels, panels.csv {len(rows)}")
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


def _joints(tree: Tree, panels: list[Placed], edges: Edges) -> list[Verdict]:
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
            f"{len(there)} joints, as the places make them",
            "joints",
        )
    ]


def _counts(
    tree: Tree, rows: list[Row], panels: list[Placed], edges: Edges, job: JobValues
) -> list[Verdict]:
    """The manifest's counts and the list of parts against the places."""
    blank = {
        panel.name
        for panel in panels
        if job.design(panel.design).at("board.none", False)
        or job.design(panel.design).at("board.fitted", True) is False
    }
    inlets = sum(1 for row in rows if truth(row.get("inlet", "no")))
    caps = sum(1 for name, _ in edges.free if name not in blank)
    if not job.design("panel").at("base.feet", 0.0):  # else the plug comes in by the floor
        caps -= inlets
    caps += sum(
        (a in blank and b not in blank) + (b in blank and a not in blank)
        for a, _, b, _ in edges.joints
    )
    kinds = (
        Counter(row["kind"] for row in rows_of(tree, JOINTS, ("kind",)))
        if JOINTS in tree
        else Counter()
    )
    closed = _closed_on_the_wall(tree)
    headers = sum(kinds[word] for word in HEADERS)
    per_edge = int(job.design("panel").at("clips_per_edge", 2))
    wanted: dict[str, Any] = {
        "panels": len(panels), "joints": len(edges.joints), "open_edges": len(edges.free), "inlets": inlets,
        "caps": caps, "clips": per_edge * (len(edges.joints) - closed), "diffusers": len(panels), "shells": len(panels),
        "hangers": sum(1 for row in rows if truth(row.get("hanger", "no"))),
        "bases": dict(Counter(row["base"] if row["design"] == "panel" else f"{row['design']}-{row['base']}" for row in rows)),
    }  # fmt: skip
    if kinds:
        wanted |= {"headers": headers, "jumpers": kinds["jumper"]}
    if tree.names("cut/sheet-", ".dxf"):
        wanted["sheets"] = len(tree.names("cut/sheet-", ".dxf"))
    if tree.names("print/plate-", ".3mf"):
        wanted["plates"] = len(tree.names("print/plate-", ".3mf"))
    counts = tree.json("manifest.json")["counts"]
    wrong = [
        f"{key} is {counts.get(key)}, not {value}"
        for key, value in wanted.items()
        if counts.get(key) != value
    ]
    found = [
        same(
            "proof.counts",
            "manifest.json",
            wrong,
            "counts follow from the places of the panels",
            "counts",
        )
    ]
    if PARTS in tree:
        found.append(_parts(tree, rows, wanted, kinds, job))
    return found


def _closed_on_the_wall(tree: Tree) -> int:
    """Joints that close on the wall and so get no clips, by the manifest."""
    return len(tree.json("manifest.json").get("without", {}).get("clips", ()))


def _parts(
    tree: Tree, rows: list[Row], wanted: dict[str, Any], kinds: Counter[str], job: JobValues
) -> Verdict:
    """Sums of the list of parts, by what a part is."""
    lines = rows_of(tree, PARTS, ("item", "part", "count", "source"))
    sums: Counter[str] = Counter()
    for line in lines:
        sums[line["part"]] += int(line["count"])
    boards = sum(1 for row in rows if int(row["leds"]) > 0)
    expected = {
        "base": len(rows), "shell": wanted["shells"], "clip": wanted["clips"], "cap": wanted["caps"], "board": boards,
        "inlet": wanted["inlets"], "supply": wanted["inlets"], "cable": wanted["inlets"], "header": wanted.get("headers", sums["header"]),
        "glue": wanted["diffusers"], "hanger": 2 * wanted["hangers"],
    }  # fmt: skip
    wrong = [
        f"{part}: {sums[part]} in all, not {count}"
        for part, count in expected.items()
        if sums[part] != count
    ]
    if kinds:
        full = sum(
            int(line["count"])
            for line in lines
            if line["part"] == "header"
            and "pulled" not in line["item"]
            and "without" not in line["item"]
        )
        if full != sum(kinds[word] for word in SUPPLY):
            wrong.append(
                f"headers with all pins: {full}, not {sum(kinds[word] for word in SUPPLY)}"
            )
    made = {str(entry["path"]) for entry in tree.json("manifest.json")["files"]}
    sheets = Counter(entry["stock"] for entry in tree.json("manifest.json").get("nest", []))
    for line in lines:
        if (
            line["part"] == "sheet"
            and int(line["count"]) > sheets[line["item"].removeprefix("sheet ")]
        ):
            wrong.append(
                f"{line['item']}: {line['count']}, the nest has {sheets[line['item'].removeprefix('sheet ')]}"
            )
        told = re.search(r"(\d+) LEDs each, (\d+) in all", line.get("note", ""))
        if told and int(told[2]) != int(told[1]) * int(line["count"]):
            wrong.append(
                f"{line['item']}: {line['count']} boards of {told[1]} LEDs are not {told[2]}"
            )
        if (
            line.get("file")
            and line["file"].split("/")[0] in {path.split("/")[0] for path in made}
            and line["file"] not in made
        ):
            wrong.append(f"{line['item']}: its file {line['file']} is missing")
        if line.get("each_g") and line.get("total_g"):
            off = abs(float(line["each_g"]) * int(line["count"]) - float(line["total_g"]))
            if off > 0.005 * int(line["count"]) + 0.051:
                wrong.append(
                    f"{line['item']}: {line['count']} x {line['each_g']} g are not {line['total_g']} g"
                )
    return same(
        "proof.list-parts",
        PARTS,
        wrong,
        "counts of parts follow from the places of the panels",
        "lines",
    )


def _screws(tree: Tree, rows: list[Row], job: JobValues) -> list[Verdict]:
    """Screws that the list counts against the holes in the meshes of the bases."""
    if PARTS not in tree or not tree.names("print/base", ".stl"):
        return []
    shell = board = 0
    for path in tree.names("print/base", ".stl"):
        count = int(path.rpartition("_x")[2].removesuffix(".stl"))
        design = job.design(
            next(
                (name for name in job.at("designs", {}) if path.startswith(f"print/base-{name}-")),
                "panel",
            )
        )
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
        wrong.append(f"screws for shells: {listed['shell']} listed, {shell} holes in the bases")
    boards = sum(1 for row in rows if int(row["leds"]) > 0)
    if not 2 * boards <= listed["board"] <= max(board, 0) or (
        boards and not job.at("designs", {}) and listed["board"] % boards
    ):
        wrong.append(
            f"screws for boards: {listed['board']} listed for {boards} boards, {board} holes in the bases"
        )
    return [
        same(
            "proof.list-screws",
            PARTS,
            wrong,
            f"{shell} screws for shells and up to {board} for boards have their holes",
            "lines",
        )
    ]


def _round_holes(mesh: Any, design: JobValues) -> tuple[int, int]:
    """Holes of a base that a board's screw and a shell's screw go into."""
    from fab.proof.mesh import holes_of

    wide = (
        design.at("insert_d")
        if design.at("base.board_fixing") == "insert"
        else design.at("pilot_d")
    )
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
    return rings(low + floor + (top - low - floor) * 0.3, wide - 0.2, wide + 0.2), shell
