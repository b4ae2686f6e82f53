"""No label of a picture lies on another: ten walls that nobody chose, and one of forty panels."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from fab.book.datalines import marks_page
from fab.book.edges import edges_page
from fab.book.pictures import wall_page
from fab.decisions import decide
from fab.design import Design
from fab.outlines.page import Page, Text
from fab.params.read import load
from fab.wall.model import PanelMass
from tests.book.overlaps import on_each_other
from tests.cases import few

STEPS = {
    "hexagon-120": ((1, 0), (0, 1), (-1, 1), (-1, 0), (0, -1), (1, -1)),
    "edge90-square": ((1, 0), (0, 1), (-1, 0), (0, -1)),
}
MASS = PanelMass(300.0, 0.0, 0.0, 15.0)


def wall(folder: Path, seed: int, count: int) -> Design:
    """A random wall in one piece; weights are made up, so that no solid is needed."""
    rng = random.Random(seed)
    panel = rng.choice(sorted(STEPS))
    cells = [(0, 0)]
    while len(cells) < count:
        column, row = rng.choice(cells)
        across, up = rng.choice(STEPS[panel])
        if (column + across, row + up) not in cells:
            cells.append((column + across, row + up))
    path = folder / "wall.toml"
    path.write_text(
        f'job = "w{seed}"\nshop = "metric-bench"\n[panel]\nextends = "{panel}"\n[layout]\n'
        f"turn_deg = {rng.choice((0, 17, 30, 90))}\n"
        f'cells = {[list(cell) for cell in cells]}\n[joint]\njumper = "needed"\n',
        encoding="utf-8",
    )
    return decide(load(path).job, lambda plans, layout: {p.name: MASS for p in layout.panels})


@pytest.mark.parametrize("seed", few([*range(10), 40], 0, 4, 9))
def test_no_label_lies_on_another(seed: int, tmp_path: Path) -> None:
    design = wall(tmp_path, seed, 40 if seed == 40 else 3 + seed)
    for page in (wall_page(design, 176.0, 140.0), marks_page(design), edges_page(design)):
        assert on_each_other(page) == [], page.title


def test_labels_that_lie_on_each_other_are_found() -> None:
    page = Page(
        100, 100, (Text(10, 10, "one", 4.0), Text(12, 11, "two", 4.0), Text(50, 50, "x", 4.0))
    )
    assert on_each_other(page) == [("one", "two")]
