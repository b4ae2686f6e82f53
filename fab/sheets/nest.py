"""The nest: pieces and sheets in, layups out.

Least cost first, then the largest single usable rest.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Sequence

from fab.errors import Fault, InputError
from fab.outlines.contour import Outline
from fab.params.shop import Laser
from fab.sheets.bounds import claimed_mm2, cover, free_mm2, most_alone, most_by_area
from fab.sheets.identical import Pattern, identical, room
from fab.sheets.lock import Kept, Locks, inputs_sha256, taken_from
from fab.sheets.model import Layup, Nest, Piece, Sheet
from fab.sheets.paths import Path, paths, refuse_giants
from fab.sheets.scales import sheets_by_lengths
from fab.sheets.search import fill_mixed
from fab.sheets.stock_parts import StockParts, beside_mm2
from fab.units import fixed

# what is going on, share of the utilisation reached so far (0..1)
Progress = Callable[[str, float], None]


def _never() -> bool:
    return False


def silent(_says: str, _share: float) -> None:
    """Progress that nobody watches."""


def nest(
    pieces: Sequence[Piece],
    sheets: Sequence[Sheet],
    *,
    gap_mm: float,
    kerf_mm: float,
    seconds: float = 0.0,
    seed: int = 1,
    found: Locks | None = None,
    stop: Callable[[], bool] = _never,
    progress: Progress = silent,
    shared_lines: bool = False,
) -> Nest:
    """Place every copy of every piece on the sheets of its stock.

    pieces: nominal outlines; the cut path is grown by half of `kerf_mm`. gap_mm: least distance
    between two cut paths. seconds: 0 is the quick way, which gives the same answer on every
    machine; more asks for a search by the clock, whose result should be kept with `lock` and handed
    in again as `found`, under its `inputs_sha256`. What was found before for the same inputs is
    never made worse, and is taken as it is unless a longer search or another seed is asked for.
    shared_lines: one convex kind goes edge on edge in straight or honeycomb rows. stop: asked now
    and then; when it says True (Ctrl-C), the best so far comes back. Copies that found no sheet
    stand in `missing`; `shortage` tells what to buy. Raises InputError for pieces that can't be cut
    and for pieces larger than every sheet of their stock.
    """
    for name, value in (("gap", gap_mm), ("kerf", kerf_mm), ("seconds", seconds)):
        if not 0 <= value < math.inf:
            raise InputError([Fault(name, f"{value} is out of range.", "It must be 0 or more.")])
    wanted = [piece for piece in pieces if piece.count > 0]
    key = inputs_sha256(wanted, sheets, gap_mm, kerf_mm)
    kept = taken_from(found or {}, key, wanted, sheets)
    ways = paths(wanted, kerf_mm)
    refuse_giants(ways, sheets)
    parts = []
    for stock in sorted({piece.stock for piece in wanted}):
        own = tuple(path for path in ways if path.piece.stock == stock)
        parts.append(
            _one_stock(
                own,
                [sheet for sheet in sheets if sheet.stock == stock],
                gap_mm,
                seconds,
                seed,
                stop,
                progress,
                kept,
                shared=shared_lines,
            )
        )
    layups = tuple(layup for part in parts for layup in part[0])
    counted: dict[str, int] = {}
    for layup in layups:
        for name, count in layup.counts.items():
            counted[name] = counted.get(name, 0) + count
    missing = {
        p.name: p.count - counted.get(p.name, 0) for p in wanted if p.count > counted.get(p.name, 0)
    }
    return Nest(
        layups,
        missing,
        math.fsum(layup.sheet.price for layup in layups),
        sum(part[1] for part in parts),
        math.fsum(part[2] for part in parts),
        ", ".join(sorted({part[3] for part in parts})),
        ", ".join(sorted({part[4] for part in parts})),
        key,
        *(
            (kept.seconds, kept.seed)
            if kept is not None and kept.serves(seconds, seed)
            else (seconds, seed)
        ),
        kept is not None and layups == kept.layups,
    )


# layups, bound on sheets, bound on cost, bound by, engine
Part = tuple[list[Layup], int, float, str, str]


def _one_stock(
    ways: tuple[Path, ...],
    sheets: list[Sheet],
    gap_mm: float,
    seconds: float,
    seed: int,
    stop: Callable[[], bool],
    progress: Progress,
    kept: Kept | None,
    *,
    shared: bool,
) -> Part:
    began = time.monotonic()
    fewest, cost, by = bound(ways, sheets, gap_mm)
    before = (
        [layup for layup in kept.layups if layup.sheet.stock == ways[0].piece.stock]
        if kept is not None
        else []
    )
    if kept is not None and kept.serves(seconds, seed):
        return before, fewest, cost, by, kept.engine
    if seconds > 0:  # the bound is part of the time
        seconds = max(seconds - (time.monotonic() - began), 0.01)
    found, engine = _laid(ways, sheets, gap_mm, seconds, seed, stop, progress, shared=shared)
    if kept is not None and _worth(before, ways) <= _worth(found, ways):
        return before, fewest, cost, by, kept.engine
    return found, fewest, cost, by, engine


def _laid(
    ways: tuple[Path, ...],
    sheets: list[Sheet],
    gap_mm: float,
    seconds: float,
    seed: int,
    stop: Callable[[], bool],
    progress: Progress,
    *,
    shared: bool,
) -> tuple[list[Layup], str]:
    """Layups of one stock, and which method found them."""
    if (
        len(ways) == 1
        and ways[0].convex is not None
        and all(sheet.is_rectangle for sheet in sheets)
    ):
        rows = identical(ways[0], sheets, gap_mm, shared=shared)
        if seconds <= 0 or shared:
            return rows, "rows"
        found, engine = fill_mixed(StockParts(ways, sheets, gap_mm), seconds, seed, stop, progress)
        return (found, engine) if _worth(found, ways) < _worth(rows, ways) else (rows, "rows")
    return fill_mixed(StockParts(ways, sheets, gap_mm), seconds, seed, stop, progress)


def _worth(layups: Sequence[Layup], ways: Sequence[Path]) -> tuple[int, float, int, int, int]:
    """Most copies, least cost, fewest whole sheets, largest single rest to the mm2, fewest offcuts;
    less is better.
    """
    outlines = {path.piece.name: path.outline.edge for path in ways}
    copies = sum(len(layup.placed) for layup in layups)
    rest = 0.0
    for layup in layups:
        boxes = [item.outline(Outline(outlines[item.piece])).box for item in layup.placed]
        rest = max(
            rest,
            (
                beside_mm2(layup.sheet, max(b[2] for b in boxes), max(b[3] for b in boxes))
                if boxes
                else 0.0
            ),
        )
    cost = round(math.fsum(layup.sheet.price for layup in layups), 6)
    whole = sum(1 for layup in layups if not layup.sheet.offcut)
    return (-copies, cost, whole, -round(rest), len(layups))


def bound(ways: Sequence[Path], sheets: Sequence[Sheet], gap_mm: float) -> tuple[int, float, str]:
    """Fewest sheets and least cost that any nest needs, and the argument behind it.

    Each kind of piece alone bounds the number of sheets, and so do the area that all of them claim
    with their gaps, the number of large ones of which no two fit one sheet, and lengths
    (`scales.py`).
    """
    best: list[tuple[int, float, str]] = []
    for path in ways:
        offers = []
        for sheet in sheets:
            most = most_by_area(sheet, path.area)
            if path.convex is not None and sheet.is_rectangle:
                most = min(most, Pattern(path, gap_mm, grain=sheet.grain).bound(sheet))
            offers.append((most, sheet.price, sheet.count))
        best.append((*cover(path.piece.count, offers), f"room for {path.piece.name}"))
    scale = 1000  # areas as whole numbers of 1/1000 mm2
    area = math.fsum(claimed_mm2(path.outline, gap_mm) * path.piece.count for path in ways)
    offers = [
        (math.ceil(free_mm2(sheet, gap_mm) * scale), sheet.price, sheet.count) for sheet in sheets
    ]
    best.append((*cover(int(area * scale), offers), "area"))
    if all(sheet.is_rectangle for sheet in sheets):
        discs = [
            (path.convex.incircle, path.piece.count)
            for path in ways
            if path.convex is not None and not path.outline.holes
        ]
        alone = min((most_alone(discs, *room(sheet), gap_mm) for sheet in sheets), default=0)
        best.append((*cover(alone, [(1, sheet.price, sheet.count) for sheet in sheets]), "pairs"))
        if len({(sheet.width, sheet.height, sheet.margin) for sheet in sheets}) == 1:
            grain = all(sheet.grain for sheet in sheets)
            kinds = [
                (path.convex.swollen(gap_mm / 2), path.turns(grain=grain), path.piece.count)
                for path in ways
                if path.convex is not None
                and not path.outline.holes
                and (path.piece.turns != "free" or grain)
            ]
            wide, high = room(sheets[0])
            if min(wide, high) > 0:
                needed = sheets_by_lengths(kinds, wide + gap_mm, high + gap_mm)
                offers = [(1, sheet.price, sheet.count) for sheet in sheets]
                best.append((*cover(needed, offers), "lengths"))
    fewest = max(best, key=lambda b: b[0])
    return fewest[0], max(b[1] for b in best), fewest[2]


def gap_of(laser: Laser, pieces: Sequence[Piece]) -> float:
    """The gap to nest with: 0 where shared lines are asked for and the pieces are alike, so that
    cut paths may meet.

    Cut paths that meet stand one kerf apart as parts, which is what a line cut once for both
    leaves.
    """
    alike = len({piece.name for piece in pieces if piece.count}) == 1
    return 0.0 if laser.common_line and alike else laser.part_gap


def shortage(result: Nest, pieces: Sequence[Piece], sheets: Sequence[Sheet]) -> str:
    """Lines on missing parts and the sheets to buy, one a stock; empty when nothing is missing."""
    lines = []
    for stock in sorted({p.stock for p in pieces if p.name in result.missing}):
        short = [
            (p, result.missing[p.name])
            for p in pieces
            if p.stock == stock and p.name in result.missing
        ]
        names = ", ".join(f"{n} x {p.name}" for p, n in short)
        whole = [sheet for sheet in sheets if sheet.stock == stock and not sheet.offcut]
        if not whole:
            lines.append(
                f"{stock}: no room for {names}, and the shop lists no whole sheet of it. Add one."
            )
            continue
        size = max(whole, key=lambda sheet: sheet.area)
        dense = max(
            (u.utilisation for u in result.layups if u.sheet.name == size.name), default=0.6
        )
        area = math.fsum(p.outline.area_mm2 * n for p, n in short)
        more = max(1, math.ceil(area / (size.area * max(dense, 0.3))))
        lines.append(
            f"{stock}: no room for {names}. Buy about {more} more sheet{'s' if more > 1 else ''}"
            f" of {fixed(size.width, 1)} x {fixed(size.height, 1)} mm and raise the count of"
            f" {size.name!r} in the shop."
        )
    return "\n".join(lines)
