"""Looks of the print: sizes, margins and styles of the book and of its appendix, and the state that
its pages share while they are set.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from html import escape
from typing import Any

from fab.files.pdf import FONT, PT_PER_MM
from fab.files.pdftags import Marker, Tag, paragraph_class
from fab.outlines.inks import SOFT_INK

SOFT = SOFT_INK


@dataclass(frozen=True)
class PrintSizes:
    """Sizes of one kind of print: margin in mm, letters in points."""

    margin_mm: float = 16.0
    text: float = 9.0
    cell: float = 7.6


BOOK = PrintSizes()
APPENDIX = PrintSizes(margin_mm=11.0, text=7.0, cell=5.6)


@dataclass(frozen=True)
class Press:
    """A flowable's surroundings: styles, room in points, and its place in the tree of tags."""

    look: PrintSizes
    styles: dict[str, Any]
    room: tuple[float, float]
    marker: Marker
    parent: Tag
    found: dict[str, int] = field(default_factory=dict)  # anchor of a chapter to its page

    def inside(self, parent: Tag) -> Press:
        """The same below another element of the tree."""
        return replace(self, parent=parent)

    def para(self, text: str, style: str, kind: str = "P") -> Any:
        """A paragraph of markup as the next element of the tree."""
        made = paragraph_class()(text, self.styles[style])
        made.marker, made.tag = self.marker, self.parent.add(kind)
        return made


def press(look: PrintSizes, width_mm: float, height_mm: float) -> Press:
    """For pages of the given size."""
    margin = 2 * look.margin_mm
    room = ((width_mm - margin) * PT_PER_MM, (height_mm - margin) * PT_PER_MM)
    root = Tag("Document")
    return Press(look, _styles(look), room, Marker(root), root)


def anchor_mark(anchor: str) -> str:
    """Markup that makes a place a link can lead to."""
    return f'<a name="{escape(anchor)}"/>' if anchor else ""


def _styles(look: PrintSizes) -> dict[str, Any]:
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

    soft, share = HexColor(SOFT), look.text / 9.0
    tight = {"spaceAfter": 0, "leading": look.cell * (1.38 if share == 1.0 else 1.2)}
    return {
        "title": style("title", 20 * share, spaceAfter=2),
        "soft": style("soft", 8.5 * share, textColor=soft),
        "h2": style("h2", 15 * share, spaceBefore=4),
        "h3": style("h3", 11 * share, spaceBefore=6),
        "text": style("text", look.text),
        "cell": style("cell", look.cell, **tight),
        "right": style("right", look.cell, alignment=2, **tight),
        "caption": style("caption", 7.8 * share, textColor=soft, spaceAfter=6),
        "caution": style(
            "caution",
            look.text,
            backColor=HexColor("#fff1d6"),
            borderPadding=4,
            leftIndent=6,
            rightIndent=6,
            spaceBefore=6,
            spaceAfter=10,
        ),
    }
