"""What must be printed again when a value changes."""

from __future__ import annotations

from pathlib import Path

import pytest

from fab.compare import difference, read_side, told
from fab.errors import InputError
from fab.params.read import load

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def thicker(built: dict[str, Path], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The lamp with an outer wall one printed line thicker."""
    from fab import workshop

    out = tmp_path_factory.mktemp("thicker")
    base = load(ROOT / "params" / "bedside-lamp.toml")
    line = base.job.shop.printer.extrusion_width
    wall = base.job.panel.shell.wall + line
    loaded = load(ROOT / "params" / "bedside-lamp.toml", [f"panel.shell.wall={wall}"])
    failing = {v.id for v in workshop.check(loaded) if v.verdict == "fail"}
    return workshop.build(loaded, out, allow=frozenset(failing)).folder


def test_a_thicker_wall_says_what_to_print_and_cut_again(built: dict[str, Path], thicker: Path) -> None:
    before, after = read_side(built["bedside-lamp"]), read_side(thicker)
    found = difference(before, after)
    assert [key for key, _, _ in found.values] == ["panel.shell.wall"]
    again = {path for _, path, _ in found.again}
    assert any(path.startswith("print/shell_") for path in again)
    assert "cut/diffuser.dxf" in again
    assert "panel.shell.wall" in told(found)
    assert any(name == "printed and cut" for name, _, _ in found.figures)


def test_nothing_changed_says_so(built: dict[str, Path]) -> None:
    side = read_side(built["bedside-lamp"])
    found = difference(side, side)
    assert found.empty
    assert "are the same" in told(found)


def test_a_folder_that_is_no_build_is_told(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="not a build with lists"):
        read_side(tmp_path)


def test_the_page_shows_both(built: dict[str, Path], thicker: Path) -> None:
    from fab.comparepage import page_bytes

    a, b = read_side(built["bedside-lamp"]), read_side(thicker)
    page = page_bytes(difference(a, b), a, b, built["bedside-lamp"], thicker).decode()
    assert page.count("data:image/svg+xml;base64,") >= 2
    assert "panel.shell.wall" in page
