"""Which sheets of a build get a picture."""

from __future__ import annotations

import pytest

from fab.outlines.contour import Outline
from fab.outlines.shapes import rectangle
from fab.outputs import sheetpictures
from fab.outputs.cut import Search, nest_all
from fab.params.shop import Shop, Stock
from fab.sheets.model import Piece


def test_equal_sheets_share_a_picture(monkeypatch: pytest.MonkeyPatch) -> None:
    """Six squares of 90 mm to a sheet of 300 x 200, by hand: 20 of them are three full sheets and one with two."""
    shop = Shop(stock={"opal": Stock(width=300, height=200, count=9, margin=5, kerf=0.2)})
    pieces = [Piece("square", Outline(rectangle(90, 90)), 20, "opal")]
    nested = nest_all(shop, {"opal": pieces}, Search())
    assert len(nested.layups) == 4
    files = sheetpictures.files("job", nested)
    assert [(file.path, file.part, file.count) for file in files] == [
        ("cut/sheet-01.png", "opal", 6), ("cut/sheet-04.png", "opal", 2),
    ]  # fmt: skip
    assert [page.title for _, page in sheetpictures.pages("job", nested)] == ["job, sheet-01", "job, sheet-04"]
    monkeypatch.setattr(sheetpictures, "MOST_PICTURES", 1)
    assert [name for name, _ in sheetpictures.pages("job", nested)] == ["sheet-01"]
