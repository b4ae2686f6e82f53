"""What the README says of drawn walls is true: its drawing reads, and its commands run."""

from __future__ import annotations

import re
import runpy
from pathlib import Path

import pytest

from fab.cli.main import main
from fab.params import presets
from fab.params.read import load
from fab.params.wallmap import drawn

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text()
OUTLINE = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="70cm" height="50cm" viewBox="0 0 70 '
    '50"><circle cx="35" cy="25" r="24"/></svg>'
)


@pytest.fixture(autouse=True)
def _here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    Path("outline.svg").write_text(OUTLINE)


def test_the_drawing_is_the_one_that_new_makes() -> None:
    shown = re.search(r"```toml\n(\[layout\]\nmap = '''\n.*?''')\n```", README, re.DOTALL)
    assert shown is not None
    command = re.search(r"panejig (new garden-room .*)", README)
    assert command is not None
    assert main(command[1].split()) == 0
    assert shown[1].removeprefix("[layout]\n") in Path("garden-room.toml").read_text()
    Path("own.toml").write_text(
        'job = "own"\nshop = "metric-bench"\npanel = "hexagon-120"\n' + shown[1]
    )
    assert [panel.name for panel in drawn(load(Path("own.toml")).job.layout.map, 6)] == list(
        "ABCDEFG"
    )


def test_the_demo_is_drawn_as_in_its_job() -> None:
    shown = re.search(r"```toml\nmap = '''\n(.*?)'''\n```", README, re.DOTALL)
    path = presets.path_of("job", "reading-nook")
    assert shown is not None
    assert path is not None
    assert shown[1] == load(path).job.layout.map


def test_a_panel_sits_on_a_drawn_one_as_the_readme_says() -> None:
    from fab.decisions import lay_out

    told = re.search(r"`\[\[layout.panel\]\]` with `(on = \"B\")` and `(edge = 1)`", README)
    cells = re.search(r"`(cells = \[.*?\]\])`", README)
    assert told is not None
    assert cells is not None
    head = 'job = "own"\nshop = "metric-bench"\npanel = "hexagon-120"\n[layout]\n'
    Path("own.toml").write_text(f"{head}map = 'A B'\n[[layout.panel]]\n{told[1]}\n{told[2]}\n")
    assert len(lay_out(load(Path("own.toml")).job).panels) == 3
    Path("listed.toml").write_text(head + cells[1])
    assert len(lay_out(load(Path("listed.toml")).job).panels) == 2


def test_a_package_index_shows_no_broken_picture() -> None:
    hook = runpy.run_path(str(ROOT / ".ci" / "readme_hook.py"))
    pictures = README.count("](.pictures/")
    plain = hook["for_index"](README, "")
    assert "![" not in plain
    assert ".pictures/" not in plain.replace("--shape .pictures/", "")
    placed = hook["for_index"](README, "https://example.org/panejig/")
    assert placed.count("](https://example.org/panejig/.pictures/") == pictures > 1
    assert "](.pictures/" not in placed
