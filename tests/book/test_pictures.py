"""The book's own drawings against the figures of the design: caps, boards, pictures over
the wall.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from fab.book.artwork import CUT_OUT, ENGRAVED, art_page
from fab.book.edges import edges_page
from fab.book.pictures import shown_panel
from fab.book.wallmarks import cap_mark
from fab.decisions import decide
from fab.design import Design
from fab.files.document import Figure, Para, Table, runs
from fab.outlines.page import Fill, Page, Stroke, Text
from fab.outputs.boardpage import board_page
from fab.params.read import load
from fab.parts.board_source import board_layout
from fab.parts.boardmark import board_mark
from fab.wall.model import PanelMass

JOB = """\
job = "t"
shop = "metric-bench"
[panel]
extends = "hexagon-120"
[designs.cover]
extends = "hexagon-120"
board = {none = true}
[[designs.cover.art]]
letters = "O"
capital = 40
work = "stencil"
[layout]
[[layout.panel]]
name = "blank"
cell = [0, 1]
design = "cover"
[[layout.panel]]
name = "A"
cell = [0, 0]
[[layout.panel]]
name = "B"
cell = [1, 0]
[[art]]
letters = "I"
capital = 300
at = [0, 0]
panels = ["A"]
"""


@pytest.fixture
def design(tmp_path: Path) -> Design:
    """Two lit panels and a blank cover over them, with a picture each way.

    Weights are made up: no solid is needed.
    """
    path = tmp_path / "t.toml"
    path.write_text(JOB, encoding="utf-8")
    return decide(
        load(path).job,
        lambda plans, layout: {p.name: PanelMass(300.0, 0.0, 0.0, 15.0) for p in layout.panels},
    )


def fills(page: Page, colour: str) -> float:
    """Filled area in a colour, holes taken off: they run the other way round."""
    return sum(
        abs(sum(contour.area_mm2 for contour in item.contours))
        for item in page.items
        if isinstance(item, Fill) and item.colour == colour
    )


def test_every_cap_is_drawn_once_and_every_edge_has_its_number(design: Design) -> None:
    page = edges_page(design)
    colour = cap_mark((0, 0), 0, 1).colour
    marks = [item for item in page.items if isinstance(item, Stroke) and item.colour == colour]
    assert len(marks) == design.counts.caps + 1  # and one in the legend
    numbers = [item.text for item in page.items if isinstance(item, Text) and item.text.isdigit()]
    assert sorted(numbers) == sorted("012345" * 3)


def test_a_lit_panel_stands_for_all(design: Design) -> None:
    assert design.layout.panels[0].name == "blank"
    assert shown_panel(design).name == "A"


def test_the_board_is_drawn_with_all_that_sits_on_it(design: Design) -> None:
    plan = design.plans["panel"]
    layout = board_layout(plan)
    assert layout is not None
    page = board_page(plan, layout)
    drawn = [item for item in page.items if isinstance(item, Stroke)]
    data_line = min(len(layout.leds) - 1, 1)
    on_board = len(layout.leds) + len(layout.sockets) + len(layout.switches) + len(layout.parts)
    mark = board_mark(layout)
    assert mark
    assert len(drawn) == on_board + 1 + len(layout.outline.holes) + data_line + len(mark)


def test_pictures_on_the_wall_are_as_large_as_on_the_sheets(design: Design) -> None:
    """Engraving of panel A alone, and what falls out of the stencil, at the drawing's scale."""
    from fab.parts.art import sheet_art
    from fab.parts.artplace import placed

    page = art_page(design)
    x0, _, x1, _ = design.layout.box
    outlines = [item for item in page.items if isinstance(item, Stroke)]
    span = [seg.start[0] for item in outlines for seg in item.segments]
    scale = (max(span) - min(span)) / (x1 - x0)
    a = design.layout.by_name["A"]
    engraved = placed(design.plans["panel"], design.job.art[0], (a.x, a.y, a.turn_deg)).area
    assert fills(page, ENGRAVED) - 12.0 == pytest.approx(
        engraved * scale**2, rel=0.01
    )  # less the legend's 4 x 3 mm
    cut = sum(hole.area_mm2 for hole in sheet_art(design.plans["cover"]).holes)
    assert fills(page, CUT_OUT) - 12.0 == pytest.approx(cut * scale**2, rel=0.01)


def test_small_pictures_run_together_and_nothing_else_does() -> None:
    small, large = (Figure(Page(width, 20.0, (), "p", "p"), "p") for width in (60.0, 110.0))
    blocks = [Para("a"), small, small, large, small, Table("t", ("a",), ()), small]
    assert [len(run) for run in runs(blocks)] == [1, 2, 1, 1, 1, 1]  # type: ignore[arg-type]


def test_the_demos_book_has_a_figure_for_each(built: Mapping[str, Path]) -> None:
    page = (built["reading-nook"] / "book" / "index.html").read_text(encoding="utf-8")
    for title, times in (
        ("Edges and caps", 1),
        ("The inlet", 1),
        ("A cap on its way", 1),
        ("Board of hexagon-120", 2),  # at its first light, and in the brief for its maker
        ("Clips from the back", 1),
    ):
        assert page.count(f">{title}</title>") == times, title
    assert "Pictures on the wall" not in page  # the demo has none
