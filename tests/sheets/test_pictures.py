"""Which sheets of a build get a picture."""

from __future__ import annotations

import pytest

from fab.outlines.contour import Outline
from fab.outlines.shapes import rectangle
from fab.outputs import sheetpictures
from fab.outputs.cut import nest_all, nest_lines
from fab.outputs.nested import Search, total_seconds
from fab.params.shop import Shop, Stock
from fab.sheets.model import Piece


@pytest.mark.slow
def test_equal_sheets_share_a_picture(monkeypatch: pytest.MonkeyPatch) -> None:
    """Six squares of 90 mm to a sheet of 300 x 200, by hand: 20 of them are three full sheets and
    one with two.
    """
    shop = Shop(stock={"opal": Stock(width=300, height=200, count=9, margin=5, kerf=0.2)})
    pieces = [Piece("square", Outline(rectangle(90, 90)), 20, "opal")]
    nested = nest_all(shop, {"opal": pieces}, Search())
    assert nested.sheets == 4
    assert [(kind.stem, kind.times) for kind in nested.kinds("job")] == [
        ("sheet-01_x3", 3),
        ("sheet-02", 1),
    ]
    files = sheetpictures.files("job", nested)
    assert [(file.path, file.part, file.count) for file in files] == [
        ("cut/sheet-01_x3.png", "opal", 6),
        ("cut/sheet-02.png", "opal", 2),
    ]
    titles = [page.title for _, page in sheetpictures.pages("job", nested)]
    assert titles == ["job, sheet-01, 3 times", "job, sheet-02"]
    monkeypatch.setattr(sheetpictures, "MOST_PICTURES", 1)
    assert [kind.name for kind, _ in sheetpictures.pages("job", nested)] == ["sheet-01"]


def test_the_manifest_counts_equal_sheets_once() -> None:
    """Lines, rests and seconds of four sheets, three of them equal, against the sheets one
    by one.
    """
    shop = Shop(stock={"opal": Stock(width=300, height=300, count=9, margin=5, kerf=0.2)})
    pieces = [Piece("square", Outline(rectangle(90, 90)), 30, "opal")]
    nested = nest_all(shop, {"opal": pieces}, Search())
    (one,) = nested.stocks
    lines = nest_lines(nested, "job")
    assert [line["sheet"] for line in lines] == ["sheet-01", "sheet-02"]
    assert sum(line["times"] * line["parts"] for line in lines) == 30
    assert sum(line["times"] for line in lines) == len(one.nest.layups) == nested.sheets
    rests = [rest.offcut for kind in nested.kinds("job") for rest in kind.rests]
    assert [rest.name for rest in rests] == ["job-sheet-02-rest-1"]
    assert total_seconds(nested) == pytest.approx(
        sum(k.times * k.plan.seconds for k in nested.kinds("job"))
    )
