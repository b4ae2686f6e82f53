"""Tables of the print: columns share the width by what stands in them, long ones break over pages,
header repeated.
"""

from __future__ import annotations

from html import escape
from typing import Any

from fab.files.document import Table
from fab.files.pdf import FONT

WORDS = {"pass": "pass", "warn": "look", "fail": "FAIL"}
_TINTS = {"pass": "#e3f3ea", "warn": "#fdeccb", "fail": "#fbd5d8"}
SIZE = 7.6  # letters of a cell, points
PAD = 13.0  # points beside a cell's text
LEAST = 70.0  # points that caption, header and the first rows need at a page's foot


def grid(block: Table, styles: dict[str, Any], wide: float, *, head: bool = True) -> Any:
    """The table as a flowable of reportlab; `wide` in points."""
    from reportlab.lib.colors import HexColor
    from reportlab.platypus import LongTable, Paragraph, TableStyle

    def cell(text: str, column: int) -> Any:
        return Paragraph(escape(text), styles["right" if column in block.numeric else "cell"])

    marks = block.marks or ("",) * len(block.rows)
    body = [
        [
            cell((f"[{WORDS[mark]}] " if mark and k == 0 else "") + text, k)
            for k, text in enumerate(row)
        ]
        for row, mark in zip(block.rows, marks, strict=True)
    ]
    rows = ([[cell(name, k) for k, name in enumerate(block.header)]] if head else []) + body
    look = [
        ("FONT", (0, 0), (-1, -1), FONT, SIZE),
        ("LINEBELOW", (0, 0), (-1, -1), 0.4, HexColor("#c9c5bb")),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 9),
        ("TOPPADDING", (0, 0), (-1, -1), 2),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 2.5),
    ]
    look += [
        ("BACKGROUND", (0, row), (0, row), HexColor(_TINTS[mark]))
        for row, mark in enumerate(marks, 1 if head else 0)
        if mark
    ]
    return LongTable(
        rows,
        colWidths=_widths(block, wide),
        repeatRows=1 if head else 0,
        style=TableStyle(look),
        hAlign="LEFT",
    )


def _widths(block: Table, wide: float) -> list[float]:
    """Column widths: every column its longest word at least, the rest by the length of its text."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    columns = (
        list(zip(block.header, *block.rows, strict=False))
        if block.rows
        else [(name,) for name in block.header]
    )
    if block.marks:  # the first column carries the verdict's word too
        columns[0] = (
            *columns[0],
            *(
                f"[{WORDS[mark]}] {row[0]}"
                for mark, row in zip(block.marks, block.rows, strict=True)
                if mark
            ),
        )
    word = [
        max(stringWidth(part, FONT, SIZE) for text in column for part in text.split() or [""]) + PAD
        for column in columns
    ]
    drawn = [[stringWidth(text, FONT, SIZE) + PAD for text in column] for column in columns]
    full = [max(column) for column in drawn]
    if sum(full) <= wide:
        return full
    spare = wide - sum(word)
    if (
        spare <= 0
    ):  # one long word without a break: shrink in proportion, the cell breaks inside the word
        return [width * wide / sum(word) for width in word]
    mean = [sum(column) / len(column) for column in drawn]  # who has more to say gets more room
    want = [max(min(f, 1.5 * m) - w, 0.0) for f, m, w in zip(full, mean, word, strict=True)]
    return [w + spare * part / (sum(want) or 1.0) for w, part in zip(word, want, strict=True)]
