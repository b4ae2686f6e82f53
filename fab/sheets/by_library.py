"""The strip library's layouts of one sheet, and full sheets of one kind made with it."""

from __future__ import annotations

import math
import os
import time
from collections.abc import Sequence
from dataclasses import replace

from fab.sheets import strip
from fab.sheets.compact import Compactor
from fab.sheets.fill_holes import Host, common_turns, unpacked
from fab.sheets.identical import room
from fab.sheets.mixed import Trial, full_of_one
from fab.sheets.model import Sheet
from fab.sheets.nofit import Shape
from fab.sheets.sheet_fill import Laid
from fab.sheets.stock_parts import Budget, StockParts, Stop

# of a sheet's area is worth a try; a layout longer than the best by this is not worth pressing
HOPE, NO_HOPE = 0.88, 1.02


def _over(budget: Budget) -> Stop:
    return lambda: budget.over


def denser(parts: StockParts, budget: Budget) -> bool:
    """Full sheets of one kind by the library, for kinds that are not convex and fill a sheet and
    more alone; whether a sheet holds more than before.
    """
    sheets = [
        sheet
        for sheet in parts.sheets
        if sheet.is_rectangle and not sheet.offcut and sheet.count > 1
    ]
    if not sheets:
        return False
    better = False
    sheet = min(sheets, key=lambda s: s.price / s.area)
    kinds = [
        path
        for path in parts.ways
        if path.convex is None and path.area * path.piece.count > sheet.area / 2
    ]
    wide, high = room(sheet)
    compactor = Compactor(high, parts.gap_mm, lambda: budget.left_s)
    for k, path in enumerate(kinds):
        own = replace(budget, until=time.monotonic() + budget.left_s / (len(kinds) - k))
        before = full_of_one(parts, path, sheet, Trial(parts.ways, "right", "", hurry=_over(own)))
        offered = dict.fromkeys((p.piece.name for p in parts.ways), 0)
        offered[path.piece.name] = min(path.piece.count, math.ceil(HOPE * sheet.area / path.area))
        for laid in by_library(parts, offered, (), sheet, own):
            legal = compactor.legal(laid, NO_HOPE - 1.0)
            fits = tuple(
                replace(item, x=item.x + sheet.margin, y=item.y + sheet.margin)
                for item in legal or ()
                if item.right <= wide + 1e-6
            )
            if len(fits) > len(before):
                parts.full[path.piece.name, sheet] = before = fits
                better = True
    return better


def by_library(
    parts: StockParts, rest: dict[str, int], hosts: Sequence[Host], sheet: Sheet, budget: Budget
) -> list[list[Laid]]:
    """The library's layouts with hosts unpacked, from x = 0, y = 0, shortest first."""

    def turner(shape: Shape, deg: float) -> Shape:
        return parts.shape(shape.path, round(deg, 9))

    stuffed_by = {path.piece.name: [h for h in hosts if h.path is path] for path in parts.ways}
    wanted = []
    for path in parts.ways:
        count = rest[path.piece.name]
        if count <= 0:
            continue
        guests = stuffed_by[path.piece.name]
        turns = path.turns(grain=sheet.grain) if path.piece.turns != "free" or sheet.grain else None
        for host in guests:  # every copy keeps the turns that its guests can share
            both = common_turns(host, grain=sheet.grain)
            turns = (
                both
                if turns is None or both is None
                else tuple(t for t in turns if t in both) or (0.0,)
            )
        wanted.append((parts.shape(path, 0.0), count, turns))
    _, high = room(sheet)
    found = strip.packed(wanted, high, parts.gap_mm, budget, os.cpu_count() or 1, turner)
    return [_with_guests(parts, laid, stuffed_by) for laid in found]


def _with_guests(
    parts: StockParts, laid: Sequence[Laid], hosts: dict[str, list[Host]]
) -> list[Laid]:
    waiting = {name: list(found) for name, found in hosts.items()}
    out: list[Laid] = []
    for item in laid:
        out.append(item)
        mine = waiting[item.shape.path.piece.name]
        if mine:
            out += unpacked(parts, mine.pop(), item)
    return out
