"""Document to PDF: the HTML page's chapters on paper; folded ones in an appendix of its own.

Pictures are vectors, the font is embedded, pages are tagged (`pdftags`).
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from html import escape
from typing import Any

from fab.files.doccontents import contents, page_numbers
from fab.files.docpictures import captioned, gallery, least_picture, png
from fab.files.docstep import caution, least_step, step
from fab.files.docstyles import APPENDIX, BOOK, Press, PrintSizes, anchor_mark, press
from fab.files.doctable import LEAST, grid
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
    Step,
    Table,
    Viewer,
    runs,
    spans,
)
from fab.files.pdf import FONT, PT_PER_MM, register_font
from fab.files.pdftags import canvas_of

HEADING = 30.0  # points that a heading takes


def document_pdf(document: Document, width_mm: float, height_mm: float) -> bytes:
    """The document but for its folded chapters, on pages of the given size, with bookmarks and page
    numbers; same document, same bytes.
    """
    chapters = [chapter for chapter in document.chapters if not chapter.folded]
    return _printed(document, document.title, chapters, BOOK, (width_mm, height_mm))


def appendix_pdf(document: Document, width_mm: float, height_mm: float) -> bytes:
    """The folded chapters in small type, as a file of their own that need not be printed."""
    chapters = [chapter for chapter in document.chapters if chapter.folded]
    title = f"{document.title}, appendix"
    return _printed(document, title, chapters, APPENDIX, (width_mm, height_mm))


def _printed(
    document: Document,
    title: str,
    chapters: Sequence[Chapter],
    look: PrintSizes,
    size_mm: tuple[float, float],
) -> bytes:
    from reportlab.platypus import BaseDocTemplate, CondPageBreak, Frame, PageTemplate, Spacer

    register_font()
    made = press(look, *size_mm)
    wide, high = size_mm[0] * PT_PER_MM, size_mm[1] * PT_PER_MM
    margin = look.margin_mm * PT_PER_MM
    frame = Frame(
        margin,
        margin,
        *made.room,
        id="text",
        leftPadding=0,
        rightPadding=0,
        topPadding=0,
        bottomPadding=0,
    )

    def footer(canvas: Any, doc: Any) -> None:
        with made.marker.drawn(canvas, None):
            canvas.setFont(FONT, 7)
            canvas.drawString(margin, margin * 0.5, title)
            canvas.drawRightString(wide - margin, margin * 0.5, f"page {doc.page}")

    stream = io.BytesIO()
    template = BaseDocTemplate(
        stream,
        pagesize=(wide, high),
        invariant=1,
        pageCompression=0,
        title=title,
        author="",
        creator="panejig",
        pageTemplates=[PageTemplate(id="page", frames=[frame], onPage=footer)],
        initialFontName=FONT,
    )
    story: list[Any] = [
        made.para(escape(title), "title", "H1"),
        made.para(escape(document.subtitle), "soft"),
        Spacer(1, 8),
    ]
    listed = len(chapters) > 1  # one chapter needs no list of contents
    if listed:
        story.append(contents(chapters, made))
    known = _anchors(chapters)
    for number, chapter in enumerate(chapters):
        part = made.inside(made.parent.add("Sect"))
        if number:
            story.append(Spacer(1, 14))
        story.append(CondPageBreak(HEADING + _least(chapter.blocks, made)))
        story.append(_marked(escape(chapter.title), part, "h2", chapter.anchor, chapter.title))
        story += _flows(chapter, part, known)
    story += [Spacer(1, 14), made.para(escape(document.footer), "soft")]
    if listed:
        story.append(page_numbers(chapters, made.found))
    template.build(story, canvasmaker=canvas_of(made.marker))
    return stream.getvalue()


def _anchors(chapters: Sequence[Chapter]) -> frozenset[str]:
    """Places that a link of the print can lead to."""
    found = {chapter.anchor for chapter in chapters}
    for chapter in chapters:
        for block in chapter.blocks:
            if isinstance(block, Table):
                found |= set(block.anchors)
            elif isinstance(block, Figure | Step):
                found.add(block.anchor)
    return frozenset(found - {""})


def _marked(text: str, made: Press, style: str, anchor: str, title: str) -> Any:
    """A heading that is a bookmark: a chapter's on the first level, others below it."""
    level = 0 if style == "h2" else 1
    heading = made.para(text, style, "H2" if style == "h2" else "H3")
    draw = heading.draw

    def drawn() -> None:
        heading.canv.bookmarkPage(anchor)
        heading.canv.addOutlineEntry(title, anchor, level, closed=True)
        made.found[anchor] = heading.canv.getPageNumber()
        draw()

    heading.draw = drawn
    return heading


def _flows(chapter: Chapter, made: Press, known: frozenset[str]) -> list[Any]:
    """Flowables of a chapter: no heading alone at a page's foot, small pictures side by side."""
    from reportlab.platypus import CondPageBreak

    story: list[Any] = []
    passed = 0
    for run in runs(chapter.blocks):
        block = run[0]
        if isinstance(block, Heading | Table | Caution):
            story.append(CondPageBreak(_least(chapter.blocks[passed:], made)))
        if len(run) > 1:
            story += gallery(run, made)
        elif isinstance(block, Heading):
            anchor = block.anchor or f"{chapter.anchor}-{passed}"
            story.append(_marked(escape(block.text), made, "h3", anchor, block.text))
        else:
            story += _flow(block, made, known)
        passed += len(run)
    return story


def _least(blocks: Sequence[Block], made: Press) -> float:
    """Points that a heading needs below it, so that what it heads begins on its page."""
    if not blocks:
        return 0.0
    match blocks[0]:
        case Heading():
            return HEADING + _least(blocks[1:], made)
        case Table():
            return LEAST
        case Figure() as figure:
            return least_picture(figure, made)
        case Step() as one:
            return least_step(one, made)
        case Viewer() as viewer:
            return _least([viewer.still] if viewer.still else blocks[1:], made)
        case Para() | Caution():
            # a line of text alone heads nothing
            begun = len(blocks) > 1 and isinstance(blocks[1], Heading | Figure | Step | Viewer)
            return 2 * HEADING + (_least(blocks[1:], made) if begun else 0.0)
        case _:
            return LEAST


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


def _flow(block: Block, made: Press, known: frozenset[str]) -> list[Any]:
    from reportlab.platypus import Spacer

    match block:
        case Para():
            return [made.para(_said(block.text), "text")]
        case Caution():
            return [caution(block.text, made, _said)]
        case Step():
            return [step(block, made, _said)]
        case Facts():
            return [grid(_pairs(block), made, head=False), Spacer(1, 6)]
        case Table():
            caption = made.para(escape(block.caption), "h3", "Caption")
            return [caption, grid(block, made, known=known), Spacer(1, 6)]
        case Figure():
            return [captioned(block, made, anchor_mark(block.anchor))]
        case Picture():
            return png(block, made)
        case Sketches():
            return [made.para(escape(f"{block.caption}: see the page"), "caption")]
        case Viewer():
            return _flow(block.still, made, known) if block.still else []
        case Heading():
            raise AssertionError("headings are set by the chapter")
