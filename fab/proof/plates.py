"""Plates: they hold what is counted, whole and as large as its STL, on the bed, apart and upright;
the counts of prints in names, lists and the manifest agree.
"""

from __future__ import annotations

import math
from collections import Counter

from fab.checks.model import Verdict, at_most, judge
from fab.proof.job import JobValues
from fab.proof.mesh import BedPlate, ReadMesh, read_plate, read_stl
from fab.proof.prints import whole
from fab.proof.table import rows_of
from fab.proof.tree import PRINTED, Tree


def prove(tree: Tree, job: JobValues) -> list[Verdict]:
    """Verdicts on print/plate-* against print/*.stl, names, lists and counts."""
    meshes: dict[str, ReadMesh] = {}
    named: dict[str, int] = {}
    for path in tree.names("print/", ".stl"):
        match = PRINTED.fullmatch(path)
        if match is not None:
            meshes[match[1]], named[match[1]] = read_stl(path, tree.read(path)), int(match[2])
    found = _counts(tree, named)
    plates: dict[bytes, BedPlate] = {}
    placed: Counter[str] = Counter()
    for path in tree.names("print/plate-", ".3mf"):
        data = tree.read(path)
        first = data not in plates
        plate = plates[data] if not first else read_plate(path, data)
        plates[data] = plate
        placed += Counter(name for name, _ in plate.copies)
        if first:
            found += _on_plate(path, plate, meshes, job)
    if plates and named:
        wrong = {
            name: placed[name] - named.get(name, 0)
            for name in {*placed, *named}
            if placed[name] != named.get(name, 0)
        }
        says = "; ".join(
            f"{name}: {placed[name]} on the plates, {named.get(name, 0)} in the file's name"
            for name in sorted(wrong)
        )
        found.append(
            judge(
                "proof.print-count",
                "print/plate-*.3mf",
                at_most(float(sum(map(abs, wrong.values()))), 0.0, "copies"),
                says or "copies on all plates agree with the names of the files",
            )
        )
    return found


def _counts(tree: Tree, named: dict[str, int]) -> list[Verdict]:
    """Counts in names against manifest and list of parts."""
    found = []
    for entry in tree.json("manifest.json")["files"]:
        match = PRINTED.fullmatch(str(entry["path"]))
        if match and int(match[2]) != entry["count"]:
            found.append(
                judge(
                    "proof.print-count",
                    str(entry["path"]),
                    at_most(float(abs(int(match[2]) - entry["count"])), 0.0, "copies"),
                    f"the manifest counts {entry['count']}",
                )
            )
    if "lists/parts.csv" in tree and named:
        listed = {
            row["item"]: int(row["count"])
            for row in rows_of(tree, "lists/parts.csv", ("item", "count", "source"))
            if row["source"] == "print"
        }
        wrong = {name for name in {*listed, *named} if listed.get(name) != named.get(name)}
        says = "; ".join(
            f"{name}: {listed.get(name, 0)} listed, {named.get(name, 0)} in the file's name"
            for name in sorted(wrong)
        )
        found.append(
            judge(
                "proof.print-count",
                "lists/parts.csv",
                at_most(float(len(wrong)), 0.0, "parts"),
                says or "counts of printed parts agree with the files",
            )
        )
    return found


def _on_plate(
    path: str, plate: BedPlate, meshes: dict[str, ReadMesh], job: JobValues
) -> list[Verdict]:
    import numpy as np
    import shapely

    found: list[Verdict] = []
    for name, mesh in plate.objects.items():
        if not mesh.bad_edges and mesh.bodies == 1 and mesh.volume_mm3 > 0:
            own = meshes.get(name)
            off = abs(mesh.volume_mm3 / own.volume_mm3 - 1.0) * 100 if own is not None else 0.0
            off = max(off, float(np.abs(mesh.size - own.size).max())) if own is not None else off
            found.append(
                judge(
                    "proof.plate-object",
                    path,
                    at_most(off, 0.05, "% or mm"),
                    f"volume or size of {name} against its STL",
                )
            )
        else:
            found += whole(path, mesh, f" of {name}")
    bed, margin = job.shop.at("printer.bed"), float(job.shop.at("printer.bed_margin", 0.0))
    feet, worst, low, hand = [], -math.inf, 0.0, 0.0
    where = ""
    for name, matrix in plate.copies:
        mesh = plate.objects[name]
        placed = mesh.corners @ matrix[:3] + matrix[3]
        hand = max(hand, abs(float(np.linalg.det(matrix[:3])) - 1.0))
        low = max(low, abs(float(placed[:, 2].min())))
        hull = shapely.MultiPoint(placed[:, :2]).convex_hull
        x0, y0, x1, y1 = hull.bounds
        out = max(margin - x0, margin - y0, x1 - bed[0] + margin, y1 - bed[1] + margin)
        if out > worst:
            worst, where = out, f"{name} at x {hull.centroid.x:.0f}, y {hull.centroid.y:.0f}"
        feet.append((name, hull))
    index = shapely.STRtree([hull for _, hull in feet])
    over, both = 0.0, ""
    for k, (name, hull) in enumerate(feet):
        for other in index.query(hull, predicate="intersects"):
            if other > k and (area := hull.intersection(feet[other][1]).area) > over:
                over, both = (
                    area,
                    (
                        f"{name} and {feet[other][0]} at x {hull.centroid.x:.0f}, y"
                        f" {hull.centroid.y:.0f}"
                    ),
                )
    return [
        *found,
        judge(
            "proof.plate-bed",
            path,
            at_most(max(worst, 0.0), 0.01),
            (
                f"an object reaches over the bed's margin: {where}"
                if worst > 0.01
                else "objects keep the bed's margin"
            ),
        ),
        judge(
            "proof.plate-apart",
            path,
            at_most(over, 1e-3, "mm2"),
            f"objects overlap: {both}" if both else "objects stand apart",
        ),
        judge(
            "proof.plate-upright",
            path,
            at_most(max(low, hand), 1e-3),
            "objects stand on the bed, turned but neither scaled nor mirrored",
        ),
    ]
