"""A step of the work in the print: its picture beside its texts, or over them where it is wide; a
step never breaks over pages.
"""

from __future__ import annotations

from collections.abc import Callable
from html import escape
from typing import Any

from fab.files.docpictures import drawn
from fab.files.docstyles import Press, anchor_mark
from fab.files.document import Step, signalled
from fab.files.pdf import FONT, PT_PER_MM

PICTURE_MM, GUTTER_MM = 62.0, 5.0  # width of a small picture, and between it and the texts
HIGH_SHARE = 0.4  # of a page's height that a wide picture takes at most
LABEL = "#0b5d8a"
WORDS = 110.0  # points that title and texts take, as a rule


def step(block: Step, made: Press, said: Callable[[str], str]) -> Any:
    """One flowable; `said` makes a text's markup."""
    from reportlab.platypus import Table, TableStyle

    wide = made.room[0]
    title = made.para(anchor_mark(block.anchor) + escape(block.title), "h3", "H3")
    heads = [title]
    if block.caution:
        heads.append(caution(block.caution, made, said))
    picture = drawn(block.page, _scale(block, made), made)
    texts = [made.para(_labelled(label, said(text)), "text") for label, text in block.texts]
    look: list[tuple[Any, ...]] = [
        ("FONT", (0, 0), (-1, -1), FONT, made.look.cell),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 0),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
    ]
    if block.wide:
        return Table([[[*heads, picture, *texts]]], colWidths=[wide], style=TableStyle(look))
    left = (PICTURE_MM + GUTTER_MM) * PT_PER_MM
    rows = [[heads, ""], [picture, texts]]
    look += [("SPAN", (0, 0), (1, 0)), ("NOSPLIT", (0, 0), (-1, -1))]
    return Table(rows, colWidths=[left, wide - left], style=TableStyle(look), hAlign="LEFT")


def _labelled(label: str, markup: str) -> str:
    """A text whose label is set off by its colour: the font has no bold face."""
    return f'<font color="{LABEL}">{label}:</font> {markup}'


def caution(text: str, made: Press, said: Callable[[str], str]) -> Any:
    """The caution of a step, under its signal word."""
    word, rest = signalled(text)
    return made.para(f"{word} {said(rest)}", "caution", "Note")


def least_step(block: Step, made: Press) -> float:
    """Points that a step needs on a page."""
    high = _scale(block, made) * block.page.height * PT_PER_MM
    return high + WORDS if block.wide else max(high + 30.0, WORDS)


def _scale(block: Step, made: Press) -> float:
    """Never enlarged beyond true size."""
    page, (wide, high) = block.page, made.room
    across = wide if block.wide else PICTURE_MM * PT_PER_MM
    most = high * HIGH_SHARE
    return min(1.0, across / (page.width * PT_PER_MM), most / (page.height * PT_PER_MM))
