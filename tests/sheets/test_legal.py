"""A layout that others found, put right before it counts: gaps by another library, on the true
curves.
"""

from __future__ import annotations

import math
import time

import pytest
import shapely

from fab.outlines.contour import Outline, polygon
from fab.outlines.facets import to_shapely
from fab.sheets import strip
from fab.sheets.compact import Compactor, width
from fab.sheets.model import Piece, Placed, Sheet
from fab.sheets.paths import paths
from fab.sheets.sheet_fill import Laid
from fab.sheets.stock_parts import Budget, StockParts
from tests.sheets.shop_floor import GAP, angle, box, disc, panel, triangle

HIGH = 300.0
FINE_MM = 5e-4  # facets lie outside the true curve by no more than this
STAR = Outline(
    polygon(
        [
            (60, 0),
            (20, 15),
            (18, 57),
            (-8, 24),
            (-48, 35),
            (-25, 0),
            (-48, -35),
            (-8, -24),
            (18, -57),
            (20, -15),
        ]
    )
)
MIXED = [
    panel(6, 80, 4, 2.0, name="hex"),
    triangle(70, 5),
    angle(3, 70, 20),
    Piece("star", STAR, 2, "opal", "quarter"),
    disc(4),
]


def job_of(pieces: list[Piece], high: float = HIGH) -> StockParts:
    return StockParts(paths(pieces, 0.0), [Sheet("opal", "strip", box(900, high))], GAP)


def least_gap(laid: list[Laid]) -> float:
    """Between true outlines, not those that the search works with; 0 where two overlap."""
    fine = []
    for item in laid:
        outline = Placed("", 1, item.x, item.y, item.shape.turn_deg).outline(
            item.shape.path.outline
        )
        fine.append(to_shapely(outline, FINE_MM, outside=True))
    tree = shapely.STRtree(fine)
    pairs = tree.query(fine, predicate="dwithin", distance=5 * GAP).T
    return min((fine[i].distance(fine[j]) for i, j in pairs if i < j), default=math.inf)


def inside(laid: list[Laid], high: float) -> bool:
    boxes = [(item.x + item.shape.box[0], item.y + item.shape.box[1], item.top) for item in laid]
    return all(left >= -1e-6 and low >= -1e-6 and top <= high + 1e-6 for left, low, top in boxes)


def rows(short_mm: float) -> tuple[Compactor, list[Laid]]:
    """Two rows of three squares of 50 mm, each gap short by `short_mm`: 3 x 50 + 2 x 2 by 2 x 50 +
    2, by hand.
    """
    parts = job_of([panel(4, 50, 6)], 102.0)
    body = parts.shape(parts.ways[0], 0.0)
    step = 50 + GAP - short_mm
    return Compactor(102.0, GAP), [
        Laid(body, 25 + step * k, 25 + step * row) for row in (0, 1) for k in range(3)
    ]


def test_a_layout_short_of_its_gap_is_put_right() -> None:
    press, laid = rows(0.02)
    assert least_gap(laid) == pytest.approx(GAP - 0.02, abs=1e-3)
    right = press.legal(laid, 0.02)
    assert right is not None
    assert least_gap(right) > GAP - 2 * FINE_MM
    assert inside(right, 102.0)
    assert width(right) <= 1.02 * width(laid)
    pressed = press.left(right, 20, lambda: False)  # though there is no room to spare in the height
    assert width(pressed) == pytest.approx(154.0, abs=1e-3)
    assert least_gap(pressed) > GAP - 2 * FINE_MM
    assert inside(pressed, 102.0)
    assert [item.shape for item in right] == [item.shape for item in laid]


def test_it_must_not_grow_by_more_than_it_may() -> None:
    """0.04 mm of 153.96 mm are 0.026 %: a quarter of that is not enough for both gaps of a row."""
    press, laid = rows(0.02)
    assert press.legal(laid, 6.5e-5) is None
    assert press.legal(laid, 3e-4) is not None


def test_a_legal_layout_comes_back_as_it_is() -> None:
    for short in (0.0, -3.0):
        press, laid = rows(short)
        if short < 0:
            press.height = 200.0
        assert press.legal(laid, 0.02) == laid


def test_a_layout_that_overlaps_badly_is_given_up() -> None:
    press, laid = rows(0.0)
    heap = [Laid(item.shape, 30.0 + k, 30.0) for k, item in enumerate(laid)]
    assert press.legal(heap, 0.02) is None


def test_a_layout_over_the_edge_is_put_right_or_given_up() -> None:
    press, laid = rows(0.0)
    for dx, dy in ((-0.02, 0.0), (0.0, -0.02), (0.0, 0.02)):
        right = press.legal([Laid(item.shape, item.x + dx, item.y + dy) for item in laid], 0.02)
        assert right is not None
        assert inside(right, 102.0)
        assert least_gap(right) > GAP - 2 * FINE_MM
    press.height = 101.0  # too low for two rows
    assert press.legal(laid, 0.02) is None


@pytest.mark.slow
def test_what_the_library_found_keeps_the_gap_once_it_is_put_right() -> None:
    """Discs, stars and turned angles with the library's own gap: legal by another library on fine
    outlines.
    """
    parts = job_of(MIXED)
    wanted = [
        (parts.shape(path, 0.0), path.piece.count, path.turns(grain=False)) for path in parts.ways
    ]
    told: list[tuple[str, float]] = []
    budget = Budget(
        time.monotonic() + 5.0, 1, lambda: False, lambda says, share: told.append((says, share))
    )
    found = strip.packed(
        wanted, HIGH, GAP, budget, 1, lambda s, deg: parts.shape(s.path, round(deg, 9))
    )
    assert found
    assert all(says.startswith("strip of ") and 0 <= share <= 1 for says, share in told)
    for laid in found:
        right = Compactor(HIGH, GAP).legal(laid, 0.02)
        assert right is not None
        assert least_gap(right) > GAP - 2 * FINE_MM
        assert inside(right, HIGH)
        assert width(right) <= 1.02 * width(laid)
        names = sorted(item.shape.path.piece.name for item in right)
        assert names == sorted(
            path.piece.name for path in parts.ways for _ in range(path.piece.count)
        )
