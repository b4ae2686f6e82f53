"""Row packings against closed forms, against shapely, and against an integer program on a grid."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_matrix

from fab.outlines.facets import facets
from fab.outlines.shapes import regular
from fab.sheets.bounds import most_in_room
from fab.sheets.convex import forbidden, swollen
from fab.sheets.lattice import Lattice, useful_turns
from fab.sheets.rows import Body, Pair, Spot, zigzag
from tests.cases import few


def lattice(sides: int, apothem: float, gap: float = 0.0, radius: float = 0.0) -> Lattice:
    shape = swollen(regular(sides, apothem, radius))
    assert shape is not None
    return Lattice(shape, gap, useful_turns(shape))


def hex_rows(d: float, width: float, height: float) -> int:
    """Rows of hexagons with flats along the row.

    Source: reference values, section 1 (own derivation, recomputed).
    """
    tall = 2 * d / math.sqrt(3)
    if width < d - 1e-9 or height < tall - 1e-9:
        return 0
    rows = 1 + int((height - tall) / (0.75 * tall) + 1e-9)
    return -(-rows // 2) * int(width / d + 1e-9) + rows // 2 * int(width / d - 0.5 + 1e-9)


@pytest.mark.parametrize(
    ("sides", "apothem", "width", "height", "count"),
    [
        (6, 50, 600, 300, 17),
        (6, 60, 600, 400, 14),
        (6, 75, 600, 400, 8),
        (6, 25, 300, 200, 22),
        (3, 50 / math.sqrt(3), 600, 300, 33),
        (3, 75 / math.sqrt(3), 600, 400, 21),
        (3, 25 / math.sqrt(3), 300, 200, 44),
        (4, 50, 600, 300, 18),
        (4, 75, 600, 400, 8),
        (4, 25, 300, 200, 24),
    ],
)
def test_the_table_of_row_packings(
    sides: int, apothem: float, width: int, height: int, count: int
) -> None:
    """Source: reference values, section 1, best of both directions; triangles in strips and squares
    beside.
    """
    assert lattice(sides, apothem).count(width, height) >= count
    assert len(lattice(sides, apothem).spots(width, height)) == count


def test_slack_across_the_rows_shrinks_their_shift() -> None:
    """24 hexagons of 100 mm in a 600 mm strip need 432.15 mm, not 450.

    Source: the practice notes, section 6 (measured there with a formula of its own); the shift at a
    rise of (600 - 115.47) / 5 is 32.154 mm.
    """
    found = lattice(6, 50)
    assert found.count(432.16, 600) >= 24
    assert found.count(432.14, 600) < 24


@settings(max_examples=60, deadline=None)
@given(
    d=st.floats(10, 150),
    width=st.floats(50, 900),
    height=st.floats(50, 900),
    gap=st.floats(0, 5),
    radius=st.floats(0, 3),
)
def test_never_fewer_than_closed_form_rows(
    d: float, width: float, height: float, gap: float, radius: float
) -> None:
    """Rows of hexagons grown by the gap in a room grown by the gap are one packing; ours must hold
    as many.
    """
    closed = max(
        hex_rows(d + gap, width + gap, height + gap), hex_rows(d + gap, height + gap, width + gap)
    )
    assert lattice(6, d / 2, gap, radius).count(width, height) >= closed


@settings(max_examples=40, deadline=None)
@given(edge=st.floats(20, 150), width=st.floats(50, 900), height=st.floats(50, 900))
def test_triangles_and_squares_never_fewer(edge: float, width: float, height: float) -> None:
    """Source: reference values, section 1: floor(H / (a sqrt3/2)) * (floor(2 W / a) - 1) triangles,
    W >= a.
    """

    def strips(w: float, h: float) -> int:
        return (
            int(h / (edge * math.sqrt(3) / 2) + 1e-9) * (int(2 * w / edge + 1e-9) - 1)
            if w >= edge
            else 0
        )

    assert lattice(3, edge / 2 / math.sqrt(3)).count(width, height) >= max(
        strips(width, height), strips(height, width)
    )
    assert lattice(4, edge / 2).count(width, height) == int(width / edge + 1e-9) * int(
        height / edge + 1e-9
    )


@settings(max_examples=40, deadline=None)
@given(
    sides=st.sampled_from([3, 4, 5, 6, 7, 8, 12]),
    size=st.floats(15, 60),
    width=st.floats(60, 300),
    height=st.floats(60, 300),
    gap=st.floats(0.5, 4),
    radius=st.floats(0, 4),
)
def test_nothing_overlaps_and_the_bound_holds(
    sides: int, size: float, width: float, height: float, gap: float, radius: float
) -> None:
    """Distances by shapely on facets inside the true curve, so any real overlap shows."""
    contour = regular(sides, size / 2, radius)
    shape = swollen(contour)
    assert shape is not None
    spots = Lattice(shape, gap, useful_turns(shape)).spots(width, height)
    assert len(spots) <= most_in_room((0, 0, width, height), shape, gap)
    polys = []
    for spot in spots:
        turned = contour.turned(math.radians(spot.turn_deg))
        left, low, right, top = turned.box
        polys.append(
            shapely.Polygon(facets(turned.moved(spot.x - left, spot.y - low), 1e-4, outside=False))
        )
        assert spot.x >= -1e-6
        assert spot.y >= -1e-6
        assert spot.x + right - left <= width + 1e-6
        assert spot.y + top - low <= height + 1e-6
    if not polys:
        return
    tree = shapely.STRtree(polys)
    pairs = tree.query(polys, predicate="dwithin", distance=gap - 1e-4).T
    assert [(i, j) for i, j in pairs if i < j] == []


def _grid_best(sides: int, width: int, height: int) -> int:
    """Most polygons of apothem 5 with corners of their boxes on a 1 mm grid (or at the far ends),
    all useful turns.
    """
    shape = swollen(regular(sides, 5.0))
    assert shape is not None
    turned: list[object] = []
    bodies = []
    for turn in useful_turns(shape):
        body = shape.turned(turn).cornered()
        key = sorted((round(x, 6), round(y, 6)) for x, y in body.core)
        if key not in turned:
            turned.append(key)
            bodies.append(body)
    spots = []
    for k, body in enumerate(bodies):
        free_x, free_y = width - body.box[2], height - body.box[3]
        if free_x < -1e-9 or free_y < -1e-9:
            continue
        xs = sorted({*range(int(free_x + 1e-9) + 1), round(free_x, 9)})
        ys = sorted({*range(int(free_y + 1e-9) + 1), round(free_y, 9)})
        spots += [(k, x, y) for x in xs for y in ys]
    if not spots:
        return 0
    table = np.array(spots, dtype=float)
    rows: list[int] = []
    columns: list[int] = []
    clashes = 0
    for i, (k, x, y) in enumerate(spots):
        for j, other in enumerate(bodies):
            region = shapely.Polygon(forbidden(bodies[k], other, 0.0).core).buffer(-1e-6)
            later = np.flatnonzero((table[:, 0] == j) & (np.arange(len(spots)) > i))
            for hit in later[shapely.contains_xy(region, table[later, 1] - x, table[later, 2] - y)]:
                rows += [clashes, clashes]
                columns += [i, int(hit)]
                clashes += 1
    limits = coo_matrix(
        (np.ones(len(rows)), (rows, columns)), shape=(max(clashes, 1), len(spots))
    ).tocsr()
    found = milp(
        -np.ones(len(spots)),
        constraints=LinearConstraint(limits, -np.inf, 1),
        integrality=np.ones(len(spots)),
        bounds=Bounds(0, 1),
        options={"time_limit": 60},
    )
    return round(-found.fun)


@pytest.mark.parametrize(
    ("sides", "width", "height"),
    few(
        [
            (6, 19, 23),
            (6, 28, 16),
            (6, 30, 13),
            (4, 21, 21),
            (3, 20, 28),
            (3, 17, 32),
        ],
        3,
    ),
)
def test_brute_force_on_a_grid_finds_no_more(sides: int, width: int, height: int) -> None:
    """An integer program over all grid places and turns is another method; it must not beat the
    rows here.
    """
    assert len(lattice(sides, 5.0).spots(width, height)) >= _grid_best(sides, width, height)


def test_rows_of_both_ways_are_mixed_where_that_holds_more() -> None:
    """Triangles of 100 mm with a 2 mm gap on 600 x 300: rows of one way hold 30, with a column
    beside them 31.
    """
    found = lattice(3, 50 / math.sqrt(3), 2.0)
    assert found.count(600, 300) == 30
    assert len(found.spots(600, 300)) == 31


@pytest.mark.slow
def test_pentagons_fit_better_with_slack_across() -> None:
    """Two pentagons side by side are narrower when one is raised: 5-gons of apothem 5 in 21 x 15
    hold 2, found by the grid program.
    """
    assert len(lattice(5, 5.0).spots(21, 15)) == 2 == _grid_best(5, 21, 15)


def test_squares_stand_in_columns() -> None:
    """A shift that gains nothing is not made: shared lines want columns."""
    spots = lattice(4, 25).spots(170, 120)
    assert len({round(spot.x, 6) for spot in spots}) == 3
    assert len(spots) == 6


def test_a_room_too_small_holds_nothing() -> None:
    shape = swollen(regular(6, 50))
    assert shape is not None
    body = Body(0.0, shape.cornered())
    assert zigzag(99, 500, Pair(body, body, 0.0)).count == 0
    assert lattice(6, 50).spots(99, 99) == ()
    assert lattice(6, 50).spots(100, 115.5) == (Spot(0.0, 0.0, 0.0),)
