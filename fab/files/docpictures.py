"""Pictures of the print with their captions: one alone takes what is left of a page, as far as it
stays large enough; small ones stand side by side.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from html import escape
from typing import Any

from fab.files.docstyles import Press
from fab.files.document import Block, Figure, Picture
from fab.files.pdf import FONT, PT_PER_MM, draw
from fab.outlines.page import Page

CAPTION = 30.0  # points that a caption takes at most, as a rule
ABREAST = 3
FINE = 2  # decimals of a point that a picture of the book needs
PNG_SHARE = 0.27  # of a page's height: both pictures of the cover stand on the first page
SHRUNK = 0.72  # how far a picture may be drawn smaller to stand on the page that it came to


def _scale(block: Figure, room: tuple[float, float]) -> float:
    """Never beyond true size; wide pictures take the page, others three quarters of its width."""
    wide, high = room
    part = high * (0.9 if block.wide else 0.45) - CAPTION
    across = wide if block.wide else wide * 0.75
    return min(1.0, across / (block.page.width * PT_PER_MM), part / (block.page.height * PT_PER_MM))


def least_picture(block: Figure, made: Press) -> float:
    """Points that a picture needs on a page."""
    return _scale(block, made.room) * block.page.height * PT_PER_MM * SHRUNK + CAPTION


def captioned(block: Figure, made: Press, anchor: str) -> Any:
    """A picture over its caption as one flowable, which shrinks a little to fit a page's rest."""
    from reportlab.platypus import Flowable

    said = f"{block.page.title}. {block.page.says}".strip(". ")
    picture = made.parent.add("Figure", alt=said or block.caption)
    words = made.para(anchor + escape(block.caption), "caption", "Caption")
    full = _scale(block, made.room)

    class Captioned(Flowable):
        def wrap(self, wide: float, high: float) -> tuple[float, float]:
            _, self.below = words.wrap(wide, high)
            self.below += words.style.spaceAfter
            left = (high - self.below) / (block.page.height * PT_PER_MM)
            self.scale = full if left >= full or left < full * SHRUNK else left
            return wide, block.page.height * PT_PER_MM * self.scale + self.below

        def draw(self) -> None:
            self.canv.saveState()
            self.canv.translate(0, self.below)
            with made.marker.drawn(self.canv, picture):
                paint(self.canv, block.page, self.scale)
            self.canv.restoreState()
            words.drawOn(self.canv, 0, words.style.spaceAfter)

    return Captioned()


def paint(canvas: Any, page: Page, scale: float) -> None:
    """A page of ours at the canvas's origin."""
    canvas.saveState()
    canvas.scale(scale, scale)
    for item in page.items:
        draw(canvas, item, FINE)
    canvas.restoreState()


def drawn(page: Page, scale: float, made: Press) -> Any:
    """A picture alone, as the next element of the tree."""
    from reportlab.platypus import Flowable

    said = f"{page.title}. {page.says}".strip(". ")
    tag = made.parent.add("Figure", alt=said)

    class FigurePicture(Flowable):
        def wrap(self, *_: float) -> tuple[float, float]:
            return page.width * PT_PER_MM * scale, page.height * PT_PER_MM * scale

        def draw(self) -> None:
            with made.marker.drawn(self.canv, tag):
                paint(self.canv, page, scale)

    return FigurePicture()


def gallery(run: Sequence[Block], made: Press) -> list[Any]:
    """Small pictures side by side, each over its caption; a row never breaks over pages."""
    from reportlab.platypus import LongTable, TableStyle

    column = made.room[0] / ABREAST

    cells: list[Any] = []
    for block in run:
        assert isinstance(block, Figure)
        scale = min(1.0, (column - 8) / (block.page.width * PT_PER_MM))
        cells.append(
            [drawn(block.page, scale, made), made.para(escape(block.caption), "caption", "Caption")]
        )
    cells += [""] * (-len(cells) % ABREAST)
    rows = [cells[k : k + ABREAST] for k in range(0, len(cells), ABREAST)]
    look = TableStyle(
        [
            ("FONT", (0, 0), (-1, -1), FONT, made.look.cell),
            ("VALIGN", (0, 0), (-1, -1), "BOTTOM"),
            ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ]
    )
    return [LongTable(rows, colWidths=[column] * ABREAST, style=look, hAlign="LEFT")]


def png(block: Picture, made: Press) -> list[Any]:
    """A picture of dots over its caption."""
    from reportlab.platypus import Image, KeepTogether, Spacer

    wide, high = made.room
    scale = min(1.0, wide / block.width, high * PNG_SHARE / block.height)
    image = Image(io.BytesIO(block.png), block.width * scale, block.height * scale)
    tag = made.parent.add("Figure", alt=block.says)
    draw_image = image.draw

    def marked() -> None:
        with made.marker.drawn(image.canv, tag):
            draw_image()

    image.draw = marked
    return [
        KeepTogether([image, Spacer(1, 4), made.para(escape(block.caption), "caption", "Caption")])
    ]
