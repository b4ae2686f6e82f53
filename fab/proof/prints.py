"""Prints: every mesh is closed, one body, not inside out, not mirrored, as large as its STEP.

A base's or shell's STL is laid on its STEP file by proper turns alone: when only a mirrored one
fits, the hand is wrong.
"""

from __future__ import annotations

import itertools
import math
from typing import Any

from fab.checks.model import Verdict, at_least, at_most, judge
from fab.proof.job import JobValues
from fab.proof.mesh import ReadMesh, read_stl
from fab.proof.step import volume_and_corners
from fab.proof.tree import PRINTED, Tree

# a corner of the solid is a corner of its mesh, but for rounding and what the mesh smooths
CORNER_MM = 0.02
VOLUME_SHARE = 0.002  # chords of round walls


def prove(tree: Tree, job: JobValues) -> list[Verdict]:
    """Verdicts on each print/*.stl, and on model/* of the same name."""
    return [
        verdict
        for path in tree.names("print/", ".stl")
        if (match := PRINTED.fullmatch(path)) is not None
        for verdict in _part(tree, path, f"model/{match[1]}.step")
    ]


def _part(tree: Tree, path: str, model: str) -> list[Verdict]:
    mesh = read_stl(path, tree.read(path))
    found = whole(path, mesh)
    low = abs(float(mesh.corners[:, 2].min()))
    found.append(judge("proof.print-bed", path, at_most(low, 0.001), "lowest point over the bed"))
    if model in tree:
        found += _like_step(path, mesh, *volume_and_corners(model, tree.read(model)))
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
