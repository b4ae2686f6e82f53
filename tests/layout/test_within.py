"""Cells inside an outline: as many as brute force finds, all of them inside, and known counts."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from fab.layout.model import Cell, PlacedPanel
from fab.layout.place import lattice_pose
from fab.layout.within import fill, largest, turns_to_try
from fab.params.wallmap import pieces_of

CELLS = {6: Cell(6, 50.0), 4: Cell(4, 50.0), 3: Cell(3, 50.0 / math.sqrt(3))}


def blob(seed: int) -> shapely.Polygon:
    """A random star-shaped outline, now and then with a hole."""
    dice = random.Random(seed)
    count = dice.randrange(4, 12)
    points = [
        (
            dice.uniform(80, 320) * math.cos(2 * math.pi * k / count),
            dice.uniform(80, 320) * math.sin(2 * math.pi * k / count),
        )
        for k in range(count)
    ]
    shape = shapely.Polygon(points).buffer(0)
    return shape.difference(shapely.Point(20, 10).buffer(40)) if dice.random() < 0.3 else shape


def polygons(
    cell: Cell, cells: Sequence[tuple[int, int]], turn_deg: float, offset: tuple[float, float]
) -> list[shapely.Polygon]:
    """Cells in the frame of the outline, by shapely's own turning and moving."""
    found = []
    for at in cells:
        x, y, angle = lattice_pose(cell, at)
        whole = shapely.affinity.rotate(
            shapely.Polygon(PlacedPanel("", "", cell, x, y, angle).corners), turn_deg, origin=(0, 0)
        )
        found.append(shapely.affinity.translate(whole, *offset))
    return found


@settings(deadline=None, max_examples=40)
@given(st.sampled_from([3, 4, 6]), st.integers(0, 10**6), st.sampled_from([0.0, 17.0, -35.5]))
def test_every_cell_lies_inside_and_none_is_taken_twice(
    sides: int, seed: int, turn_deg: float
) -> None:
    cell, region = CELLS[sides], blob(seed)
    found = fill(region, cell, [turn_deg])
    placed = polygons(cell, found.cells, found.turn_deg, found.offset)
    assert all(region.buffer(0.011).covers(one) for one in placed)
    assert len(set(found.cells)) == len(found.cells)
    assert pieces_of(found.cells, sides) == found.groups
    assert not found.cells or min(y for _, y in found.cells) == 0


@pytest.mark.slow
@settings(deadline=None, max_examples=10)
@given(st.sampled_from([3, 4, 6]), st.integers(0, 10**6))
def test_no_offset_of_a_fine_grid_takes_more(sides: int, seed: int) -> None:
    """Brute force: 400 offsets, each with every cell near the outline asked for."""
    cell, region = CELLS[sides], blob(seed)
    best = len(fill(region, cell).cells)
    around = tuple((x, y) for x in range(-16, 17) for y in range(-10, 11))
    shapes = polygons(cell, around, 0.0, (0.0, 0.0))
    dice = random.Random(seed)
    for _ in range(400):
        dx, dy = dice.uniform(0, 100), dice.uniform(0, 100)
        moved = shapely.affinity.translate(region, -dx, -dy)
        shapely.prepare(moved)
        assert shapely.contains(moved, shapes).sum() <= best


@pytest.mark.parametrize(
    ("sides", "region", "count"),
    [
        (4, shapely.box(0, 0, 400, 300), 12),  # drawn along the cells: 4 x 3
        (4, shapely.box(0, 0, 399, 300), 9),
        (4, shapely.box(0, 0, 99.99, 99.99), 1),  # 7 um over at each corner
        (4, shapely.box(0, 0, 99.985, 99.985), 0),  # more than 10 um
        (4, shapely.box(0, 0, 300, 300).difference(shapely.box(100, 100, 200, 200)), 8),
        (4, shapely.box(0, 0, 99, 99), 0),
        (
            6,
            shapely.Point(0, 0).buffer(159, quad_segs=64),
            7,
        ),  # a flower reaches sqrt(28/12) d = 152.8 from its middle
        (
            3,
            shapely.Polygon([(0, 0), (300, 0), (150, 150 * math.sqrt(3))]),
            9,
        ),  # three rows: 1 + 3 + 5
        (3, shapely.Polygon([(0, 0), (200, 0), (100, -100 * math.sqrt(3))]), 4),  # on its head
    ],
)
def test_known_counts(sides: int, region: shapely.Polygon, count: int) -> None:
    """Source: counted by hand from the tilings of the plane."""
    assert len(fill(region, CELLS[sides]).cells) == count


