"""Prints: every mesh is closed, one body, not inside out, not mirrored, as large as its STEP;
plates hold what is counted.

A base's or shell's STL is laid on its STEP file by proper turns alone: when only a mirrored one
fits, the hand is wrong.
"""

from __future__ import annotations

import itertools
import math
import re
from collections import Counter
from typing import Any

from fab.checks.model import Verdict, at_least, at_most, judge
from fab.proof.job import JobValues
from fab.proof.mesh import BedPlate, ReadMesh, read_plate, read_stl
from fab.proof.step import volume_and_corners
from fab.proof.table import rows_of
from fab.proof.tree import Tree

# a corner of the solid is a corner of its mesh, but for rounding and what the mesh smooths
CORNER_MM = 0.02
VOLUME_SHARE = 0.002  # chords of round walls
COUNT = re.compile(r"print/(.+)_x(\d+)\.stl")


def prove(tree: Tree, job: JobValues) -> list[Verdict]:
    """Verdicts on print/* against model/*, names, lists and counts."""
    found: list[Verdict] = []
    meshes: dict[str, ReadMesh] = {}
    named: dict[str, int] = {}
    for path in tree.names("print/", ".stl"):
        match = COUNT.fullmatch(path)
        if match is None:
            continue
        mesh = read_stl(path, tree.read(path))
        meshes[match[1]], named[match[1]] = mesh, int(match[2])
        found += whole(path, mesh)
        found.append(
            judge(
                "proof.print-bed",
                path,
                at_most(abs(float(mesh.corners[:, 2].min())), 0.001),
                "lowest point over the bed",
            )
        )
        model = f"model/{match[1]}.step"
        if model in tree:
            found += _like_step(path, mesh, *volume_and_corners(model, tree.read(model)))
    found += _counts(tree, named)
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


def whole(path: str, mesh: ReadMesh, of: str = "") -> list[Verdict]:
    """Closed, one body, right side out."""
    bad = mesh.bad_edges
    where = f" at x {bad[0][0]:.1f}, y {bad[0][1]:.1f}, z {bad[0][2]:.1f}" if bad else ""
    return [
        judge(
            "proof.print-closed",
            path,
            at_most(float(len(bad)), 0.0, "edges"),
            f"edges{of} that do not join two triangles{where}",
        ),
        judge(
            "proof.print-one",
            path,
            at_most(float(mesh.bodies), 1.0, "bodies"),
            f"pieces of the mesh{of}",
        ),
        judge(
            "proof.print-inside",
            path,
            at_least(mesh.volume_mm3, 1e-3, "mm3"),
            f"volume{of}; negative means inside out",
        ),
    ]


def _like_step(path: str, mesh: ReadMesh, volume: float | None, corners: Any) -> list[Verdict]:
    found = []
    if volume:
        off = abs(mesh.volume_mm3 / volume - 1.0)
        found.append(
            judge(
                "proof.print-volume",
                path,
                at_most(off * 100, VOLUME_SHARE * 100, "%"),
                f"volume {mesh.volume_mm3:.1f} mm3; the STEP file holds {volume:.1f} mm3",
            )
        )
    if _round(mesh, corners) and found:
        return found  # its corners tell no hand; its volume is held
    off, turned = _laid(mesh.corners, corners, mirrored=False)
    says = (
        f"a corner of the STEP file is missing in the mesh, near x {turned[0]:.1f}, y"
        f" {turned[1]:.1f}, z {turned[2]:.1f}"
    )
    if off > CORNER_MM and _laid(mesh.corners, corners, mirrored=True)[0] <= CORNER_MM:
        says = "the mesh is the mirror image of the STEP file"
    found.append(judge("proof.print-hand", path, at_most(off, CORNER_MM), says))
    return found


def _round(mesh: ReadMesh, corners: Any) -> bool:
    """True when a part, a foot for one, is so round that the corners of its STEP file span less
    than the mesh does.
    """
    import numpy as np

    spans = np.sort(corners.max(axis=0) - corners.min(axis=0))
    whole = np.sort(mesh.size)
    return bool(
        (spans <= whole + CORNER_MM).all()
        and (spans[-1] < whole[-1] - 2.0 or spans[1] < whole[1] - 2.0)
    )


def _laid(mesh: Any, corners: Any, *, mirrored: bool) -> tuple[float, tuple[float, float, float]]:
    """The farthest corner of a STEP file from a corner of the mesh, best of all turns by right
    angles; and where.
    """
    import numpy as np
    from scipy.spatial import cKDTree

    tree = cKDTree(mesh)
    low, high = mesh.min(axis=0), mesh.max(axis=0)
    best = (math.inf, (0.0, 0.0, 0.0))
    for order in itertools.permutations(range(3)):
        for signs in itertools.product((1.0, -1.0), repeat=3):
            matrix = np.zeros((3, 3))
            for row, (column, sign) in enumerate(zip(order, signs, strict=True)):
                matrix[row, column] = sign
            if (np.linalg.det(matrix) < 0) != mirrored:
                continue
            turned = corners @ matrix.T
            size = turned.max(axis=0) - turned.min(axis=0)
            if (np.abs(size - (high - low)) > 2.0).any():
                continue
            lifted = turned - [0, 0, turned[:, 2].min() - low[2]]
            middle = (high + low - lifted.max(axis=0) - lifted.min(axis=0)) / 2
            for shift in ((0.0, 0.0, 0.0), (middle[0], middle[1], 0.0)):
                away, _ = tree.query(lifted + shift)
                worst = int(away.argmax())
                if away[worst] < best[0]:
                    x, y, z = (lifted + shift)[worst].tolist()
                    best = (float(away[worst]), (x, y, z))
                if best[0] <= CORNER_MM:
                    return best
    return best


def _counts(tree: Tree, named: dict[str, int]) -> list[Verdict]:
    """Counts in names against manifest and list of parts."""
    found = []
    for entry in tree.json("manifest.json")["files"]:
        match = COUNT.fullmatch(str(entry["path"]))
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
