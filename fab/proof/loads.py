"""Weights from meshes and densities, and forces on the screws from holes.csv by elementary statics.

A rigid wall of weight W on n screws that give alike, each pushing up: F_i = W / n + W a (x_i - m) /
S with m the mean of the x, a the distance of the centre of mass from m, and S the sum of (x_i -
m)^2. A yielding wall loads some screw more, none more than W. Out of the wall the body turns about
its lowest line: T_i = W z h_i / sum of h^2.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import Any

from fab.checks.model import Verdict, at_least, at_most, judge
from fab.proof.holes import HOLES
from fab.proof.job import JobValues, WallPanel, edges_of, regular
from fab.proof.mesh import read_stl
from fab.proof.page import PAGE, read_page
from fab.proof.table import panels_of, rows_of
from fab.proof.tree import Tree

G = 9.80665  # m/s2, standard gravity
# What is bought, g: as in every list of this wall from memory; they are small beside what is
# printed and cut.
FR4_G_CM3, LED_G, CONTROLLER_G, SOCKET_G, HEADER_G, SCREW_G, GLUE_G = (
    1.85,
    0.1,
    6.0,
    0.5,
    1.0,
    0.7,
    1.0,
)
LEAST_FILL = 0.3  # of a part's solid: walls, skins and the thinnest infill of a print
NEAR = 0.12  # share by which weights may differ: prints are estimates
PARTS = "lists/parts.csv"


def prove(tree: Tree, job: JobValues) -> list[Verdict]:
    """Verdicts on weights and loads of list and manifest."""
    if PARTS not in tree:
        return []
    found, grams = _weights(tree, job)
    if HOLES not in tree or "lists/panels.csv" not in tree:
        return found
    panels = panels_of(tree, job)
    rigid, total = rigid_loads(tree, job, panels, grams)
    check = next(
        (
            one
            for one in tree.json("manifest.json").get("checks", [])
            if one["id"] == "hang.screw-load"
        ),
        None,
    )
    carried = (
        re.search(r"carries ([\d.]+) N along and ([\d.]+) N out", check["says"]) if check else None
    )
    if check and carried:
        found += _said(
            "proof.load-screw",
            "manifest.json, check hang.screw-load",
            float(carried[1]),
            rigid.get(check["subject"].removeprefix("screw "), 0.0),
            total,
        )
        wall = job.shop.values["wall"][job.at("hang.wall")]
        share = (
            job.at("hang.factor")
            * (float(carried[1]) / wall["shear_n"] + float(carried[2]) / wall["pull_n"])
            * 100
        )
        off = abs(share - float(check["measured"]))
        least = job.at("hang.factor") * max(rigid.values()) / wall["shear_n"] * 100
        found.append(
            judge(
                "proof.load-most",
                "manifest.json, check hang.screw-load",
                at_least(float(check["measured"]), least * (1 - NEAR), "%"),
                "no screw of a rigid wall uses more of its limit than the one that the check names",
                source="elementary statics",
            )
        )
        coarse = job.at("hang.factor") * 0.05 * (1 / wall["shear_n"] + 1 / wall["pull_n"]) * 100
        found.append(
            judge(
                "proof.load-share",
                "manifest.json, check hang.screw-load",
                at_most(off, coarse + 0.01, "%"),
                f"share of the screw's limit; its forces make {share:.1f} %",
            )
        )
    return found


def in_book(tree: Tree, job: JobValues) -> list[Verdict]:
    """Verdicts on the weight and the load that the book prints."""
    if PARTS not in tree or HOLES not in tree or "lists/panels.csv" not in tree:
        return []
    _, grams = _weights(tree, job)
    rigid, total = rigid_loads(tree, job, panels_of(tree, job), grams)
    found: list[Verdict] = []
    book = read_page(tree)
    said = re.search(r"([\d.]+) kg", book.facts.get("Weight", ""))
    if said:
        off = abs(float(said[1]) * 1000 / grams - 1)
        found.append(
            judge(
                "proof.book-weight",
                PAGE,
                at_most(off * 100, NEAR * 100, "%"),
                f"the book says {said[1]} kg, meshes and lists make {grams / 1000:.2f} kg",
            )
        )
    loads = next(
        (
            re.search(r"([\d.]+) N along the wall, ([\d.]+) N out", text)
            for name, text in book.facts.items()
            if "load on a screw" in name.lower()
        ),
        None,
    )
    if loads:
        named = re.search(r"\(panel (.*)\)$", loads.string.strip())
        load = rigid.get(named[1], 0.0) if named else max(rigid.values())
        found += _said("proof.book-load", PAGE, float(loads[1]), load, total)
        found += _like_check(tree, float(loads[1]))
    return found


def _weights(tree: Tree, job: JobValues) -> tuple[list[Verdict], float]:
    """Grams of each line against its mesh or sheet; and of the whole wall."""
    found, total = [], 0.0
    density = float(job.shop.at("filament.density"))
    rows = rows_of(tree, PARTS, ("item", "part", "design", "count", "source", "each_g", "total_g"))
    worst, where = 0.0, ""
    for row in rows:
        count = int(row["count"])
        if row["source"] == "print" and row["each_g"]:
            total += float(row["each_g"]) * count
            path = next(iter(tree.names(f"print/{row['item']}_x", ".stl")), "")
            if not path:
                continue
            solid = read_stl(path, tree.read(path)).volume_mm3 / 1000 * density
            fill = float(row["each_g"]) / solid
            off = max(fill - 1.01, LEAST_FILL - fill, 0.0)
            if off > worst:
                worst, where = off, f": {row['item']}, {row['each_g']} g of {solid:.1f} g solid"
        elif row["source"] == "cut" and row["each_g"]:
            total += float(row["each_g"]) * count
            design = job.design(row["design"])
            stock = job.shop.at("stock")[design.at("diffuser.stock")]
            sides, apothem, radius = design.nominal_sheet(job.shop)
            points = regular(sides, apothem, radius)
            area = _area(points)
            grams = area * stock["thickness"] / 1000 * stock["density"]
            off = float(row["each_g"]) / grams - 1  # a stencil weighs less
            if off > 0.005 or off < (-0.9 if job.at("art") or design.at("art") else -0.005):
                worst, where = (
                    max(worst, abs(off)),
                    f": {row['item']}, {row['each_g']} g; the sheet part weighs {grams:.2f} g",
                )
    found.append(
        judge(
            "proof.load-grams",
            PARTS,
            at_most(worst, 0.0, ""),
            (
                f"grams do not follow from volume and density{where}"
                if where
                else "grams follow from volumes and densities"
            ),
        )
    )
    for row in rows:
        count = int(row["count"])
        if row["part"] == "board":
            design = job.design(row["design"] or "panel")
            leds = int(next(iter(re.findall(r"(\d+) LEDs each", row.get("note", ""))), "0"))
            flat = (
                math.pi * design.apothem**2 * 0.95 * design.at("board.thickness") / 1000 * FR4_G_CM3
            )
            total += count * (flat + CONTROLLER_G + LED_G * leds)
        total += count * {
            "socket": SOCKET_G,
            "header": HEADER_G,
            "screw": SCREW_G,
            "glue": GLUE_G,
        }.get(
            (
                row["item"].split(",")[0]
                if row["part"] == "header"
                else "screw"
                if row["item"].startswith("screw")
                else row["part"]
            ),
            0.0,
        )
    return found, total


def _area(points: Sequence[tuple[float, float]]) -> float:
    return (
        abs(
            sum(
                a[0] * b[1] - b[0] * a[1]
                for a, b in zip(points, [*points[1:], points[0]], strict=True)
            )
        )
        / 2
    )


def rigid_loads(
    tree: Tree, job: JobValues, panels: Sequence[WallPanel], grams: float
) -> tuple[dict[str, float], float]:
    """The force along the wall on each screw of a rigid wall, by its panel, and the weight of the
    heaviest group, N.
    """
    rows = {
        row["panel"]: (float(row["x_mm"]), float(row["y_mm"]))
        for row in rows_of(tree, HOLES, ("panel", "x_mm", "y_mm"))
    }
    links: dict[str, list[str]] = {panel.name: [] for panel in panels}
    for a, _, b, _ in edges_of(panels).joints:
        links[a].append(b)
        links[b].append(a)
    by_name = {panel.name: panel for panel in panels}
    weights = {
        panel.name: panel.apothem**2 * panel.sides * math.tan(math.pi / panel.sides)
        for panel in panels
    }
    scale = grams / 1000 * G / sum(weights.values())
    datum = next(iter(rows))
    # a keyhole rests on the line up through its panel's centre, so x of datum is known
    shift = by_name[datum].x
    seen: set[str] = set()
    found: dict[str, float] = {}
    heaviest = 0.0
    for first in by_name:
        if first in seen:
            continue
        group, stack = {first}, [first]
        while stack:
            for other in links[stack.pop()]:
                if other not in group:
                    group.add(other)
                    stack.append(other)
        seen |= group
        weight = sum(weights[name] for name in group) * scale
        centre = sum(weights[name] * scale * by_name[name].x for name in group) / weight
        hung = [name for name in sorted(group) if name in rows]
        heaviest = max(heaviest, weight)
        if hung:
            xs = [rows[name][0] + shift for name in hung]
            found.update(zip(hung, _up(xs, weight, centre), strict=True))
    return found, heaviest


def _up(xs: Sequence[float], weight: float, centre: float) -> list[float]:
    mean = sum(xs) / len(xs)
    spread = sum((x - mean) ** 2 for x in xs)
    if spread < 1e-6:
        return [weight / len(xs)] * len(xs)
    return [weight / len(xs) + weight * (centre - mean) * (x - mean) / spread for x in xs]


def _said(check: str, where: str, said: float, rigid: float, weight: float) -> list[Verdict]:
    return [
        judge(
            check,
            where,
            at_least(said, rigid * (1 - NEAR) - 0.05, "N"),
            f"load along the wall; statics of a rigid wall make {rigid:.1f} N at least",
            source="elementary statics",
        ),
        judge(
            check,
            where,
            at_most(said, weight * (1 + NEAR) + 0.05, "N"),
            "load along the wall; no screw carries more than the wall weighs",
            source="elementary statics",
        ),
    ]


def _like_check(tree: Tree, said: float) -> list[Verdict]:
    """The book prints the load that the check used."""
    check: Any = next(
        (
            one
            for one in tree.json("manifest.json").get("checks", [])
            if one["id"] == "hang.screw-load"
        ),
        None,
    )
    carried = re.search(r"carries ([\d.]+) N along", check["says"]) if check else None
    if not carried:
        return []
    return [
        judge(
            "proof.book-check",
            PAGE,
            at_most(abs(float(carried[1]) - said), 0.051, "N"),
            f"the book prints {said} N, the check hang.screw-load used {carried[1]} N",
        )
    ]
