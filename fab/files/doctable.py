"""Tables of the print: columns share the width by content, long ones break, header repeated."""

from __future__ import annotations

from collections.abc import Container, Iterator, Sequence
from html import escape
from typing import Any

from fab.files.docstyles import Press, anchor_mark
from fab.files.document import MARKS, Table, TableLine
from fab.files.pdf import FONT
from fab.files.pdftags import table_class

_TINTS = {"pass": "#e3f3ea", "warn": "#fdeccb", "fail": "#fbd5d8"}
PAD = 13.0  # points beside a cell's text
LEAST = 70.0  # points that caption, header and the first rows need at a page's foot


def grid(block: Table, press: Press, *, head: bool = True, known: Container[str] = ()) -> Any:
    """The table as a flowable of reportlab, over the whole width.

    `known`: the anchors that the print has; a cell's link to another place is left out.
    """
    from reportlab.lib.colors import HexColor
    from reportlab.platypus import TableStyle

    size, tree = press.look.cell, press.parent.add("Table")

    def line(cells: Sequence[str], kinds: Sequence[str]) -> list[Any]:
        here = press.inside(tree.add("TR"))
        return [
            here.para(text, "right" if k in block.numeric else "cell", kind)
            for k, (text, kind) in enumerate(zip(cells, kinds, strict=True))
        ]

    def markup(row: TableLine) -> Iterator[str]:
        badge, anchor = f"[{row.word}] " if row.mark else "", anchor_mark(row.anchor)
        for text, link in row.cells:
            said = escape(badge + text)
            if link.startswith("#") and link[1:] in known and text:
                said = f'<a href="{escape(link)}">{said}</a>'
            yield anchor + said
            badge = anchor = ""

    wide = press.room[0]
    rows = [line([escape(name) for name in block.header], ["TH"] * len(block.header))] * head
    first = "TD" if not head else "TH"  # a row of facts has its names as cells
    for row in block.lines():
        rows.append(line(list(markup(row)), [first, *["TD"] * (len(row.cells) - 1)]))
    look = [
        ("FONT", (0, 0), (-1, -1), FONT, size),
        ("LINEBELOW", (0, 0), (-1, -1), 0.4, HexColor("#c9c5bb")),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 9),
        ("TOPPADDING", (0, 0), (-1, -1), 0.26 * size),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 0.33 * size),
    ]
    look += [
        ("BACKGROUND", (0, row), (0, row), HexColor(_TINTS[mark]))
        for row, mark in enumerate(block.marks, 1 if head else 0)
        if mark
    ]
    table = table_class()(
        rows,
        colWidths=_widths(block, wide, size),
        repeatRows=1 if head else 0,
        style=TableStyle(look),
        hAlign="LEFT",
    )
    table.marker = press.marker
    return table


def _widths(block: Table, wide: float, size: float) -> list[float]:
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
                f"[{MARKS[mark]}] {row[0]}"
                for mark, row in zip(block.marks, block.rows, strict=True)
                if mark
            ),
        )
    word = [
        max(stringWidth(part, FONT, size) for text in column for part in text.split() or [""]) + PAD
        for column in columns
    ]
    drawn = [[stringWidth(text, FONT, size) + PAD for text in column] for column in columns]
    full = [max(column) for column in drawn]
    if sum(full) <= wide:
        return full
    spare = wide - sum(word)
    # one long word without a break: shrink in proportion, the cell breaks inside the word
    if spare <= 0:
        return [width * wide / sum(word) for width in word]
    mean = [sum(column) / len(column) for column in drawn]  # who has more to say gets more room
    want = [max(min(f, 1.5 * m) - w, 0.0) for f, m, w in zip(full, mean, word, strict=True)]
    return [w + spare * part / (sum(want) or 1.0) for w, part in zip(word, want, strict=True)]
