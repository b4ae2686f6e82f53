"""The part of the wall that each page shows: the fewest pages, and no screw mark on a seam.

Rows of pages run right across the wall; the cuts inside a row are its own where that saves pages,
and straight through all rows where it does not. A cut is set as far on as the page allows and drawn
back until every screw mark is `keep` away from it. Going as far as one can is best, so no other
cuts from the same start need fewer pages.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from fab.layout.model import PlacedPanel
from fab.outlines.contour import Box, Point, around
from fab.wall.paper import PaperSheet

PHASES = (0.0, 0.5, 1.0)  # shares of the spare paper that lie before the wall's lower and left end
SHORTEST = 0.25  # a page may be cut down to this share of itself to miss a mark


@dataclass(frozen=True)
class Tile:
    """One page: its name, its part of the wall from cut to cut, and who follows where."""

    name: str  # "p3.2": second page of the third row from above; no panel has such a name
    box: Box  # wall frame
    left: bool  # a page follows there
    right: bool
    below: bool
    above: bool


@dataclass(frozen=True)
class Tiling:
    """All pages of a template; rows from above, pages from the left."""

    sheet: PaperSheet
    tiles: tuple[Tile, ...]
    on_seams: tuple[str, ...]  # marks that no cut could be kept away from


def tile(
    sheets: Sequence[PaperSheet],
    panels: Sequence[PlacedPanel],
    marks: Sequence[tuple[str, Point]],
    keep: float,
    border: float = 6.0,
) -> Tiling:
    """The tiling with the fewest pages; among equals the smaller sheet, then upright."""
    best: tuple[tuple[float, ...], Tiling] | None = None
    hulls = [_hull(panel) for panel in panels]
    for sheet in sheets:
        for phase in PHASES:
            found = _tiled(sheet, hulls, marks, keep, border, phase)
            score = (
                len(found.on_seams),
                len(found.tiles),
                sheet.width * sheet.height,
                float(sheet.landscape),
                phase,
            )
            if best is None or score < best[0]:
                best = (score, found)
    assert best is not None  # sheets is never empty: `sheets()` refuses that
    return best[1]


def cuts(
    low: float, high: float, own: float, last: float, marks: Sequence[float], keep: float
) -> list[float] | None:
    """Cut lines from `low` to `high`: pages of at most `own` (the last of `last`), no mark within
    `keep` of a cut.

    None when a page would have to be shorter than a quarter of itself.
    """
    edges = [low]
    while high - edges[-1] > last + 1e-9:
        at = edges[-1] + own
        near = [mark for mark in marks if abs(mark - at) < keep - 1e-9]
        while near:
            at = min(near) - keep
            near = [mark for mark in marks if abs(mark - at) < keep - 1e-9]
        if at < edges[-1] + SHORTEST * own:
            return None
        edges.append(at)
    return [*edges, high]


@dataclass(frozen=True)
class _Hull:
    """A panel and the box around it."""

    panel: PlacedPanel
    box: Box


def _hull(panel: PlacedPanel) -> _Hull:
    return _Hull(panel, around(panel.corners))


def _tiled(
    sheet: PaperSheet,
    hulls: Sequence[_Hull],
    marks: Sequence[tuple[str, Point]],
    keep: float,
    border: float,
    phase: float,
) -> Tiling:
    (own_x, own_y), more = sheet.own, sheet.overlap
    x0, y0 = (min(hull.box[k] for hull in hulls) - border for k in (0, 1))
    x1, y1 = (max(hull.box[k] for hull in hulls) + border for k in (2, 3))
    rows = _spread(y0, y1, own_y, own_y + more, [y for _, (_, y) in marks], keep, phase)
    through = _spread(x0, x1, own_x, own_x + more, [x for _, (x, _) in marks], keep, phase)
    straight: list[list[Box]] = []
    stepped: list[list[Box]] = []
    for low, high in pairwise(rows):
        inside = [hull for hull in hulls if hull.box[1] < high - 1e-6 and hull.box[3] > low + 1e-6]
        if not inside:
            continue
        here = [x for _, (x, y) in marks if low - keep <= y <= high + keep]
        left, right = (
            min(hull.box[0] for hull in inside) - border,
            max(hull.box[2] for hull in inside) + border,
        )
        straight.append(_kept(through, low, high, inside))
        stepped.append(
            _kept(_spread(left, right, own_x, own_x + more, here, keep, phase), low, high, inside)
        )
    scored = [
        (len(_touched(kind, marks, keep)), sum(len(row) for row in kind), kind)
        for kind in (straight, stepped)
    ]
    boxes = min(scored, key=lambda item: item[:2])[2]
    return Tiling(sheet, _named(boxes, _word(hulls)), tuple(sorted(_touched(boxes, marks, keep))))


def _spread(
    low: float,
    high: float,
    own: float,
    last: float,
    marks: Sequence[float],
    keep: float,
    phase: float,
) -> list[float]:
    """Cuts with the spare paper shared out; where a mark can't be missed by `keep`, by half of it,
    then not at all.
    """
    for less in (keep, keep / 2, 0.0):
        plain = cuts(low, high, own, last, marks, less)
        if plain is None:
            continue
        spare = last - (plain[-1] - plain[-2])
        moved = cuts(low - phase * spare, high, own, last, marks, less) if phase > 0 else plain
        return moved if moved is not None and len(moved) <= len(plain) else plain
    count = math.ceil((high - low) / own)
    return [low + (high - low) * k / count for k in range(count + 1)]


def _kept(edges: Sequence[float], low: float, high: float, hulls: Sequence[_Hull]) -> list[Box]:
    """The pages of one row that show some of a panel."""
    boxes = [(a, low, b, high) for a, b in pairwise(edges)]
    return [box for box in boxes if any(_overlaps(hull, box) for hull in hulls)]


def _overlaps(hull: _Hull, box: Box) -> bool:
    """True when a convex panel and an upright box share area: separating axes."""
    x0, y0, x1, y1 = box
    left, low, right, top = hull.box
    if right <= x0 + 1e-6 or left >= x1 - 1e-6 or top <= y0 + 1e-6 or low >= y1 - 1e-6:
        return False
    if left >= x0 and right <= x1 and low >= y0 and top <= y1:
        return True
    panel = hull.panel
    for edge in range(panel.cell.sides):
        angle = math.radians(panel.normal_deg(edge))
        nx, ny = math.cos(angle), math.sin(angle)
        reach = panel.x * nx + panel.y * ny + panel.cell.apothem
        if min(x0 * nx, x1 * nx) + min(y0 * ny, y1 * ny) >= reach - 1e-6:
            return False
    return True


def _touched(
    rows: Sequence[Sequence[Box]], marks: Sequence[tuple[str, Point]], keep: float
) -> set[str]:
    """Marks that no page holds whole, `keep` away from every cut it has; the wall's own ends are no
    cuts.
    """
    filled = [row for row in rows if row]
    low, high = filled[0][0][1], filled[-1][0][3]
    left, right = min(row[0][0] for row in filled), max(row[-1][2] for row in filled)

    def whole(x: float, y: float) -> bool:
        return any(
            (x - box[0] >= keep - 1e-6 or box[0] <= left + 1e-6)
            and (box[2] - x >= keep - 1e-6 or box[2] >= right - 1e-6)
            and (y - box[1] >= keep - 1e-6 or box[1] <= low + 1e-6)
            and (box[3] - y >= keep - 1e-6 or box[3] >= high - 1e-6)
            for row in filled
            if row[0][1] <= y <= row[0][3]
            for box in row
            if box[0] <= x <= box[2]
        )

    return {name for name, (x, y) in marks if not whole(x, y)}


def _word(hulls: Sequence[_Hull]) -> str:
    """The letters that a page's name begins with: "p", and one more as long as a panel's name could
    be one.
    """
    panels, word = [hull.panel.name for hull in hulls], "p"
    while any(re.fullmatch(rf"{word}\d+\.\d+", name) for name in panels):
        word += "p"
    return word


def _named(rows: Sequence[Sequence[Box]], word: str) -> tuple[Tile, ...]:
    """Names by row from above and page from the left; which sides have a page beside them."""
    filled = [row for row in reversed(rows) if row]
    tiles = []
    for number, row in enumerate(filled, 1):
        above = filled[number - 2] if number > 1 else []
        below = filled[number] if number < len(filled) else []
        for place, box in enumerate(row):
            x0, y0, x1, y1 = box
            before, after = (
                row[place - 1] if place else None,
                row[place + 1] if place + 1 < len(row) else None,
            )
            over = [b for b in above if min(b[2], x1) - max(b[0], x0) > 1e-6]
            under = [b for b in below if min(b[2], x1) - max(b[0], x0) > 1e-6]
            tiles.append(
                Tile(
                    f"{word}{number}.{place + 1}",
                    box,
                    left=before is not None and abs(before[2] - x0) < 1e-6,
                    right=after is not None and abs(after[0] - x1) < 1e-6,
                    below=any(abs(b[3] - y0) < 1e-6 for b in under),
                    above=any(abs(b[1] - y1) < 1e-6 for b in over),
                )
            )
    return tuple(tiles)
