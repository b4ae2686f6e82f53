"""`panejig verify` on good, broken and hostile folders: an exit code, a plain message, no
traceback.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from fab.cli.main import main

from . import edit
from .strangers import BROKEN, HOSTILE

ONE = Path(__file__).parents[1] / "one-panel.toml"


def test_a_good_copy_exits_0(copy: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["verify", str(copy)]) == 0
    assert "failed: 0." in capsys.readouterr().out


def test_a_fault_exits_1_and_names_file_and_place(
    copy: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    edit.cell(copy, "wall/holes.csv", 1, "x_mm", "230")
    assert main(["verify", str(copy)]) == 1
    told = capsys.readouterr().out
    assert "proof.holes-rest" in told
    assert "wall/holes.csv" in told
    assert "hole of panel F" in told


@pytest.mark.parametrize("case", BROKEN, ids=lambda case: case[0])
def test_what_is_no_build_exits_2(
    copy: Path, capsys: pytest.CaptureFixture[str], case: tuple[Any, ...]
) -> None:
    case[1](copy)
    assert main(["verify", str(copy)]) == 2
    told = capsys.readouterr().err
    assert "Traceback" not in told
    assert "an internal error" not in told
    assert told.strip()


def test_no_folder_exits_2(tmp_path: Path) -> None:
    assert main(["verify", str(tmp_path / "nothing")]) == 2


ALONE = {"another version", "another program"}  # harmless: told, and proven all the same
TOGETHER = (
    "a plate that unfolds",
    "entities that unfold",
    "a job that is no TOML",
    "a table of one cell",
    "a template that is no PDF",
    "a printed book of nothing",
    "files that lead out",
    "another version",
)


def stranger(
    folder: Path, cases: list[tuple[Any, ...]], capsys: pytest.CaptureFixture[str]
) -> None:
    for _, plant, _ in cases:
        plant(folder)
    code = main(["verify", str(folder)])
    told = capsys.readouterr()
    text = told.out + told.err
    assert code == 0 if {name for name, *_ in cases} <= ALONE else code in (1, 2)
    assert "Traceback" not in text
    assert "an internal error" not in text
    for name, _, word in cases:
        assert word in text, f"{name}: {text}"


def test_hostile_files_fail_with_their_names(
    copy: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    stranger(copy, [case for case in HOSTILE if case[0] in TOGETHER], capsys)


@pytest.mark.slow
@pytest.mark.parametrize("case", HOSTILE, ids=lambda case: case[0])
def test_each_hostile_file_is_named(
    copy: Path, capsys: pytest.CaptureFixture[str], case: tuple[Any, ...]
) -> None:
    stranger(copy, [case], capsys)


def test_the_tables_are_long_enough() -> None:
    assert len(BROKEN) + len(HOSTILE) >= 30


ODD = """job = "odd-names"
shop = "metric-bench"
panel.extends = "edge90-square"
[[panel.addition]]
kind = "text"
letters = "Shelf 7"
at = [-20, 18]
turn_deg = 90
size = 5
[[panel.art]]
letters = "7"
capital = 8
on = "base"
work = "raised"
at = [21, 18]
[[panel.art]]
letters = "R"
capital = 40
work = "stencil"
[[panel.art]]
letters = "F"
capital = 6
at = [25, 25]
back = true
[designs.inlet]
extends = "edge90-square"
board.none = true
[designs.unused]
extends = "edge90-hexagon"
[layout]
panel = [
  {name = "a 1", cell = [0, 0]},
  {name = "A-1", cell = [1, 0]},
  {name = "b", cell = [2, 0]},
  {name = "lid ü 2", design = "inlet", on = "A-1", edge = 1},
]
[hang]
must = ["A-1", "b"]
"""


@pytest.mark.slow
def test_a_wall_of_odd_names_is_built_and_proven(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Blanks, hyphens and small letters in names, a design named as bases are, one of no panel;
    letters beside the names in the bases, and stencils in sheets that lie face down.
    """
    job = tmp_path / "odd.toml"
    job.write_text(ODD, encoding="utf-8")
    for only in ((), ("--only", "cut"), ("--only", "cut", "--only", "model")):
        out = tmp_path / f"out{len(only)}"
        assert main(["build", str(job), *only, "--out", str(out), "-q"]) == 0, capsys.readouterr()


@pytest.mark.slow
def test_a_wall_of_covers_alone_is_built_and_proven(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """No zone, no cable, no LED: the book has no chapter on power, the list of LEDs no row."""
    job = tmp_path / "covers.toml"
    job.write_text(
        'job = "covers"\nshop = "metric-bench"\npanel.extends = "edge90-triangle"\n'
        "panel.board.none = true\nlayout.cells = [[0, 0]]\n"
    )
    assert main(["build", str(job), "--out", str(tmp_path), "-q"]) == 0, capsys.readouterr()
    page = (tmp_path / "covers" / "book" / "index.html").read_text(encoding="utf-8")
    assert "0 zones" not in page


FORMS = (
    ("panel.base.feet=7", 'panel.inlet.kind="round"'),
    ("panel.base.feet=7", "panel.inlet.plug_w=12"),
    ('panel.shell.fixing="screw"', 'panel.base.board_fixing="insert"'),
)


@pytest.mark.slow
@pytest.mark.parametrize("values", FORMS, ids=" ".join)
def test_other_forms_of_one_panel_are_built_and_proven(
    tmp_path: Path, values: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    """Forms of the base that no shipped job has: what is written is proven by the build itself."""
    words = [word for value in values for word in ("--set", value)]
    code = main(["build", str(ONE), *words, "--out", str(tmp_path), "-q"])
    assert code == 0, capsys.readouterr()
