"""Document to PDF: the same chapters as the HTML page, set on paper.

Pictures are vectors, the font is embedded.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from html import escape
from typing import Any

from fab.files.doccontents import contents, page_numbers
from fab.files.doctable import LEAST, SIZE, grid
from fab.files.document import (
    Block,
    Caution,
    Chapter,
    Document,
    Facts,
    Figure,
    Heading,
    Para,
    Picture,
    Sketches,
    Steps,
    Table,
    Viewer,
    runs,
    spans,
)
from fab.files.pdf import FONT, PT_PER_MM, draw, register_font
from fab.outlines.page import Page

MARGIN_MM = 16.0
HEADING = 30.0  # points that a heading takes
ABREAST = 3


def document_pdf(document: Document, width_mm: float, height_mm: float) -> bytes:
    """The document on pages of the given size, with bookmarks and page numbers; same document, same
    bytes.
    """
    from reportlab.platypus import (
        BaseDocTemplate,
        CondPageBreak,
        Frame,
        PageBreak,
        PageTemplate,
        Paragraph,
        Spacer,
    )

    register_font()
    styles = _styles()
    wide, high = width_mm * PT_PER_MM, height_mm * PT_PER_MM
    margin = MARGIN_MM * PT_PER_MM
    frame = Frame(
        margin,
        margin,
        wide - 2 * margin,
        high - 2 * margin,
        id="text",
        leftPadding=0,
        rightPadding=0,
        topPadding=0,
        bottomPadding=0,
    )
    room = (wide - 2 * margin, high - 2 * margin)

    def footer(canvas: Any, doc: Any) -> None:
        canvas.setFont(FONT, 7)
        canvas.drawString(margin, margin * 0.5, document.title)
        canvas.drawRightString(wide - margin, margin * 0.5, f"page {doc.page}")

    stream = io.BytesIO()
    template = BaseDocTemplate(
        stream,
        pagesize=(wide, high),
        invariant=1,
        pageCompression=0,
        title=document.title,
        author="",
        creator="panejig",
        pageTemplates=[PageTemplate(id="page", frames=[frame], onPage=footer)],
        initialFontName=FONT,
    )
    found: dict[str, int] = {}
    story: list[Any] = [
        Paragraph(escape(document.title), styles["title"]),
        Paragraph(escape(document.subtitle), styles["soft"]),
        Spacer(1, 8),
        contents(document.chapters, room[0]),
    ]
    for number, chapter in enumerate(document.chapters):
        if number:
            story.append(PageBreak() if _starts_page(chapter) else Spacer(1, 14))
        story.append(CondPageBreak(HEADING + _least(chapter.blocks, room)))
        story.append(
            _marked(escape(chapter.title), styles["h2"], chapter.anchor, chapter.title, found)
        )
        story += _flows(chapter.blocks, styles, room)
    story += [
        Spacer(1, 14),
        Paragraph(escape(document.footer), styles["soft"]),
        page_numbers(document.chapters, found),
    ]
    template.build(story)
    return stream.getvalue()


def _starts_page(chapter: Chapter) -> bool:
    """A chapter that opens with a wide picture starts on a page of its own."""
    return any(isinstance(block, Figure) and block.wide for block in chapter.blocks[:2])


def _styles() -> dict[str, Any]:
    from reportlab.lib.colors import HexColor
    from reportlab.lib.styles import ParagraphStyle

    def style(name: str, size: float, **more: Any) -> Any:
        values = {
            "fontName": FONT,
            "fontSize": size,
            "leading": size * 1.38,
            "spaceAfter": size * 0.35,
            **more,
        }
        return ParagraphStyle(name, **values)

    soft = HexColor("#4a5260")
    return {
        "title": style("title", 20, spaceAfter=2),
        "soft": style("soft", 8.5, textColor=soft),
        "h2": style("h2", 15, spaceBefore=4),
        "h3": style("h3", 11, spaceBefore=6),
        "text": style("text", 9),
        "cell": style("cell", 7.6, spaceAfter=0),
        "right": style("right", 7.6, spaceAfter=0, alignment=2),
        "caption": style("caption", 7.8, textColor=soft, spaceAfter=6),
        "caution": style(
            "caution",
            9,
            backColor=HexColor("#fff1d6"),
            borderPadding=4,
            leftIndent=6,
            rightIndent=6,
            spaceBefore=6,
            spaceAfter=10,
        ),
    }


def _marked(text: str, style: Any, anchor: str, title: str, found: dict[str, int]) -> Any:
    """A chapter's heading: a bookmark, and a note of the page it came to."""
    from reportlab.platypus import Paragraph

    class Marked(Paragraph):
        def draw(self) -> None:
            self.canv.bookmarkPage(anchor)
            self.canv.addOutlineEntry(title, anchor)
            found[anchor] = self.canv.getPageNumber()
            super().draw()

    return Marked(text, style)


def _picture(page: Page, scale: float) -> Any:
    """A page of ours as a flowable."""
    from reportlab.platypus import Flowable

    class Drawn(Flowable):
        def wrap(self, *_: float) -> tuple[float, float]:
            return page.width * PT_PER_MM * scale, page.height * PT_PER_MM * scale

        def draw(self) -> None:
            self.canv.saveState()
            self.canv.scale(scale, scale)
            for item in page.items:
                draw(self.canv, item)
            self.canv.restoreState()

    return Drawn()


