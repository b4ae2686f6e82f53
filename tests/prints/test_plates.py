"""Plates: everything placed once, inside the margin, apart by the gap, on few plates."""

from __future__ import annotations

import math
from collections import Counter
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import Polygon, box
from shapely.strtree import STRtree

from fab.errors import BrokenGeometry, CheckFailed
from fab.params.shop import Printer
from fab.prints.bounds import may_share
from fab.prints.model import Item, Placement
from fab.prints.plates import bound, plates, smallest_bed, why_too_large
from fab.prints.rows import best_block


def polygon_item(name: str, points: list[tuple[float, float]], height: float, count: int) -> Item:
    left, low = min(x for x, _ in points), min(y for _, y in points)
    size = (max(x for x, _ in points) - left, max(y for _, y in points) - low, height)
    return Item(name, name, size, count, tuple((x - left, y - low) for x, y in points), (left, low))


def regular(sides: int, flats: float) -> list[tuple[float, float]]:
    """Edge 0 faces +X, like a panel."""
    radius = flats / 2 / math.cos(math.pi / sides)
    angles = [(2 * k - 1) * math.pi / sides for k in range(sides)]
    return [(radius * math.cos(a), radius * math.sin(a)) for a in angles]


def ground(placed: Placement, item: Item) -> Polygon:
    """What an object covers of the bed, found with another library than the code uses for it."""
    shape = Polygon(item.footprint) if item.footprint else box(0, 0, item.box[0], item.box[1])
    own = affinity.translate(shape, *item.low)
    turned = affinity.rotate(own, placed.turn_deg, origin=(0, 0))
    return affinity.translate(turned, *placed.shift)


def audit(items: list[Item], printer: Printer) -> int:
    """Asks everything anew; returns the number of plates."""
    by_name = {item.name: item for item in items}
    made = plates(items, printer)
    assert len(made) >= bound(items, printer)[0]
    inner = box(0, 0, *printer.bed).buffer(-printer.bed_margin + 1e-6, join_style="mitre")
    seen: Counter[str] = Counter()
    for number, plate in enumerate(made, start=1):
        assert plate.number == number
        assert dict(plate.counts) == Counter(placed.name for placed in plate.placements)
        assert plate.height <= printer.height
        grounds = [ground(placed, by_name[placed.name]) for placed in plate.placements]
        for placed, shape in zip(plate.placements, grounds, strict=True):
            seen[placed.name] += 1
            assert inner.covers(shape)
            assert shape.bounds[:2] == pytest.approx((placed.x, placed.y), abs=1e-5)
        tree = STRtree(grounds)
        gap = max(printer.part_gap, 1e-3)
        near = tree.query(grounds, predicate="dwithin", distance=gap - 1e-5)
        assert all(a == b for a, b in near.T), "two objects nearer than the gap"
    assert seen == Counter({item.name: item.count for item in items if item.count})
    return len(made)


def test_parts_of_the_usual_panel_share_plates() -> None:
    """120 mm hexagons, 220 mm bed: two would need 125.6 mm between centres, so one a plate; small
    parts go beside.
    """
    hexagon = regular(6, 119.6)
    items = [
        polygon_item("base", hexagon, 22, 9),
        polygon_item("shell", hexagon, 30, 9),
        Item("clip", "clip", (28, 12, 8), 24),
        Item("cap", "cap", (16, 12, 4), 30),
    ]
    assert audit(items, Printer()) == 18


def test_hexagons_reach_into_each_other_where_boxes_would_not() -> None:
    """On a 256 mm bed boxes give two a plate, rows three: 138.1 + 1.5 x 72.5 = 246.9 mm fits 248
    mm. Worked by hand.
    """
    hexagon = regular(6, 119.6)
    assert audit([polygon_item("base", hexagon, 22, 9)], Printer(bed=(256.0, 256.0))) == 3
    assert audit([Item("base", "base", (119.6, 138.1, 22.0), 9)], Printer(bed=(256.0, 256.0))) == 5


