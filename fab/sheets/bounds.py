"""Counts of copies that no nest can beat, so that a maker sees how far from perfect a result is.

Four arguments, the lowest wins:
    area    every copy claims its cut path swollen by half a gap; the claims are disjoint and lie in
            the sheet's free
            room swollen by half a gap
    circles every copy holds its incircle of radius r, so the centres lie in the free room shrunk by
    r and are at
            least 2 r + gap apart: at most 2 A / (sqrt(3) d^2) + P / (2 d) + 1 points of a convex
            region of area A and
            perimeter P keep a distance d. N. Oler, An inequality in the geometry of numbers, Acta
            Math. 105 (1961),
            19-48, plane Euclidean case; cited from memory
    pairs   of some large copies no two lie on one sheet, so each needs its own
    fits    a copy whose width exceeds the room's width does not fit at all
The bounds hold for any turns and any method.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from fab.outlines.buffers import buffered
from fab.outlines.contour import Box, Outline
from fab.outlines.facets import to_shapely
from fab.sheets.convex import Swollen
from fab.sheets.model import Sheet

_DUST = 1e-6
_FACET_MM = 0.01


def most_in_room(room: Box, shape: Swollen, gap_mm: float) -> int:
    """Upper bound for copies of a convex cut path in an upright rectangle `room` (sheet without its
    margin).
    """
    width, height = room[2] - room[0], room[3] - room[1]
    if min(width, height) < 2 * shape.incircle - _DUST:
        return 0
    half = gap_mm / 2
    claimed = width * height + (width + height) * gap_mm + math.pi * half**2
    by_area = claimed / shape.swollen(half).area
    radius = shape.incircle
    apart = 2 * radius + gap_mm
    w, h = max(width - 2 * radius, 0.0), max(height - 2 * radius, 0.0)
    by_circles = 2 * w * h / (math.sqrt(3) * apart**2) + (w + h) / apart + 1
    return int(min(by_area, by_circles) + _DUST)


def most_by_area(sheet: Sheet, path_area: float) -> int:
    """Upper bound for copies of any shape on any sheet."""
    return int(sheet.area / path_area + _DUST)


def claimed_mm2(path: Outline, gap_mm: float) -> float:
    """Area that one copy keeps from all others: its cut path swollen by half a gap, mm2; never more
    than the truth.
    """
    shape = buffered(to_shapely(path, _FACET_MM, outside=False), gap_mm / 2)
    return float(shape.area)


def free_mm2(sheet: Sheet, gap_mm: float) -> float:
    """Area within which the claims of all copies on a sheet lie: its room swollen by half a gap,
    mm2.
    """
    import shapely

    field = buffered(shapely.Polygon(sheet.outline, sheet.holes), -sheet.margin)
    half = gap_mm / 2
    # Steiner; more than the truth where not convex
    return float(field.area + field.length * half + math.pi * half**2)


def most_alone(
    discs: Sequence[tuple[float, int]], width: float, height: float, gap_mm: float
) -> int:
    """Count the copies of which no two fit a room of `width` x `height`.

    discs: radius of the incircle and count of each kind. The centres of two circles of radius r or
    more lie in the room shrunk by r, so they are no further apart than its diagonal.
    """
    most = 0
    for radius, _ in discs:
        w, h = max(width - 2 * radius, 0.0), max(height - 2 * radius, 0.0)
        if 2 * radius + gap_mm > math.hypot(w, h) + _DUST:
            most = max(most, sum(count for other, count in discs if other >= radius))
    return most


def cover(least: int, offers: list[tuple[int, float, int]]) -> tuple[int, float]:
    """Fewest pieces and least cost to reach `least` copies from offers of (copies each, price,
    count).

    Both are lower bounds found apart: fewest takes the largest first; cost is the linear
    relaxation, best value first, which no choice of whole sheets beats.
    """
    rest, sheets = least, 0
    for copies, _, count in sorted(offers, key=lambda offer: -offer[0]):
        if rest <= 0 or copies <= 0:
            break
        used = min(count, -(-rest // copies))
        sheets, rest = sheets + used, rest - used * copies
    need, cost = float(least), 0.0
    for copies, price, count in sorted(
        (o for o in offers if o[0] > 0), key=lambda offer: offer[1] / offer[0]
    ):
        used_share = min(float(count), need / copies)
        need, cost = need - used_share * copies, cost + used_share * price
        if need <= _DUST:
            break
    return sheets, cost
