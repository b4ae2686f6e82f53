"""The manifest's counts and the list of parts, counted anew from the places of the panels."""

from __future__ import annotations

import re
from collections import Counter
from typing import Any

from fab.checks.model import Verdict
from fab.proof.differences import HEADERS, JOINTS, PARTS, SUPPLY, same
from fab.proof.job import Edges, JobValues, WallPanel
from fab.proof.table import Row, rows_of, truth
from fab.proof.tree import Tree, sheet_and_times


def counts(
    tree: Tree, rows: list[Row], panels: list[WallPanel], edges: Edges, job: JobValues
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
    per_edge = int(job.design("panel").at("clips_per_edge"))
    wanted: dict[str, Any] = {
        "panels": len(panels),
        "joints": len(edges.joints),
        "open_edges": len(edges.free),
        "inlets": inlets,
        "caps": caps,
        "clips": per_edge * (len(edges.joints) - closed),
        "diffusers": len(panels),
        "shells": len(panels),
        "hangers": sum(1 for row in rows if truth(row.get("hanger", "no"))),
        "bases": dict(
            Counter(
                row["base"] if row["design"] == "panel" else f"{row['design']}-{row['base']}"
                for row in rows
            )
        ),
    }
    if kinds:
        wanted |= {"headers": headers, "jumpers": kinds["jumper"]}
    if tree.names("cut/sheet-", ".dxf"):
        stems = [path[4:-4] for path in tree.names("cut/sheet-", ".dxf")]
        wanted["sheets"] = sum(sheet_and_times(stem)[1] for stem in stems)
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
        "base": len(rows),
        "shell": wanted["shells"],
        "clip": wanted["clips"],
        "cap": wanted["caps"],
        "board": boards,
        "inlet": wanted["inlets"],
        "clamp": wanted["inlets"] - sums["tie"],  # a tie holds a cable, a screw a small board
        "supply": wanted["inlets"],
        "cable": wanted["inlets"],
        "header": wanted.get("headers", sums["header"]),
        "glue": wanted["diffusers"],
        "hanger": 2 * wanted["hangers"],
    }
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
    sheets: Counter[str] = Counter()
    for entry in tree.json("manifest.json").get("nest", []):
        sheets[entry["stock"]] += int(entry.get("times", 1))
    for line in lines:
        if (
            line["part"] == "sheet"
            and int(line["count"]) > sheets[line["item"].removeprefix("sheet ")]
        ):
            wrong.append(
                f"{line['item']}: {line['count']}, the nest has"
                f" {sheets[line['item'].removeprefix('sheet ')]}"
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
                    f"{line['item']}: {line['count']} x {line['each_g']} g are not"
                    f" {line['total_g']} g"
                )
    return same(
        "proof.list-parts",
        PARTS,
        wrong,
        "counts of parts follow from the places of the panels",
        "lines",
    )
