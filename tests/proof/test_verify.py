"""`panejig verify` on good, broken and hostile folders: an exit code, a plain message, no traceback."""

from __future__ import annotations

import itertools
import json
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from fab.cli.main import main

from . import edit


@pytest.fixture
def copy(built: dict[str, Path], tmp_path: Path) -> Path:
    return edit.linked(built["reading-nook"], tmp_path / "copy")


def test_a_good_copy_exits_0(copy: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["verify", str(copy)]) == 0
    assert "0 failed" in capsys.readouterr().out


def test_a_fault_exits_1_and_names_file_and_place(copy: Path, capsys: pytest.CaptureFixture[str]) -> None:
    edit.cell(copy, "wall/holes.csv", 1, "x_mm", "230")
    assert main(["verify", str(copy)]) == 1
    told = capsys.readouterr().out
    assert "proof.holes-rest" in told
    assert "wall/holes.csv" in told
    assert "hole of panel F" in told


def _deep(folder: Path) -> None:
    edit.put(folder, "lists/values.json", "[" * 100_000 + "]" * 100_000)


def _link(folder: Path) -> None:
    (folder / "wall/holes.csv").unlink()
    (folder / "wall/holes.csv").symlink_to("/etc/hostname")


BROKEN: tuple[tuple[str, Callable[[Path], None]], ...] = (
    ("no manifest", lambda f: (f / "manifest.json").unlink()),
    ("a manifest that is no JSON", lambda f: edit.put(f, "manifest.json", "{")),
    ("a manifest of another shape", lambda f: edit.put(f, "manifest.json", '{"files": 3}')),
    ("no values", lambda f: (f / "lists/values.json").unlink()),
    ("values nested without end", _deep),
    ("values of another shape", lambda f: edit.put(f, "lists/values.json", "[1, 2]")),
    ("a link", _link),
)


@pytest.mark.parametrize("case", BROKEN, ids=lambda case: case[0])
def test_what_is_no_build_exits_2(copy: Path, capsys: pytest.CaptureFixture[str], case: tuple) -> None:
    case[1](copy)
    assert main(["verify", str(copy)]) == 2
    told = capsys.readouterr().err
    assert "Traceback" not in told
    assert told.strip()


def test_no_folder_exits_2(tmp_path: Path) -> None:
    assert main(["verify", str(tmp_path / "nothing")]) == 2


def _bomb(folder: Path) -> None:
    """A plate that unfolds to 100 MB of blanks."""
    with zipfile.ZipFile(folder / "new.zip", "w", zipfile.ZIP_DEFLATED) as package:
        package.writestr("3D/3dmodel.model", b" " * 100_000_000)
    data = (folder / "new.zip").read_bytes()
    (folder / "new.zip").unlink()
    edit.put(folder, "print/plate-01.3mf", data)


def _entities(folder: Path) -> None:
    """An SVG that would unfold to a billion words."""
    names = "abcdefghi"
    lines = ['<!ENTITY a "ha">', *(f'<!ENTITY {b} "{f"&{a};" * 10}">' for a, b in itertools.pairwise(names))]
    edit.put(folder, "cut/sheet-01.svg", f"<!DOCTYPE svg [{''.join(lines)}]><svg>&i;</svg>")


def _values(folder: Path) -> None:
    data = json.loads((folder / "lists/values.json").read_text())
    data["shop"]["stock"] = {"opal-3": "thick"}
    edit.put(folder, "lists/values.json", json.dumps(data))


HOSTILE: tuple[tuple[str, Callable[[Path], None], str], ...] = (
    ("a plate that unfolds", _bomb, "print/plate-01.3mf"),
    ("entities that unfold", _entities, "cut/sheet-01.svg"),
    ("a count of triangles that is not there", lambda f: edit.put(f, edit.named(f, "print/cap_x"), b"\0" * 80 + b"\xff\xff\xff\xff"), "print/cap_x"),
    ("numbers without end", lambda f: edit.cell(f, "wall/holes.csv", 1, "x_mm", "1e999"), "holes"),
    ("no numbers at all", lambda f: edit.cell(f, "lists/panels.csv", 1, "x_mm", "far"), "lists/panels.csv"),
    ("a table of one cell", lambda f: edit.put(f, "lists/joints.csv", '"'), "lists/joints.csv"),
    ("zeros for a drawing", lambda f: edit.put(f, "cut/sheet-01.dxf", b"\0" * 5000), "cut/sheet-01.dxf"),
    ("values of another kind", _values, "opal-3"),
)  # fmt: skip


@pytest.mark.parametrize("case", HOSTILE, ids=lambda case: case[0])
def test_a_hostile_file_fails_with_its_name(copy: Path, capsys: pytest.CaptureFixture[str], case: tuple) -> None:
    case[1](copy)
    assert main(["verify", str(copy)]) in (1, 2)
    told = capsys.readouterr()
    assert "Traceback" not in told.out + told.err
    assert case[2] in told.out + told.err or case[0] == "values of another kind"