def _flows(blocks: Sequence[Block], styles: dict[str, Any], room: tuple[float, float]) -> list[Any]:
    """Flowables of a chapter: a heading never stays alone at a page's foot, small pictures stand
    side by side.
    """
    from reportlab.platypus import CondPageBreak

    story: list[Any] = []
    passed = 0
    for run in runs(blocks):
        if len(run) > 1:
            story += _gallery(run, styles, room)
        else:
            if isinstance(run[0], Heading | Table):
                story.append(CondPageBreak(_least(blocks[passed:], room)))
            story += _flow(run[0], styles, room)
        passed += len(run)
    return story


def _least(blocks: Sequence[Block], room: tuple[float, float]) -> float:
    """Points that a heading needs below it, so that what it heads begins on its page."""
    if not blocks:
        return 0.0
    match blocks[0]:
        case Heading():
            return HEADING + _least(blocks[1:], room)
        case Table():
            return LEAST
        case Figure() as figure:
            return _scale(figure, room) * figure.page.height * PT_PER_MM + HEADING
        case Viewer() as viewer:
            return _least([viewer.still] if viewer.still else blocks[1:], room)
        case Para() | Caution():
            begun = len(blocks) > 1 and isinstance(
                blocks[1], Heading | Figure | Viewer
            )  # a line of text alone heads nothing
            return 2 * HEADING + (_least(blocks[1:], room) if begun else 0.0)
        case _:
            return LEAST


def _scale(block: Figure, room: tuple[float, float]) -> float:
    """Never enlarged beyond true size; wide pictures take the page, others three quarters of its
    width.
    """
    wide, high = room
    part = high * (0.9 if block.wide else 0.45) - HEADING
    across = wide if block.wide else wide * 0.75
    return min(1.0, across / (block.page.width * PT_PER_MM), part / (block.page.height * PT_PER_MM))


def _gallery(run: Sequence[Block], styles: dict[str, Any], room: tuple[float, float]) -> list[Any]:
    """Small pictures side by side, each over its caption; a row never breaks over pages."""
    from reportlab.platypus import LongTable, Paragraph, TableStyle

    column = room[0] / ABREAST
    cells: list[Any] = []
    for block in run:
        assert isinstance(block, Figure)
        scale = min(1.0, (column - 8) / (block.page.width * PT_PER_MM))
        cells.append(
            [_picture(block.page, scale), Paragraph(escape(block.caption), styles["caption"])]
        )
    cells += [""] * (-len(cells) % ABREAST)
    rows = [cells[k : k + ABREAST] for k in range(0, len(cells), ABREAST)]
    look = TableStyle(
        [
            ("FONT", (0, 0), (-1, -1), FONT, SIZE),
            ("VALIGN", (0, 0), (-1, -1), "BOTTOM"),
            ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ]
    )
    return [LongTable(rows, colWidths=[column] * ABREAST, style=look, hAlign="LEFT")]


def _pairs(block: Facts) -> Table:
    """Facts as rows, two beside each other when they are short."""
    rows = block.rows
    if len(rows) < 5 or max(len(name) + len(value) for name, value in rows) > 60:
        return Table("", ("", ""), rows)
    half = -(-len(rows) // 2)
    beside = [*rows[half:], *[("", "")] * (2 * half - len(rows))]
    return Table(
        "",
        ("", "", "", ""),
        tuple((*one, *two) for one, two in zip(rows[:half], beside, strict=True)),
    )


def _said(text: str) -> str:
    """Text for a paragraph; what stands between backticks is a command, set off by quotes."""
    return escape("".join(f'"{part}"' if command else part for command, part in spans(text)))


def _flow(block: Block, styles: dict[str, Any], room: tuple[float, float]) -> list[Any]:
    from reportlab.platypus import Image, KeepTogether, Paragraph, Spacer

    wide, high = room
    match block:
        case Heading():
            return [Paragraph(escape(block.text), styles["h3"])]
        case Para():
            return [Paragraph(_said(block.text), styles["text"])]
        case Caution():
            return [Paragraph("Caution. " + _said(block.text), styles["caution"])]
        case Steps():
            return [
                Paragraph(f"{k}. {_said(item)}", styles["text"])
                for k, item in enumerate(block.items, 1)
            ]
        case Facts():
            return [grid(_pairs(block), styles, wide, head=False), Spacer(1, 6)]
        case Table():
            return [
                Paragraph(escape(block.caption), styles["h3"]),
                grid(block, styles, wide),
                Spacer(1, 6),
            ]
        case Figure():
            drawn = _picture(block.page, _scale(block, room))
            return [KeepTogether([drawn, Paragraph(escape(block.caption), styles["caption"])])]
        case Picture():
            scale = min(1.0, wide / block.width, high * 0.5 / block.height)
            image = Image(io.BytesIO(block.png), block.width * scale, block.height * scale)
            return [
                KeepTogether(
                    [image, Spacer(1, 4), Paragraph(escape(block.caption), styles["caption"])]
                )
            ]
        case Sketches():
            return [Paragraph(escape(f"{block.caption}: see the page"), styles["caption"])]
        case Viewer():
            return _flow(block.still, styles, room) if block.still else []