@pytest.mark.parametrize(
    ("width", "depth", "flats", "count"),
    [(600, 300, 100, 17), (600, 400, 120, 14), (300, 200, 50, 22)],
)
def test_rows_of_hexagons_match_the_row_formula(
    width: int, depth: int, flats: int, count: int
) -> None:
    """rows = 1 + floor((H - D) / 0.75 D) of n1, n2 hexagons; reference values section 1, own
    derivation, brute-counted.

    0.2 mm more room, because the closest that rows go here is 0.001 mm.
    """
    left_low = polygon_item("h", regular(6, flats), 1, 1)
    block = best_block(left_low.footprint, 0.0, width + 0.2, depth + 0.2, 1000)
    assert block is not None
    assert len(block.spots) >= count


@pytest.mark.parametrize(
    ("width", "depth", "side", "count"),
    [(600, 300, 100, 33), (600, 400, 150, 21), (300, 200, 50, 44)],
)
def test_triangles_stand_head_to_tail(width: int, depth: int, side: int, count: int) -> None:
    """floor(H / (a sqrt3/2)) x (floor(2W/a) - 1); reference values section 1, own derivation."""
    triangle = ((0.0, 0.0), (float(side), 0.0), (side / 2, side * math.sqrt(3) / 2))
    block = best_block(triangle, 0.0, width + 0.2, depth + 0.2, 1000)
    assert block is not None
    assert len(block.spots) >= count


def test_same_items_in_any_order_give_the_same_plates() -> None:
    items = [
        Item("b", "x", (40, 30, 5), 7),
        Item("a", "x", (30, 40, 5), 7),
        Item("c", "y", (10, 10, 5), 31),
    ]
    assert plates(items, Printer()) == plates(items[::-1], Printer()) == plates(items, Printer())


@pytest.mark.slow
def test_thousands_of_copies_are_counted_once_each() -> None:
    items = [
        polygon_item("base", regular(6, 119.6), 22, 400),
        Item("clip", "clip", (28, 12, 8), 2500),
        Item("cap", "cap", (16, 12, 4), 700),
    ]
    count = audit(items, Printer(bed=(300.0, 300.0)))
    covered = 400 * Polygon(regular(6, 119.6)).area + 2500 * 28 * 12 + 700 * 16 * 12
    assert (
        covered / (count * 292 * 292) > 0.5
    )  # half of every bed is plastic, common practice for rows of boxes


def test_objects_lie_in_the_middle_of_the_bed() -> None:
    placed = plates([Item("clip", "clip", (20, 10, 5), 1)], Printer(bed=(200.0, 100.0)))[
        0
    ].placements[0]
    assert (placed.x + placed.size[0] / 2, placed.y + placed.size[1] / 2) == pytest.approx(
        (100, 50)
    )


def test_nothing_to_print_needs_no_plate() -> None:
    assert plates([], Printer()) == ()
    assert plates([Item("clip", "clip", (20, 10, 5), 0)], Printer()) == ()


def test_the_smallest_bed_that_works_is_named_and_works() -> None:
    item = Item("base-plain", "base", (230.24, 265.87, 22.0), 2)
    with pytest.raises(CheckFailed) as told:
        plates([item, Item("shell", "shell", (50, 50, 300), 1)], Printer())
    says = str(told.value)
    assert "base-plain is 230.2 x 265.9 x 22 mm" in says
    assert "a bed of [238.3, 273.9] mm (printer.bed is [220, 220] with 4 mm kept free" in says
    assert "shell is 50 x 50 x 300 mm" in says
    assert "a height of 300 mm (printer.height is 240)" in says
    bed = smallest_bed(item, Printer())
    assert audit([item], Printer(bed=bed)) == 2
    assert why_too_large(item, Printer(bed=(bed[0] - 0.1, bed[1])))
    assert why_too_large(item, Printer(bed=(bed[0], bed[1] - 0.1)))


def test_a_long_part_turns_to_fit() -> None:
    plate = plates([Item("bar", "bar", (150, 20, 5), 1)], Printer(bed=(60.0, 200.0)))[0]
    assert plate.placements[0].turn_deg == 90


def test_a_bed_that_is_all_margin_is_refused() -> None:
    with pytest.raises(CheckFailed, match="needs a bed of"):
        plates([Item("a", "a", (1, 1, 1), 1)], Printer(bed=(220.0, 220.0), bed_margin=110.0))


def test_objects_that_are_none_are_refused() -> None:
    with pytest.raises(BrokenGeometry, match="cannot be printed"):
        Item("a", "a", (0.0, 1.0, 1.0))
    with pytest.raises(BrokenGeometry, match="outside its box"):
        Item("a", "a", (1.0, 1.0, 1.0), 1, ((0, 0), (2, 0), (0, 1)))


