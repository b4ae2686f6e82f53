"""Document to PDF: the same chapters as the HTML page, set on paper. Pictures are vectors, the font is embedded."""

from __future__ import annotations

import io
from html import escape
from typing import Any

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
)  # fmt: skip
from fab.files.pdf import FONT, PT_PER_MM, draw, register_font
from fab.outlines.page import Page

MARGIN_MM = 16.0
_WORDS = {"pass": "pass", "warn": "look", "fail": "FAIL"}
_TINTS = {"pass": "#e3f3ea", "warn": "#fdeccb", "fail": "#fbd5d8"}


def document_pdf(document: Document, width_mm: float, height_mm: float) -> bytes:
    """The document on pages of the given size, with bookmarks and page numbers; same document, same bytes."""
    from reportlab.platypus import BaseDocTemplate, Frame, PageBreak, PageTemplate, Paragraph, Spacer

    register_font()
    styles = _styles()
    wide, high = width_mm * PT_PER_MM, height_mm * PT_PER_MM
    margin = MARGIN_MM * PT_PER_MM
    frame = Frame(margin, margin, wide - 2 * margin, high - 2 * margin, id="text", leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0)
    room = (wide - 2 * margin, high - 2 * margin)

    def footer(canvas: Any, doc: Any) -> None:
        canvas.setFont(FONT, 7)
        canvas.drawString(margin, margin * 0.5, document.title)
        canvas.drawRightString(wide - margin, margin * 0.5, f"page {doc.page}")

    stream = io.BytesIO()
    template = BaseDocTemplate(
        stream, pagesize=(wide, high), invariant=1, pageCompression=0, title=document.title, author="", creator="panejig",
        pageTemplates=[PageTemplate(id="page", frames=[frame], onPage=footer)], initialFontName=FONT,
    )  # fmt: skip
    story: list[Any] = [
        Paragraph(escape(document.title), styles["title"]), Paragraph(escape(document.subtitle), styles["soft"]),
        Spacer(1, 8),
    ]  # fmt: skip
    for number, chapter in enumerate(document.chapters):
        if number:
            story.append(PageBreak() if _starts_page(chapter) else Spacer(1, 14))
        story.append(_Marked(escape(chapter.title), styles["h2"], chapter.anchor, chapter.title))
        for block in chapter.blocks:
            story += _flow(block, styles, room)
    story += [Spacer(1, 14), Paragraph(escape(document.footer), styles["soft"])]
    template.build(story)
    return stream.getvalue()


def _starts_page(chapter: Chapter) -> bool:
    """A chapter that opens with a wide picture starts on a page of its own."""
    return any(isinstance(block, Figure) and block.wide for block in chapter.blocks[:2])


def _styles() -> dict[str, Any]:
    from reportlab.lib.colors import HexColor
    from reportlab.lib.styles import ParagraphStyle

    def style(name: str, size: float, **more: Any) -> Any:
        values = {"fontName": FONT, "fontSize": size, "leading": size * 1.38, "spaceAfter": size * 0.35, **more}
        return ParagraphStyle(name, **values)

    soft = HexColor("#4a5260")
    return {
        "title": style("title", 20, spaceAfter=2), "soft": style("soft", 8.5, textColor=soft), "h2": style("h2", 15, spaceBefore=4, keepWithNext=1),
        "h3": style("h3", 11, spaceBefore=6, keepWithNext=1), "text": style("text", 9), "cell": style("cell", 7.6, spaceAfter=0),
        "right": style("right", 7.6, spaceAfter=0, alignment=2), "caption": style("caption", 7.8, textColor=soft, spaceAfter=6),
        "caution": style("caution", 9, backColor=HexColor("#fff1d6"), borderPadding=4, leftIndent=6, rightIndent=6, spaceBefore=6, spaceAfter=10),
    }  # fmt: skip


def _Marked(text: str, style: Any, anchor: str, title: str) -> Any:
    from reportlab.platypus import Paragraph

    class Marked(Paragraph):
        def draw(self) -> None:
            self.canv.bookmarkPage(anchor)
            self.canv.addOutlineEntry(title, anchor)
            super().draw()

    return Marked(text, style)


def _picture(page: Page, wide: float, high: float) -> Any:
    """A page of ours as a flowable, shrunk to the room there is, never enlarged beyond its true size."""
    from reportlab.platypus import Flowable

    scale = min(1.0, wide / (page.width * PT_PER_MM), high / (page.height * PT_PER_MM))

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


