"""The contents on a print's first page: its page numbers are a form that is filled at the end."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from fab.files.docstyles import Press
from fab.files.document import Chapter
from fab.files.pdf import FONT

FORM = "contents"
SIZE, LINE = 8.5, 12.5  # letters and lines, points
# columns of titles, their width to the numbers' right end, and between them
ABREAST = 2
COLUMN = 235.0
GUTTER = 34.0


def contents(chapters: Sequence[Chapter], press: Press) -> Any:
    """Titles with links; the numbers come with `page_numbers`, which must end the same story."""
    from reportlab.platypus import Flowable

    tree = press.parent.add("TOC")
    lines = [tree.add("TOCI") for _ in chapters]

    class Contents(Flowable):
        def wrap(self, *_: float) -> tuple[float, float]:
            return press.room[0], LINE * _lines(len(chapters)) + 8

        def draw(self) -> None:
            for k, chapter in enumerate(chapters):
                x, y = _at(k, len(chapters))
                self.canv.setFont(FONT, SIZE)
                with press.marker.drawn(self.canv, lines[k]):
                    self.canv.drawString(x, y, chapter.title)
                self.canv.linkRect(
                    "",
                    chapter.anchor,
                    (x, y - 3, x + COLUMN, y + LINE - 3),
                    relative=1,
                    Border="[0 0 0]",
                )
            with press.marker.drawn(self.canv, None):
                self.canv.doForm(FORM)

    return Contents()


def page_numbers(chapters: Sequence[Chapter], found: Mapping[str, int]) -> Any:
    """Fills the list's numbers. `found`: anchor to page, complete when this is drawn."""
    from reportlab.platypus import Flowable

    class Numbers(Flowable):
        def wrap(self, *_: float) -> tuple[float, float]:
            return 0.0, 0.0

        def draw(self) -> None:
            self.canv.beginForm(FORM, 0, 0, ABREAST * (COLUMN + GUTTER), LINE * (len(chapters) + 1))
            for k, chapter in enumerate(chapters):
                x, y = _at(k, len(chapters))
                self.canv.setFont(FONT, SIZE)
                self.canv.drawRightString(x + COLUMN, y, str(found[chapter.anchor]))
            self.canv.endForm()

    return Numbers()


def _lines(count: int) -> int:
    return -(-count // ABREAST)


def _at(k: int, count: int) -> tuple[float, float]:
    """The place of a title: down the first column, then down the next."""
    column, line = divmod(k, _lines(count))
    return column * (COLUMN + GUTTER), LINE * (_lines(count) - 1 - line) + 10
