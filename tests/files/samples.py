"""Values that every format is written from, and the files that are made of them.

Run as a program it prints the hash of each file: another process must make the same bytes.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from functools import cache

import numpy as np

from fab.files.dxf import dxf
from fab.files.pdf import pdf
from fab.files.stl import stl
from fab.files.svg import svg
from fab.files.threemf import Item3mf, Object3mf, threemf
from fab.outlines import page
from fab.outlines.contour import circle
from fab.outlines.drawing import Drawing, Layer
from fab.outlines.shapes import keyhole, rectangle, regular, slot
from fab.outlines.strokes import strokes
from fab.solids.mesh import Mesh


def sheet() -> Drawing:
    """A mark, holes of three kinds, two parts with round corners and one with sharp ones."""
    marks = strokes("hex 3.0", 5, "middle", (60, 50))
    holes = (
        circle((60, 35), 4),
        slot((40, 62), (80, 62), 3),
        keyhole((150, 40), (150, 55), 9, 4.6),
    )
    parts = (
        regular(6, 40, 4).moved(60, 50),
        rectangle(50, 80, (150, 50), 5),
        regular(3, 8).turned(0.3).moved(190, 20),
    )
    layers = (
        Layer("MARK", "#009e73", 3, (), marks),
        Layer("CUT-INNER", "#0072b2", 5, holes),
        Layer("CUT-OUTER", "#d55e00", 1, parts),
    )
    return Drawing(
        210.0, 100.0, layers, "sheet <1> & \u2300", ("kerf 0.18 mm applied", "seen from the front")
    )


def ring() -> Mesh:
    """A closed ring of known volume pi (10^2 - 6^2) 4, faceted with 64 chords by our own hands."""
    n = 64
    angles = np.arange(n) * 2 * np.pi / n
    rim = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    layers = [
        np.column_stack([rim * r, np.full(n, z)]) for r, z in ((10, 0), (10, 4), (6, 4), (6, 0))
    ]
    faces = []
    for k in range(4):
        for i in range(n):
            a, b = k * n + i, k * n + (i + 1) % n
            c, d = (k + 1) % 4 * n + i, (k + 1) % 4 * n + (i + 1) % n
            faces += [(a, b, d), (a, d, c)]
    return Mesh(np.vstack(layers), np.array(faces, dtype=np.int32))


def words_and_hexagon() -> page.Page:
    """A page with a round-cornered hexagon and a bold word of two scripts."""
    hexagon = page.ring(regular(6, 50, 5).moved(100, 100))
    return page.Page(210, 297, (hexagon, page.Text(50, 50, "A\u2191", 5, bold=True)), "p")


FILES: dict[str, Callable[[], bytes]] = {
    "sheet.R2000.dxf": lambda: dxf(sheet(), version="R2000"),
    "sheet.R12.dxf": lambda: dxf(sheet(), version="R12"),
    "sheet.svg": lambda: svg(sheet(), line_mm=0.1),
    "page.pdf": lambda: pdf([words_and_hexagon()], "t"),
    "ring.stl": lambda: stl(ring(), "ring"),
    "ring.3mf": lambda: threemf([Object3mf("ring", ring())], [Item3mf(0, 1 / 3, 2, 45)], "t"),
}


@cache
def written(name: str) -> bytes:
    """Return one of the files, made once a run: tests spoil copies of it."""
    return FILES[name]()


def hashes() -> dict[str, str]:
    """Return the sha256 of each file, made anew."""
    return {name: hashlib.sha256(made()).hexdigest() for name, made in FILES.items()}


if __name__ == "__main__":
    print(json.dumps(hashes()))
