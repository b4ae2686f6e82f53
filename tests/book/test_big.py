"""Books of a hundred and of three hundred panels: still whole on paper, still light on the
screen.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.book.prints import alone_at_a_foot, clipped, fonts, read
from tests.book.test_print import HEADINGS

pytestmark = pytest.mark.slow

SHOP = '[shop]\nextends = "metric-bench"\n[shop.stock.opal-3]\ncount = 60\n'


def _book(folder: Path, across: int, rows: int) -> Path:
    """The book folder of a block of hexagons; a block has rings that no header is pushed into, and
    says so.
    """
    from fab import workshop
    from fab.params.read import load

    cells = [[column - row // 2, row] for row in range(rows) for column in range(across)]
    path = folder / "block.toml"
    path.write_text(
        f'job = "block"\n{SHOP}[panel]\nextends = "hexagon-120"\n[layout]\ncells ='
        f' {cells}\n[power]\nbrightness = 0.08\n[hang]\nwall = "plaster"\n',
        encoding="utf-8",
    )
    built = workshop.build(
        load(path),
        folder / "out",
        only=frozenset({"book"}),
        allow=frozenset({"hang.order", "heat.rise"}),
    )
    assert built.manifest["counts"]["panels"] == across * rows
    return built.folder / "book"


def test_a_hundred_panels_on_paper(tmp_path: Path) -> None:
    path = _book(tmp_path, 10, 10) / "book.pdf"
    book = read(path)
    assert 20 <= len(book.pages) <= 60
    assert clipped(book) == []
    assert alone_at_a_foot(book, HEADINGS) == []
    assert all(fonts(path).values())


@pytest.mark.browser
def test_three_hundred_panels(tmp_path: Path, browser: Any) -> None:
    """Bounds of the issue: under 10 MB.

    What has to be laid out is bounded in its place of seconds.
    """
    folder = _book(tmp_path, 20, 15)
    assert (folder / "index.html").stat().st_size < 10_000_000
    assert (folder / "book.pdf").stat().st_size < 10_000_000
    assert clipped(read(folder / "book.pdf")) == []
    page = browser.new_page(viewport={"width": 390, "height": 844})
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on(
        "request",
        lambda asked: (
            faults.append(asked.url) if not asked.url.startswith(("file:", "data:")) else None
        ),
    )
    page.goto((folder / "index.html").as_uri())
    assert faults == []
    assert (
        page.evaluate("document.querySelectorAll('*').length") < 90_000
    )  # each of the 299 pushes has its picture
    assert page.evaluate("document.documentElement.scrollWidth") <= 391
    assert page.locator("[id^='panel-']").count() == 300
    page.close()
