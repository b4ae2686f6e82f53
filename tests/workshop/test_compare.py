"""What must be printed again when a value changes."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from fab.compare import difference, read_side, told
from fab.errors import InputError
from fab.params.read import load

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def thicker(built: dict[str, Path], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One panel with an outer wall one printed line thicker."""
    from fab import workshop

    out = tmp_path_factory.mktemp("thicker")
    base = load(ROOT / "tests" / "one-panel.toml")
    line = base.job.shop.printer.extrusion_width
    wall = 1.8 + line  # four lines, as the design takes when nothing is set
    loaded = load(ROOT / "tests" / "one-panel.toml", [f"panel.shell.wall={wall}"])
    # its LEDs would have to move: not what is compared here
    dark = frozenset({"light.evenness", "light.middle"})
    return workshop.build(
        loaded, out, allow=dark, only=frozenset({"print", "model", "cut", "board", "lists"})
    ).folder


@pytest.mark.slow
def test_a_thicker_wall_says_what_to_print_and_cut_again(
    built: dict[str, Path], thicker: Path
) -> None:
    before, after = read_side(built["one-panel"]), read_side(thicker)
    found = difference(before, after)
    assert [key for key, _, _ in found.values] == ["panel.shell.wall"]
    again = {one.path for one in found.again}
    assert any(path.startswith("print/shell_") for path in again)
    assert "cut/diffuser.dxf" in again
    assert "panel.shell.wall" in told(found)
    assert any(name == "printed and cut" for name, _, _ in found.figures)


@pytest.mark.slow
def test_another_kerf_says_what_to_cut_again(built: dict[str, Path], tmp_path: Path) -> None:
    from fab import workshop

    loaded = load(ROOT / "tests" / "one-panel.toml", ["shop.stock.opal-3.kerf=0.21"])
    other = workshop.build(loaded, tmp_path, only=frozenset({"print", "cut", "lists"})).folder
    found = difference(read_side(built["one-panel"]), read_side(other))
    assert [key for key, _, _ in found.values] == ["shop.stock.opal-3.kerf"]
    again = {one.path for one in found.again}
    assert "cut/diffuser.dxf" in again
    assert not any(path.startswith("print/") for path in again)
    assert "Cut again: 1 x diffuser" in told(found)


def test_nothing_changed_says_so_until_one_thing_did(
    built: dict[str, Path], tmp_path: Path
) -> None:
    """Two folders, each read by itself; then one file of a part that is another."""
    before, other = read_side(built["one-panel"], "before"), tmp_path / "after"
    shutil.copytree(built["one-panel"], other)
    found = difference(before, read_side(other))
    assert found.empty
    assert "are the same" in told(found)
    listed = other / "manifest.json"
    whole = listed.read_text(encoding="utf-8")
    shell = next(
        entry for entry in json.loads(whole)["files"] if entry["path"].startswith("print/shell_")
    )
    listed.write_text(whole.replace(shell["sha256"], "0" * 64), encoding="utf-8")
    changed = difference(before, read_side(other))
    assert not changed.empty
    assert [(one.path, one.why) for one in changed.again] == [(shell["path"], "changed")]
    assert "are the same" not in told(changed)


def test_a_folder_that_is_no_build_is_told(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="not a build with lists"):
        read_side(tmp_path)


@pytest.mark.slow
def test_the_page_shows_both(built: dict[str, Path], thicker: Path) -> None:
    from fab.comparepage import page_bytes

    a, b = read_side(built["one-panel"]), read_side(thicker)
    page = page_bytes(difference(a, b), a, b, built["one-panel"], thicker).decode()
    assert page.count("data:image/svg+xml;base64,") >= 2
    assert "panel.shell.wall" in page


@pytest.mark.slow
def test_the_text_says_what_to_print_cut_and_order_again(
    built: dict[str, Path], thicker: Path
) -> None:
    """One panel has one base, one shell, five caps and no clip: all of them stand in the shell's
    wall's way.
    """
    found = difference(read_side(built["one-panel"], "before"), read_side(thicker, "after"))
    text = told(found)
    assert text.startswith("From before to after:")
    line = next(line for line in text.splitlines() if "Print again" in line)
    for part in ("1 x base-inlet-hanger-A", "1 x shell", "5 x cap"):
        assert part in line
    assert "Cut again: 1 x diffuser" in text
    assert "Order again: board" in text
    assert "plates" in text
    assert all(row[2].split(" ")[0] != row[3].split(" ")[0] for row in found.turned)


def test_a_count_that_moved_is_told(built: dict[str, Path]) -> None:
    from dataclasses import replace

    side = read_side(built["one-panel"])
    files = [
        dict(entry, count=7) if entry["part"] == "cap" and entry["role"] == "print" else entry
        for entry in side.manifest["files"]
    ]
    found = difference(side, replace(side, manifest={**side.manifest, "files": files}))
    assert [(one.part, one.why) for one in found.again] == [
        ("cap", "same part, count 5 before, 7 now")
    ]


@pytest.mark.slow
def test_parts_are_drawn_side_by_side(built: dict[str, Path], thicker: Path) -> None:
    from fab.comparepage import page_bytes

    a, b = read_side(built["one-panel"], "before"), read_side(thicker, "after")
    page = page_bytes(difference(a, b), a, b, built["one-panel"], thicker).decode()
    for path in ("model/shell.step", "model/cap.step", "cut/diffuser.svg"):
        assert f'alt="{path} of before"' in page
        assert f'alt="{path} of after"' in page
