"""Values that every format is written from, and a second process to compare bytes with."""

import hashlib
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from fab.outlines.contour import circle
from fab.outlines.drawing import Drawing, Layer
from fab.outlines.shapes import keyhole, rectangle, regular, slot
from fab.outlines.strokes import strokes

ROOT = Path(__file__).parents[2]


def sheet() -> Drawing:
    """A mark, holes of three kinds, two parts with round corners and one sharp one."""
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


@pytest.fixture
def drawing() -> Drawing:
    return sheet()


def ring() -> Any:
    """A closed ring of known volume pi (10^2 - 6^2) 4, faceted with 64 chords by our own hands."""
    import numpy as np

    from fab.solids.mesh import Mesh

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


@pytest.fixture
def ring_mesh() -> Any:
    return ring()


@pytest.fixture
def other_process() -> Any:
    """Runs code that calls `out(bytes)` in a new process with another hash seed and time zone;
    gives the sha256.
    """
    begin = (
        "import runpy, sys\n"
        f"here = runpy.run_path({str(Path(__file__))!r})\n"
        "sheet, ring, out = here['sheet'], here['ring'], sys.stdout.buffer.write\n"
    )

    def run(code: str) -> str:
        done = subprocess.run(
            [sys.executable, "-c", begin + code],
            env={
                **os.environ,
                "PYTHONHASHSEED": "4711",
                "PYTHONPATH": str(ROOT),
                "TZ": "Asia/Tokyo",
            },
            capture_output=True,
            check=True,
        )
        return hashlib.sha256(done.stdout).hexdigest()

    return run


@pytest.fixture
def sha() -> Any:
    return lambda data: hashlib.sha256(data).hexdigest()