def _flow(block: Block, styles: dict[str, Any], room: tuple[float, float]) -> list[Any]:
    from reportlab.platypus import Image, KeepTogether, Paragraph, Spacer

    wide, high = room
    match block:
        case Heading():
            return [Paragraph(escape(block.text), styles["h3"])]
        case Para():
            return [Paragraph(escape(block.text), styles["text"])]
        case Caution():
            return [Paragraph("Caution. " + escape(block.text), styles["caution"])]
        case Steps():
            return [Paragraph(f"{k}. {escape(item)}", styles["text"]) for k, item in enumerate(block.items, 1)]
        case Facts():
            rows = tuple((name, value) for name, value in block.rows)
            return [_grid(Table("", ("", ""), rows), styles, wide, head=False)]
        case Table():
            return [Paragraph(escape(block.caption), styles["h3"]), _grid(block, styles, wide), Spacer(1, 6)]
        case Figure():
            part = high * (0.9 if block.wide else 0.45)
            drawn = _picture(block.page, wide if block.wide else wide * 0.75, part - 30)
            return [KeepTogether([drawn, Paragraph(escape(block.caption), styles["caption"])])]
        case Picture():
            scale = min(1.0, wide / block.width, high * 0.5 / block.height)
            image = Image(io.BytesIO(block.png), block.width * scale, block.height * scale)
            return [KeepTogether([image, Paragraph(escape(block.caption), styles["caption"])])]
        case Sketches():
            return [Paragraph(escape(f"{block.caption}: see the page"), styles["caption"])]
        case Viewer():
            return _flow(block.still, styles, room)


def _grid(block: Table, styles: dict[str, Any], wide: float, *, head: bool = True) -> Any:
    """A table whose columns share the width by what stands in them; long tables break over pages, header repeated."""
    from reportlab.lib.colors import HexColor
    from reportlab.platypus import LongTable, Paragraph, TableStyle

    def cell(text: str, column: int) -> Any:
        return Paragraph(escape(text), styles["right" if column in block.numeric else "cell"])

    marks = block.marks or ("",) * len(block.rows)
    body = [
        [cell((f"[{_WORDS[mark]}] " if mark and k == 0 else "") + text, k) for k, text in enumerate(row)]
        for row, mark in zip(block.rows, marks, strict=True)
    ]
    rows = ([[cell(name, k) for k, name in enumerate(block.header)]] if head else []) + body
    look = [
        ("LINEBELOW", (0, 0), (-1, -1), 0.4, HexColor("#c9c5bb")), ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0), ("RIGHTPADDING", (0, 0), (-1, -1), 6), ("TOPPADDING", (0, 0), (-1, -1), 2),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 2.5),
    ]  # fmt: skip
    look += [
        ("BACKGROUND", (0, row), (0, row), HexColor(_TINTS[mark]))
        for row, mark in enumerate(marks, 1 if head else 0)
        if mark
    ]
    return LongTable(
        rows, colWidths=_widths(block, wide), repeatRows=1 if head else 0, style=TableStyle(look), hAlign="LEFT"
    )


def _widths(block: Table, wide: float) -> list[float]:
    """Column widths: every column its longest word at least, the rest by the length of its text."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    columns = list(zip(block.header, *block.rows, strict=False)) if block.rows else [(name,) for name in block.header]
    if block.marks:  # the first column carries the verdict's word too
        columns[0] = (*columns[0], *(f"[{_WORDS[mark]}] {row[0]}" for mark, row in zip(block.marks, block.rows, strict=True) if mark))
    word = [max(stringWidth(part, FONT, 7.6) for text in column for part in (text.split() or [""])) + 10 for column in columns]
    full = [min(max(stringWidth(text, FONT, 7.6) for text in column) + 10, wide * 0.6) for column in columns]
    if sum(full) <= wide:
        return full
    spare = wide - sum(word)
    if spare <= 0:  # one long word without a break: shrink in proportion, the cell breaks inside the word
        return [width * wide / sum(word) for width in word]
    want = [max(f - w, 0.0) for f, w in zip(full, word, strict=True)]
    return [w + spare * part / (sum(want) or 1.0) for w, part in zip(word, want, strict=True)]