@pytest.mark.parametrize("sides", [3, 4, 6])
@pytest.mark.parametrize("offset", [(0.0, 0.0), (1234.5, -2777.7), (-3210.9, 1987.6)])
def test_an_outline_drawn_along_the_cells_takes_them_all_wherever_it_lies(
    sides: int, offset: tuple[float, float]
) -> None:
    """One offset of the lattice alone does: rows start at 0, columns at the left."""
    upright = sides == 6  # rows of hexagons lean: every other one starts a column further left
    cells = tuple((x - y // 2 * upright, y) for x in range(5) for y in range(4))
    region = shapely.union_all(
        [one.buffer(1e-3, join_style="mitre") for one in polygons(CELLS[sides], cells, 0.0, offset)]
    )
    found = fill(region, CELLS[sides])
    assert len(found.cells) == len(cells)
    left = [2 * x + y if sides == 6 else x for x, y in found.cells]
    assert min(left) in (0, 1) if sides != 4 else min(left) == 0
    assert min(y for _, y in found.cells) == 0
    placed = shapely.union_all(polygons(CELLS[sides], found.cells, 0.0, found.offset))
    assert placed.symmetric_difference(region).area < 0.01 * CELLS[sides].apothem ** 2


@pytest.mark.parametrize("sides", [3, 4, 6])
def test_a_ragged_wall_with_holes_keeps_every_cell_that_its_outline_is_drawn_along(
    sides: int,
) -> None:
    """Of eight such walls; the last one has more than a hundred corners."""
    for seed in range(8):
        dice, wide = random.Random(seed), 4 + seed
        cells = [(x, y) for x in range(wide) for y in range(6) if dice.random() < 0.7]
        drawn = polygons(CELLS[sides], cells, 0.0, (7.0, 3.0))
        region = shapely.union_all([one.buffer(1e-3, join_style="mitre") for one in drawn])
        assert len(fill(region, CELLS[sides]).cells) == len(cells)


def test_turns_that_are_tried() -> None:
    """Every five degrees before the lattice looks the same again, and the outline's own edges."""
    assert turns_to_try(shapely.box(0, 0, 400, 300), 4) == [5.0 * k for k in range(18)]
    slanting = shapely.affinity.rotate(shapely.box(0, 0, 400, 300), 23)
    for sides in (3, 6):  # an edge at 113 degrees lies as one at 53
        tried = turns_to_try(slanting, sides)
        assert tried[:12] == [5.0 * k for k in range(12)]
        assert sorted(tried[12:]) == pytest.approx([23.0, 53.0])
    near = shapely.affinity.rotate(shapely.box(0, 0, 400, 300), 20.5)
    assert sorted(turns_to_try(near, 4)[18:]) == pytest.approx([20.5])
    same = shapely.affinity.rotate(shapely.box(0, 0, 400, 300), 20.004)
    assert turns_to_try(same, 4)[18:] == []


def test_the_best_turn_takes_what_a_straight_lattice_can_not() -> None:
    turned = shapely.affinity.rotate(shapely.box(0, 0, 400, 300), 23)
    straight, best = fill(turned, CELLS[4]), fill(turned, CELLS[4], turns_to_try(turned, 4))
    assert len(straight.cells) < len(best.cells) == 12
    assert best.turn_deg == pytest.approx(23)


def test_the_largest_cell_is_told_and_fits() -> None:
    """A square of side 60 in a room of 60 x 50 has side 50; a hexagon with a corner up is 2 / sqrt
    3 as high as wide.
    """
    room = shapely.box(0, 0, 60, 50)
    assert largest(room, CELLS[4]) == pytest.approx(0.5, abs=0.002)
    assert largest(shapely.box(0, 0, 300, 300), CELLS[4]) == pytest.approx(1.0, abs=0.002)
    assert largest(shapely.box(0, 0, 300, 300), CELLS[4]) <= 1.0
    assert largest(room, CELLS[6]) == pytest.approx(50 * math.sqrt(3) / 2 / 100, abs=0.002)


def test_where_nothing_fits_there_are_no_cells() -> None:
    found = fill(shapely.box(0, 0, 99, 99), CELLS[4], [0.0, 30.0])
    assert (found.cells, found.groups) == ((), 0)
    assert largest(shapely.box(0, 0, 0.01, 0.01), CELLS[4]) < 0.001


def test_the_same_outline_gives_the_same_cells() -> None:
    assert fill(blob(5), CELLS[6]) == fill(blob(5), CELLS[6])
