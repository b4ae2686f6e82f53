"""The printed loop: pages as bitmaps, joined by their crosses alone, and the screw marks found
where they should be.
"""

from __future__ import annotations

import itertools
import math
from typing import Any

import numpy as np
import pypdfium2
import pytest

from fab.files.pdf import pdf
from fab.params.job import HangParams
from fab.params.shop import Paper, WallType
from fab.wall.choose import choose
from fab.wall.template import template
from fab.wall.to_hang import WallToHang

from .walls import masses, plan_of, wall

DPI = 300
MM = 25.4 / DPI
NOOK = [(0, 0), (1, 0), (2, 0), (-1, 1), (0, 1), (1, 1), (-1, 2), (0, 2), (0, -1)]


def lines(mask: Any, shortest: Any, longest: Any, axis: Any) -> Any:
    """Straight runs of ink along an axis, in mm from the lower left corner: (middle x,
    middle y).
    """
    grid = mask if axis == 0 else mask.T
    edges = np.diff(np.pad(grid, ((0, 0), (1, 1))).astype(np.int8), axis=1)
    rows, starts = np.nonzero(edges == 1)
    stops = np.nonzero(edges == -1)[1]
    long = (stops - starts) * MM
    keep = (long >= shortest) & (long <= longest)
    strips: list[Any] = []  # first row, last row, start, stop: rows of ink that lie on each other
    for row, start, stop in zip(
        rows[keep].tolist(), starts[keep].tolist(), stops[keep].tolist(), strict=True
    ):
        for strip in strips:
            if row - strip[1] <= 1 and abs(start - strip[2]) <= 3:
                strip[1] = row
                break
        else:
            strips.append([row, row, start, stop])
    found = []
    for first, last, start, stop in strips:
        along, across = (start + stop) / 2 * MM, (first + last + 1) / 2 * MM
        x, y = (along, across) if axis == 0 else (across, along)
        found.append((x, mask.shape[0] * MM - y))
    return found


def crossings(mask: Any, shortest: Any, longest: Any) -> Any:
    """Where two runs cross in the middle of both."""
    level, upright = lines(mask, shortest, longest, 0), lines(mask, shortest, longest, 1)
    return [
        (v[0], h[1])
        for h in level
        for v in upright
        if abs(h[0] - v[0]) < 0.7 and abs(h[1] - v[1]) < 0.7
    ]


def read_page(page: Any) -> Any:
    """Crosses (black) and screw marks (orange) of a page image, mm from its lower left corner."""
    image = np.asarray(page.render(scale=DPI / 72).to_pil().convert("RGB")).astype(int)
    red, green, blue = image[..., 0], image[..., 1], image[..., 2]
    black = (red < 70) & (green < 70) & (blue < 70)
    orange = (red - blue > 60) & (red - green > 30)
    return crossings(black, 7.0, 9.0), crossings(orange, 14.0, 17.5)


@pytest.mark.slow
@pytest.mark.parametrize(("size", "turn_deg"), [("A4", 0.0), ("Letter", 17.0)])
def test_pages_joined_by_their_crosses_put_the_marks_in_place(size: str, turn_deg: float) -> None:
    layout = wall(6, NOOK, turn_deg)
    plans = {"panel": plan_of(6)}
    hung = choose(WallToHang(layout, plans, masses(layout), HangParams(), WallType()))
    made = template(layout, plans, hung, Paper(size=size), WallType())
    document = pypdfium2.PdfDocument(pdf(made.pages, "t"))
    tiles = made.tiling.tiles
    read = [read_page(page) for page in itertools.islice(document, 1, None)]
    places = {0: (0.0, 0.0)}
    while len(places) < len(tiles):
        before = len(places)
        for a, b in itertools.permutations(range(len(tiles)), 2):
            if a in places and b not in places:
                shift = joined(read[a][0], read[b][0], tiles[a].box, tiles[b].box)
                back = joined(read[b][0], read[a][0], tiles[b].box, tiles[a].box)
                if shift is None and back is not None:
                    shift = (-back[0], -back[1])
                if shift is not None:
                    places[b] = (places[a][0] + shift[0], places[a][1] + shift[1])
        assert len(places) > before, "pages do not hang together by their crosses"
    marks = [
        (x + places[k][0], y + places[k][1]) for k, (_, found) in enumerate(read) for x, y in found
    ]
    want = [at for _, at in hung.marks]
    assert len(marks) == len(want)
    # laid on the truth by the datum mark, all others within 0.2 mm
    first = min(want, key=lambda at: (-round(at[1], 3), at[0]))
    seen = min(marks, key=lambda at: (-round(at[1]), at[0]))
    moved = [(x - seen[0] + first[0], y - seen[1] + first[1]) for x, y in marks]
    for at in want:
        assert min(math.dist(at, there) for there in moved) < 0.2


def joined(a: Any, b: Any, box_a: Any, box_b: Any) -> Any:
    """Shift that lays page b on page a: the crosses of their common edge, first on first; None
    without an edge.
    """
    if abs(box_a[2] - box_b[0]) < 1e-6 and min(box_a[3], box_b[3]) > max(box_a[1], box_b[1]):
        right, left = max(x for x, _ in a), min(x for x, _ in b)
        one, two = [p for p in a if right - p[0] < 1.0], [p for p in b if p[0] - left < 1.0]
    elif abs(box_a[3] - box_b[1]) < 1e-6 and min(box_a[2], box_b[2]) > max(box_a[0], box_b[0]):
        top, low = max(y for _, y in a), min(y for _, y in b)
        one, two = [p for p in a if top - p[1] < 1.0], [p for p in b if p[1] - low < 1.0]
    else:
        return None
    shifts = [(p[0] - q[0], p[1] - q[1]) for p in one for q in two]
    if not shifts:
        return None
    agreeing = [[s for s in shifts if math.dist(s, shift) < 0.25] for shift in shifts]
    most = max(agreeing, key=len)  # the shift that lays most crosses on crosses, as one does by eye
    if len(most) < 2:
        return None
    return (sum(x for x, _ in most) / len(most), sum(y for _, y in most) / len(most))