@pytest.mark.parametrize("turn", [0, 90, 180, 270])
def test_a_point_of_the_object_lands_where_the_turned_box_says(turn: int) -> None:
    """An object drawn about its own centre: its marked corner, by hand."""
    placed = Placement("a", "a", 5.0, 7.0, turn, (30.0, 20.0, 1.0), (-15.0, -10.0))
    corner = {0: (5, 7), 90: (25, 7), 180: (35, 27), 270: (5, 37)}[turn]
    assert placed.on_bed((-15.0, -10.0)) == pytest.approx(corner)


convex = st.builds(
    lambda sides, flats, lean: [(x + lean * y, y) for x, y in regular(sides, flats)],
    st.integers(3, 8),
    st.floats(8, 90),
    st.floats(-0.8, 0.8),
)


@settings(deadline=None, max_examples=12)
@given(
    shapes=st.lists(st.tuples(convex, st.integers(1, 12)), min_size=1, max_size=4),
    boxes=st.lists(st.tuples(st.floats(3, 80), st.floats(3, 80), st.integers(1, 15)), max_size=3),
    gap=st.sampled_from([0.0, 1.0, 6.0]),
    bed=st.tuples(st.floats(220, 400), st.floats(220, 400)),
)
def test_any_items_lie_apart_inside_and_all_there(
    shapes: Any, boxes: Any, gap: Any, bed: Any
) -> None:
    items = [polygon_item(f"p{k}", points, 5.0, count) for k, (points, count) in enumerate(shapes)]
    items += [Item(f"b{k}", "b", (x, y, 5.0), count) for k, (x, y, count) in enumerate(boxes)]
    audit(items, Printer(bed=bed, part_gap=gap))


def test_corners_that_stand_several_times_make_a_region() -> None:
    """Three octagons and a box without a gap, which once had no union of their regions."""
    octagon = polygon_item("p", list(regular(8, 83.953125)), 5.0, 3)
    audit([octagon, Item("b", "b", (74.0, 56.0, 5.0), 1)], Printer(bed=(220.0, 220.0), part_gap=0))


@pytest.mark.slow
@settings(deadline=None, max_examples=150)
@given(
    shapes=st.lists(st.tuples(convex, st.integers(1, 12)), min_size=1, max_size=4),
    boxes=st.lists(st.tuples(st.floats(3, 80), st.floats(3, 80), st.integers(1, 15)), max_size=3),
    gap=st.sampled_from([0.0, 1.0, 6.0]),
    bed=st.tuples(st.floats(220, 400), st.floats(220, 400)),
)
def test_many_more_items_lie_apart_inside_and_all_there(
    shapes: Any, boxes: Any, gap: Any, bed: Any
) -> None:
    items = [polygon_item(f"p{k}", points, 5.0, count) for k, (points, count) in enumerate(shapes)]
    items += [Item(f"b{k}", "b", (x, y, 5.0), count) for k, (x, y, count) in enumerate(boxes)]
    audit(items, Printer(bed=bed, part_gap=gap))


@pytest.mark.parametrize(
    ("sides", "flats", "bed", "turn"),
    [
        # least upright square round a hexagon: 2 R cos 15 degrees, turned by 15; R = flats / sqrt 3
        (6, 172 * math.sqrt(3) / (2 * math.cos(math.radians(15))) - 0.05, 180.0, 15),
        # round a triangle of edge a: a cos 15 degrees (its box at no turn: a x 0.866 a)
        (3, 112 / math.cos(math.radians(15)) * math.sqrt(3) / 3 - 0.05, 120.0, 15),
        (3, 172 / math.cos(math.radians(15)) * math.sqrt(3) / 3 - 0.05, 180.0, 15),
    ],
)
def test_what_fits_only_at_an_angle_is_turned(sides: Any, flats: Any, bed: Any, turn: Any) -> None:
    """Closed forms, derived by hand; a tenth of a millimetre more does not fit, and is told so."""
    printer = Printer(bed=(bed, bed))
    item = polygon_item("p", regular(sides, flats), 5.0, 2)
    assert audit([item], printer) == 2
    ways = {placed.turn_deg for plate in plates([item], printer) for placed in plate.placements}
    assert all(way % 30 == pytest.approx(turn, abs=0.6) for way in ways)
    larger = polygon_item("p", regular(sides, flats + 0.1), 5.0, 2)
    assert "needs a bed of" in why_too_large(larger, printer)


