"""Keyholes aside of the middle in the files of a build: hole table, template and bases tell the
same places. Read with ezdxf, csv and the proof's own mesh reader.
"""

from __future__ import annotations

import csv
import io
import math
import tomllib
from pathlib import Path

import pytest
from ezdxf.filemanagement import readfile

from fab.params.new_job import draft
from fab.params.read import load
from fab.proof.job import JobValues
from fab.proof.keyholes import hangs
from fab.proof.tree import tree_at
from fab.workshop import build

CELLS = [(0, 0), (1, 0), (2, 0), (0, 1)]


@pytest.mark.slow
@pytest.mark.kernel
def test_holes_template_and_bases_agree_where_keyholes_stand_aside(tmp_path: Path) -> None:
    for name, data in draft("aside", "hexagon", CELLS, "metric-bench").items():
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    studs = ["hang.studs=[-25, 275]", 'hang.wall="wood"', "hang.jig=true"]
    loaded = load(tmp_path / "aside.toml", studs)
    made = build(loaded, tmp_path / "out", only=frozenset({"print", "lists", "wall", "cut"}))
    told = {one.id: one for one in made.verdicts}
    assert told["hang.jig"].verdict == "warn"

    tree = tree_at(made.folder)
    rows = list(csv.DictReader(io.StringIO(tree.text("wall/holes.csv"))))
    holes = {row["panel"]: (float(row["x_mm"]), float(row["y_mm"])) for row in rows}
    job = JobValues(tomllib.loads(tree.text("lists/job.toml")))
    keyholes = {one.panel: one for one in hangs(tree, job)}
    assert set(holes) == set(keyholes)
    datum = keyholes[rows[0]["panel"]]
    for name, (x, y) in holes.items():
        rest = keyholes[name]
        assert math.hypot(rest.x - datum.x - x, rest.y - datum.y - y) < 0.02
        assert rest.up_deg == pytest.approx(90.0, abs=0.05)
        assert min(abs(rest.x - stud) for stud in (-25, 275)) <= 15.0

    drawing = readfile(made.folder / "wall/template.dxf").modelspace()
    circles = [e.dxf.center for e in drawing.query('CIRCLE[layer=="TEMPLATE-SCREW"]')]
    assert len(circles) == len(holes)
    first = min(circles, key=lambda at: (-round(at.y, 3), at.x))
    drawn = sorted((round(at.x - first.x, 2), round(at.y - first.y, 2)) for at in circles)
    assert drawn == sorted((round(x, 2), round(y, 2)) for x, y in holes.values())
