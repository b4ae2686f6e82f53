"""Our own board/outline.dxf and positions.csv, read back, give the same panel: every file of the
build byte for byte.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from fab import workshop
from fab.checks.jumpers import jumper_checks
from fab.decisions import plans_of
from fab.files.dxf import dxf
from fab.files.table import csv_bytes
from fab.layout.model import BaseKind
from fab.outputs.board import HEADER, outline_drawing, positions
from fab.params.read import load
from fab.parts.board_source import board_layout
from fab.parts.jumpersizes import jumper_sizes

JOB = """\
job = "t"
shop = "metric-bench"
[panel]
extends = "{panel}"
{rest}
[layout]
cells = [[0, 0], [1, 0]]
"""
SETS = [
    ("hexagon-120", ("panel.across_flats=121.3",)),
    (
        "hexagon-120",
        ("panel.across_flats=121.3", "panel.switch.on=true", "panel.shell.fixing=snap"),
    ),
    ("edge90-square", ("panel.led.count=21",)),
    ("edge90-triangle", ("panel.led.pattern=rings",)),
    ("hexagon-120", ("panel.header.pitch='1/10 in'", "panel.board.thickness='1/16 in'")),
]


def files_of(plan: Any) -> dict[str, bytes]:
    return {
        "outline.dxf": dxf(outline_drawing(plan), version="R2000"),
        "positions.csv": csv_bytes(HEADER, positions(plan)),
    }


def both(folder: Path, panel: str, sets: Any) -> tuple[Any, ...]:
    """The job with its board drawn, and the same job with that board's files."""
    (folder / "drawn.toml").write_text(JOB.format(panel=panel, rest=""))
    drawn = load(folder / "drawn.toml", sets)
    for name, data in files_of(plans_of(drawn.job)["panel"]).items():
        (folder / name).write_bytes(data)
    (folder / "given.toml").write_text(
        JOB.format(panel=panel, rest='board = {file = "outline.dxf", positions = "positions.csv"}')
    )
    words = [word for word in sets if not word.startswith("panel.board.")]
    words += [
        f"panel.board.{word.removeprefix('panel.board.')}"
        for word in sets
        if word.startswith("panel.board.")
    ]
    return drawn, load(folder / "given.toml", words)


@pytest.mark.parametrize(
    ("panel", "sets"),
    SETS,
    ids=lambda value: "-".join(value) if isinstance(value, tuple) else value,
)
def test_the_board_is_the_same_value(tmp_path: Path, panel: Any, sets: Any) -> None:
    drawn, given = both(tmp_path, panel, sets)
    a, b = plans_of(drawn.job)["panel"], plans_of(given.job)["panel"]
    assert board_layout(a) == board_layout(b)
    assert files_of(a) == files_of(b)
    assert b.params.board.notes == ()
    for name in ("board_z", "axis_z", "led_z", "rim_z", "ledge_z"):
        assert getattr(a.heights, name) == getattr(b.heights, name), name
    assert a.press.switch_u == b.press.switch_u
    assert a.fixings.board_holes == b.fixings.board_holes
    assert a.fixings.board_screws == b.fixings.board_screws


@pytest.mark.parametrize(("panel", "sets"), SETS[:2], ids=["plain", "pressed"])
def test_a_job_that_holds_the_board_needs_no_file(tmp_path: Path, panel: Any, sets: Any) -> None:
    """lists/job.toml carries the board itself: it reads back alone, to the same inputs."""
    from fab.values import job_toml

    _, given = both(tmp_path, panel, sets)
    alone = tmp_path / "alone"
    alone.mkdir()
    (alone / "job.toml").write_bytes(job_toml(given.job))
    again = load(alone / "job.toml")
    assert again.inputs_sha256 == given.inputs_sha256
    assert board_layout(plans_of(again.job)["panel"]) == board_layout(plans_of(given.job)["panel"])


@pytest.mark.slow
@pytest.mark.kernel
def test_the_whole_build_is_the_same_byte_for_byte(tmp_path: Path) -> None:
    drawn, given = both(tmp_path, *SETS[0])
    kinds = frozenset({"print", "model", "cut", "wall", "board"})
    trees = []
    for name, loaded in (("drawn", drawn), ("given", given)):
        built = workshop.build(loaded, tmp_path / name, only=kinds, fresh=True)
        trees.append(
            {
                path.relative_to(built.folder).as_posix(): path.read_bytes()
                for path in built.folder.rglob("*")
                if path.is_file()
            }
        )
        manifest = json.loads(trees[-1].pop("manifest.json"))
        assert not [check for check in manifest["checks"] if check["verdict"] == "fail"]
    assert trees[0].keys() == trees[1].keys()
    # the kernel's STEP writer breaks its lines by a counter of the process: two builds in one
    # process may differ there
    differ = [path for path in trees[0] if trees[0][path] != trees[1][path]]
    assert [path for path in differ if not path.endswith(".step")] == []
    assert [
        path
        for path in differ
        if b"".join(trees[0][path].split()) != b"".join(trees[1][path].split())
    ] == []


@pytest.mark.parametrize("panel", ["hexagon-120", "edge90-square", "edge90-triangle"])
def test_pin_rows_of_jumpers_come_back_where_they_were(tmp_path: Path, panel: str) -> None:
    """A board whose file names its rows puts opening and channel where the drawn one has them."""
    (tmp_path / "drawn.toml").write_text(JOB.format(panel=panel, rest=""))
    drawn = plans_of(load(tmp_path / "drawn.toml").job)["panel"]
    (tmp_path / "outline.dxf").write_bytes(files_of(drawn)["outline.dxf"])
    (tmp_path / "positions.csv").write_bytes(csv_bytes(HEADER, positions(drawn, rows_too=True)))
    rest = 'board = {file = "outline.dxf", positions = "positions.csv"}'
    (tmp_path / "given.toml").write_text(JOB.format(panel=panel, rest=rest))
    given = plans_of(load(tmp_path / "given.toml").job)["panel"]
    assert board_layout(given) == board_layout(drawn)
    assert jumper_sizes(given) == jumper_sizes(drawn)
    kind = BaseKind("jumper", "panel", False, None, "", 0, tuple(range(drawn.cell.sides)))
    assert not [
        verdict for verdict in jumper_checks("panel", given, [kind]) if verdict.verdict == "fail"
    ]


@pytest.mark.slow
@pytest.mark.kernel
def test_the_printed_parts_are_the_same_byte_for_byte(tmp_path: Path) -> None:
    """What the board shapes: base and shell, as STL."""
    from fab.files.stl import stl
    from fab.parts.base import base
    from fab.parts.shell import shell
    from fab.solids.meshing import mesh

    drawn, given = both(tmp_path, *SETS[0])
    kind = BaseKind("hanger-A", "panel", False, 90.0, "A")
    parts = []
    for loaded in (drawn, given):
        plan = plans_of(loaded.job)["panel"]
        parts.append(
            [
                stl(mesh(solid, name), name)
                for name, solid in (("base", base(plan, kind)), ("shell", shell(plan)))
            ]
        )
    assert parts[0] == parts[1]
