"""Pictures of a build's sheets: equal sheets once, and so many kinds at most."""

from __future__ import annotations

from collections.abc import Iterator

from fab.files.pagepng import small_png
from fab.outlines.page import Page
from fab.outputs.cut import Nested
from fab.outputs.model import OutFile
from fab.sheets.picture import sheet_picture

MOST_PICTURES = 12  # more kinds of sheets are listed only


def pages(job: str, nested: Nested) -> Iterator[tuple[str, Page]]:
    """("sheet-01", its picture), the first of equal sheets."""
    shown: set[object] = set()
    for name, one, layup in nested.layups:
        key = (one.name, layup.sheet, tuple((p.piece, p.x, p.y, p.turn_deg) for p in layup.placed))
        if key in shown or len(shown) == MOST_PICTURES:
            continue
        shown.add(key)
        rests = nested.rests(job, name, one, layup)
        yield name, sheet_picture(layup, nested.plan(one, layup), one.pieces, one.stock, rests, f"{job}, {name}")


def files(job: str, nested: Nested) -> list[OutFile]:
    """cut/sheet-01.png beside the cut files: what lies where, in which order it is cut, what is left."""
    known = {name: (one.name, sum(layup.counts.values())) for name, one, layup in nested.layups}
    return [OutFile(f"cut/{name}.png", "cut-sheet", small_png(page), *known[name]) for name, page in pages(job, nested)]