def test_a_long_bar_lies_across_a_small_bed() -> None:
    """180 x 10 mm on 160 x 160: the box of the turned bar is (180 + 10) / sqrt 2 = 134.4 mm."""
    assert audit([Item("bar", "bar", (180.0, 10.0, 5.0), 1)], Printer(bed=(160.0, 160.0))) == 1


def test_kinds_are_mixed_where_that_saves_a_plate() -> None:
    """Two right-angled triangles that make up a square, of which a bed holds one: two kinds."""
    lower = [(0.0, 0.0), (160.0, 0.0), (0.0, 160.0)]
    upper = [(0.0, 0.0), (158.0, 0.0), (0.0, 158.0)]
    items = [polygon_item("a", lower, 5.0, 3), polygon_item("b", upper, 5.0, 3)]
    printer = Printer(bed=(180.0, 180.0), part_gap=2.0)
    assert audit(items, printer) == 3 == bound(items, printer)[0]


def test_two_that_can_share_no_plate_are_told_apart_from_two_that_can() -> None:
    """Squares of side s on a bed of side w, gap g: two share it just when 2 s + g <= w, at whatever
    turns (two unit squares need a square of side 2: P. Erdos and A. Soifer's case k = 1, n = 2).
    """
    for side, shares in ((103.0, True), (102.9, True), (104.5, False), (110.0, False)):
        shape = ((0.0, 0.0), (side, 0.0), (side, side), (0.0, side))
        assert may_share(shape, shape, 6.0, 212.0, 212.0) is shares


def fewest(sides: list[tuple[int, int]], bed: int) -> int:
    """Fewest beds for whole-numbered upright rectangles, by trying all: partitions, and for each
    set all places on the grid. (Least corners on whole numbers lose nothing: push all down and
    left.)
    """

    def fit(some: list[tuple[int, int]]) -> bool:
        taken: list[tuple[int, int, int, int]] = []

        def place(k: int) -> bool:
            if k == len(some):
                return True
            for wide, deep in {some[k], some[k][::-1]}:
                for x in range(bed - wide + 1):
                    for y in range(bed - deep + 1):
                        clear = all(
                            x >= c or x + wide <= a or y >= d or y + deep <= b
                            for a, b, c, d in taken
                        )
                        if clear:
                            taken.append((x, y, x + wide, y + deep))
                            if place(k + 1):
                                return True
                            taken.pop()
            return False

        return sum(a * b for a, b in some) <= bed * bed and place(0)

    def split(rest: list[tuple[int, int]], beds: list[list[tuple[int, int]]], most: int) -> int:
        if len(beds) >= most:
            return most
        if not rest:
            return len(beds)
        for k, bed_ in enumerate(beds):
            if fit([*bed_, rest[0]]):
                more = [*beds]
                more[k] = [*bed_, rest[0]]
                most = min(most, split(rest[1:], more, most))
        return min(most, split(rest[1:], [*beds, [rest[0]]], most))

    return split(sorted(sides, reverse=True), [], len(sides) + 1)


few_boxes = st.lists(st.tuples(st.integers(2, 7), st.integers(2, 7)), min_size=2, max_size=5)


@pytest.mark.slow
@settings(deadline=None, max_examples=200)
@given(few_boxes)
def test_small_cases_against_all_packings(sides: Any) -> None:
    against_all_packings(sides)


def against_all_packings(sides: list[tuple[int, int]]) -> None:
    """Rectangles on a bed of 8 x 8 units: never fewer plates than the least of all upright ones
    unless turned ones fit, at most one more, and the bound never above.
    """
    unit = 20.0
    items = [
        Item(f"b{k}", "b", (wide * unit - 0.01, deep * unit - 0.01, 5.0), 1)
        for k, (wide, deep) in enumerate(sides)
    ]
    printer = Printer(bed=(8 * unit + 8.0, 8 * unit + 8.0), part_gap=0.0)
    least = fewest(sides, 8)
    found = audit(items, printer)
    assert bound(items, printer)[0] <= least
    assert found <= least + 1
