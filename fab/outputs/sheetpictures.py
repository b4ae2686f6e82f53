"""Pictures of a build's sheets: equal sheets once, and so many kinds at most."""

from __future__ import annotations

from collections.abc import Iterator

from fab.files.pagepng import small_png
from fab.outlines.page import Page
from fab.outputs.model import OutFile
from fab.outputs.nested import Kind, Nested
from fab.sheets.picture import sheet_picture

MOST_PICTURES = 12  # more kinds of sheets are listed only


def pages(job: str, nested: Nested) -> Iterator[tuple[Kind, Page]]:
    """The first kinds of sheets, each with its picture."""
    for kind in nested.kinds(job)[:MOST_PICTURES]:
        title = f"{job}, {kind.name}" + (f", {kind.times} times" if kind.times > 1 else "")
        one = kind.stock
        yield kind, sheet_picture(kind.layup, kind.plan, one.pieces, one.stock, kind.rests, title)


def files(job: str, nested: Nested) -> list[OutFile]:
    """cut/sheet-01.png beside the cut files: what lies where, in which order it is cut, what is
    left.
    """
    return [
        OutFile(
            f"cut/{kind.stem}.png",
            "cut-sheet",
            small_png(page),
            kind.stock.name,
            sum(kind.layup.counts.values()),
        )
        for kind, page in pages(job, nested)
    ]
