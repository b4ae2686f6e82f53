"""Upper bounds: what no nest can beat."""

from __future__ import annotations

import functools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fab.outlines.contour import circle
from fab.outlines.shapes import regular
from fab.sheets.bounds import claimed_mm2, cover, free_mm2, most_alone, most_in_room
from fab.sheets.convex import Swollen, swollen
from fab.sheets.identical import Pattern
from fab.sheets.nest import bound
from fab.sheets.paths import paths
from fab.sheets.scales import dual_feasible, most_by_lengths
from tests.sheets.shop_floor import GAP, KERF, panel, sheet


def shape_of(sides: int, apothem: float) -> Swollen:
    found = swollen(regular(sides, apothem))
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("width", "height", "d", "by_area"),
    [(600, 300, 100, 20), (600, 400, 120, 19), (600, 400, 150, 12), (300, 200, 50, 27)],
)
def test_never_above_the_area_s_bound(width: int, height: int, d: int, by_area: int) -> None:
    """Source: reference values, section 1, column "ceil by area" (here: floor of the share, at most
    that).
    """
    assert most_in_room((0, 0, width, height), shape_of(6, d / 2), 0.0) <= by_area


def test_what_is_known_to_fit_is_allowed() -> None:
    """Circles of diameter 1: 25 in a square of 5 and 68 in a square of 8 (64 in columns, more in
    rows; the row count is checked by hand: rows 0.866 apart, 9 rows of 8 and 7 in turn).
    """
    found = swollen(circle((0, 0), 0.5))
    assert found is not None
    assert most_in_room((0, 0, 5.0, 5.0), found, 0.0) >= 25
    assert most_in_room((0, 0, 8.0, 8.0), found, 0.0) >= 5 * 8 + 4 * 7
    assert most_in_room((0, 0, 0.99, 5.0), found, 0.0) == 0


def test_a_strip_one_part_high_is_bounded_exactly() -> None:
    """In a strip as high as a disk, Oler's inequality gives the true count."""
    found = swollen(circle((0, 0), 10))
    assert found is not None
    assert most_in_room((0, 0, 200, 20), found, 0.0) == 10
    assert most_in_room((0, 0, 200, 20), found, 2.0) == 9  # 9 x 20 + 8 x 2 = 196


def test_cover_is_a_lower_bound() -> None:
    """By hand: 27 from tens at 14 are 3 sheets and 2.7 x 14; with free and cheap ones first the
    cost falls.
    """
    assert cover(27, [(10, 14.0, 100)]) == (3, pytest.approx(37.8))
    sheets, cost = cover(17, [(10, 14.0, 9), (5, 5.0, 2), (4, 0.0, 1)])
    assert sheets == 2
    assert cost == pytest.approx(0.0 + 2 * 5.0 + 0.3 * 14.0)


def test_the_bound_of_a_job_names_its_argument() -> None:
    sheets, cost, by = bound(paths([panel(6, 120, 40, 3.0)], KERF), [sheet()], GAP)
    assert sheets == math.ceil(40 / 16)
    assert cost == pytest.approx(40 / 16 * 14)
    assert by == "room for part"


def test_claims_by_hand() -> None:
    """Steiner: a square of 50 mm swollen by 1 mm is 2500 + 200 + pi; a room of 590 x 390 mm is
    230,100 + 1,960 + pi.
    """
    piece = panel(4, 50, 1)
    assert claimed_mm2(piece.outline, 2.0) == pytest.approx(2500 + 200 + math.pi, abs=0.1)
    assert free_mm2(sheet(), 2.0) == pytest.approx(590 * 390 + 1960 + math.pi, abs=1e-6)


def test_large_parts_lie_alone() -> None:
    """By hand: two circles of radius 90 in 300 x 200 need 182 mm between centres; the room's
    diagonal is 121.7 mm.
    """
    assert most_alone([(90.0, 7), (20.0, 50)], 300.0, 200.0, 2.0) == 7
    assert (
        most_alone([(60.0, 7)], 300.0, 200.0, 2.0) == 0
    )  # diagonal of 180 x 80: 197 mm, apart by 122 mm
    pieces = [panel(4, 180, 7, name="large"), panel(4, 10, 5, name="small")]
    assert bound(paths(pieces, 0.0), [sheet(310, 210, 5.0)], 2.0)[0] == 7


@settings(max_examples=60, deadline=None)
@given(parts=st.lists(st.floats(0.0, 1.0), min_size=1, max_size=14))
def test_dual_feasible_functions_are_that(parts: list[float]) -> None:
    """Lengths that fit into 1 have values that fit into 1: drawn at random, filled up to
    exactly 1.
    """
    whole = math.fsum(parts)
    lengths = np.array(parts) / max(whole, 1.0)
    for f in dual_feasible():
        assert f(lengths).sum() <= 1 + 1e-9
        assert (np.diff(f(np.linspace(0, 1, 400))) >= 0).all()


def most_boxes(width: int, height: int, a: int, b: int) -> int:
    """Copies of a x b, both ways, on a grid of unit squares: exhaustive, over the rows' bit
    patterns.

    Whole sides can be moved to whole places (push everything left and down), so the grid loses
    nothing.
    """
    full = (1 << width * height) - 1
    moves = []
    for w, h in {(a, b), (b, a)}:
        for x in range(width - w + 1):
            for y in range(height - h + 1):
                moves.append(sum(1 << (y + j) * width + x + i for i in range(w) for j in range(h)))

    @functools.cache
    def best(free: int) -> int:
        if free.bit_count() < a * b:
            return 0
        low = free & -free
        found = best(free & ~low)  # the first free square stays empty
        for move in moves:
            if move & low and move & free == move:
                found = max(found, 1 + best(free & ~move))
        return found

    return best(full)


@pytest.mark.parametrize("size", [(2, 2), (3, 3), (1, 3), (2, 3), (3, 4), (2, 5)])
@pytest.mark.parametrize("room_", [(5, 4), (6, 5), (7, 4), (7, 5)])
def test_bounds_by_lengths_against_all_packings(
    size: tuple[int, int], room_: tuple[int, int]
) -> None:
    """Never below what an exhaustive search packs; the same for squares."""
    from fab.outlines.shapes import rectangle

    shape = swollen(rectangle(*(float(side) for side in size)))  # type: ignore[arg-type]
    assert shape is not None
    most = most_by_lengths(shape, (0.0, 90.0), *(float(side) for side in room_))
    packed = most_boxes(*room_, *size)
    assert most >= packed
    if size[0] == size[1]:
        assert most == packed


def test_squares_are_bounded_exactly() -> None:
    """By hand: 5 x 3 squares of 100.2 mm with 2 mm between them on 590 x 390 mm; by area and
    circles 22 would fit.
    """
    (path,) = paths([panel(4, 100, 40, 3.0)], KERF)
    assert (
        Pattern(path, GAP, grain=False).bound(sheet())
        == len(Pattern(path, GAP, grain=False).whole(sheet()))
        == 15
    )
    assert bound([path], [sheet()], GAP)[0] == 3


def test_a_mixed_list_is_bounded_by_lengths() -> None:
    """By hand: squares of 60 and 55 mm in 100 x 100, one a sheet, though their areas would let two
    on each.
    """
    pieces = [panel(4, 60, 3, name="a"), panel(4, 55, 4, name="b")]
    sheets, _, _ = bound(paths(pieces, 0.0), [sheet(100, 100, 0.0)], 0.0)
    assert sheets == 7
