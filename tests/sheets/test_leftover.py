"""Rests of a sheet as new offcuts, and the picture of the sheet."""

from __future__ import annotations

import math
import tomllib
from dataclasses import replace

import pytest
import shapely

from fab.outlines.contour import Box, Outline, Point
from fab.outlines.facets import to_shapely
from fab.outlines.kerf import grown
from fab.outlines.page import Fill, Group, Item, Page, Text
from fab.outlines.shapes import rectangle
from fab.params.shop import Laser, Offcut, Shop, Stock
from fab.sheets.cut import cut_plan
from fab.sheets.leftover import leftovers, offcuts_toml
from fab.sheets.model import Layup, Piece, Placed
from fab.sheets.nest import nest
from fab.sheets.picture import sheet_picture
from fab.sheets.rack import rack
from tests.cases import few
from tests.sheets.shop_floor import GAP, KERF, box, offcut, panel, sheet

STOCK = Stock(kerf=KERF)


def laid(count: int) -> tuple[Layup, list[Piece]]:
    pieces = [panel(6, 120, count, 3.0)]
    return nest(pieces, [sheet()], gap_mm=GAP, kerf_mm=KERF).layups[0], pieces


def rests_of(count: int) -> list[shapely.Polygon]:
    layup, pieces = laid(count)
    return [
        shapely.Polygon(r.outline, r.holes)
        for r in leftovers(layup, pieces, gap_mm=GAP, kerf_mm=KERF, name="job-1")
    ]


@pytest.mark.parametrize("count", few([1, 4, 9, 13], 2))
def test_rests_keep_clear_of_every_cut(count: int) -> None:
    layup, pieces = laid(count)
    paths = [to_shapely(p.outline(grown(pieces[0].outline, KERF / 2))) for p in layup.placed]
    field = shapely.Polygon(box(600, 400))
    for rest in rests_of(count):
        assert rest.is_valid
        assert field.buffer(0.11).contains(rest)
        assert rest.area >= 15_000
        assert (
            min(rest.distance(path) for path in paths) > GAP - 0.15
        )  # coordinates are written to 0.1 mm


def test_an_empty_half_comes_back_whole() -> None:
    """One square in the corner of a sheet: by hand, all but it, its gap and slivers is left."""
    piece = panel(4, 100, 1)
    layup = Layup(sheet(), (Placed("part", 1, 55, 55, 0),), 1e4, None)
    (rest,) = leftovers(layup, [piece], gap_mm=GAP, kerf_mm=KERF, name="j")
    taken = 105 + KERF / 2 + GAP + 1
    assert rest.area == pytest.approx(600 * 400 - taken**2, rel=0.01)
    assert len(rest.offcut.outline) == 6  # an L
    assert (rest.x, rest.y) == (0, 0)


def test_a_part_in_the_middle_leaves_a_ring() -> None:
    """By hand: the whole sheet with a hole of the part, its gap and up to a millimetre for
    simplifying.
    """
    layup = Layup(sheet(), (Placed("part", 1, 300, 200, 0),), 1e4, None)
    (rest,) = leftovers(layup, [panel(4, 100, 1)], gap_mm=GAP, kerf_mm=KERF, name="j")
    (hole,) = rest.holes
    assert hole == rest.offcut.holes[0]  # the rest begins in the sheet's own corner
    left, low, right, top = shapely.Polygon(hole).bounds
    for way in (300 - left, 200 - low, right - 300, top - 200):
        assert (
            50 + KERF / 2 + GAP - 0.06 < way < 50 + KERF / 2 + GAP + 1.06
        )  # corners are written to 0.1 mm
    assert shapely.Polygon(rest.outline).bounds == (0, 0, 600, 400)


def test_toml_goes_back_into_the_rack() -> None:
    layup, pieces = laid(4)
    found = leftovers(layup, pieces, gap_mm=GAP, kerf_mm=KERF, name='a "quoted" job')
    table = tomllib.loads(offcuts_toml([rest.offcut for rest in found]))["offcut"][0]
    again = Offcut(
        name=table["name"],
        stock=table["stock"],
        count=table["count"],
        outline=tuple((x, y) for x, y in table["outline"]),
    )
    assert again == found[0].offcut
    shop = Shop(stock={"opal": STOCK}, offcut=(again,))
    first, whole = rack(shop, "opal")
    assert first.offcut
    assert first.price == 0
    assert whole.price == STOCK.price
    more = nest([panel(6, 120, 2, 3.0)], [first, whole], gap_mm=GAP, kerf_mm=KERF)
    assert [u.sheet.name for u in more.layups] == ['a "quoted" job-rest-1']
    assert offcuts_toml([]).startswith("# no offcut")


NOTCHED = (
    (0.0, 261.0),
    (0.0, 400.0),
    (600.0, 400.0),
    (600.0, 1.7),
    (590.2, 0.0),
    (544.2, 0.0),
    (522.0, 63.4),
    (520.6, 65.1),
    (519.2, 66.8),
    (515.2, 68.2),
    (178.2, 68.2),
    (178.2, 253.2),
    (177.1, 257.0),
    (174.2, 259.9),
    (170.4, 261.0),
)


@pytest.mark.parametrize("across", few([60.0, 95.0, 120.0, 138.56], 0))
def test_rests_of_rests_go_back_into_the_rack(across: float) -> None:
    """The rest of an earlier nest as the sheet; its own rests are outlines that the rack takes,
    corner by corner.
    """
    for count in (1, 3, 6):
        pieces = [panel(6, across, count)]
        (layup,) = nest(pieces, [offcut(NOTCHED)], gap_mm=GAP, kerf_mm=KERF).layups
        found = leftovers(layup, pieces, gap_mm=GAP, kerf_mm=KERF, name="again")
        assert found
        for rest in found:
            ring = rest.offcut.outline
            assert all(
                math.dist(a, b) > 0.05 for a, b in zip(ring, (*ring[1:], ring[0]), strict=True)
            )
        shop = Shop(stock={"opal": STOCK}, offcut=tuple(rest.offcut for rest in found))
        assert sum(sheet_.offcut for sheet_ in rack(shop, "opal")) == len(found)


def words(items: tuple[Item, ...]) -> list[str]:
    found = []
    for item in items:
        if isinstance(item, Text):
            found.append(item.text)
        elif isinstance(item, Group):
            found += words(item.items)
    return found


def test_the_picture_says_what_a_maker_needs() -> None:
    layup, pieces = laid(9)
    plan = cut_plan(layup, pieces, Laser(), STOCK)
    rests = leftovers(layup, pieces, gap_mm=GAP, kerf_mm=KERF, name="job-1")
    page = sheet_picture(layup, plan, pieces, STOCK, rests, "reading-nook, sheet 1")
    assert isinstance(page, Page)
    told = words(page.items)
    assert {f"part {k}" for k in range(1, 10)} <= set(told)
    assert {str(k) for k in range(1, 10)} <= set(told)
    assert any("46.9 % of the sheet is used" in word for word in told)
    assert any("proven maximum 16" in word for word in told)
    assert any("kerf of 0.18 mm is in the paths" in word for word in told)
    assert any("job-1-rest-1" in word for word in told)
    assert {"600 mm", "400 mm"} <= set(told)
    for item in _flat(page.items):
        if isinstance(item, Fill):
            for contour in item.contours:
                left, low, right, top = contour.box
                assert min(left, low) >= 0
                assert right <= page.width
                assert top <= page.height


def _flat(items: tuple[Item, ...], shift: Point = (0.0, 0.0)) -> list[Item]:
    """Items out of their groups; fills and texts where they stand on the page."""
    dx, dy = shift
    out: list[Item] = []
    for item in items:
        if isinstance(item, Group):
            out += _flat(item.items, (dx + item.shift[0], dy + item.shift[1]))
        elif isinstance(item, Fill):
            out.append(replace(item, contours=tuple(c.moved(dx, dy) for c in item.contours)))
        elif isinstance(item, Text):
            out.append(replace(item, x=item.x + dx, y=item.y + dy))
        else:
            out.append(item)
    return out


@pytest.mark.parametrize(
    ("height", "label"),
    [
        (200, "job-1-rest-1: 600 x 192 mm"),
        (390, "job-1-rest-1: within 600 x 400 mm"),
    ],
)
def test_the_label_of_a_rest_tells_a_box_from_a_size(height: float, label: str) -> None:
    """A card across the sheet leaves a rectangle; one that leaves two sides leaves an angle, which
    lies within its box and has not its size. By hand: 400 mm less 200, margin, gap and kerf.
    """
    pieces = [Piece("card", Outline(rectangle(580 if height == 200 else 300, height)), 1, "opal")]
    layup = nest(pieces, [sheet()], gap_mm=GAP, kerf_mm=KERF).layups[0]
    rests = leftovers(layup, pieces, gap_mm=GAP, kerf_mm=KERF, name="job-1")
    plan = cut_plan(layup, pieces, Laser(), STOCK)
    assert label in words(sheet_picture(layup, plan, pieces, STOCK, rests, "x").items)


def test_a_card_s_name_stands_in_its_middle() -> None:
    """A rectangle has many largest disks; the label takes the one in the middle. By hand."""
    pieces = [Piece("card", Outline(rectangle(120, 30)), 3, "opal")]
    layup = nest(pieces, [sheet()], gap_mm=GAP, kerf_mm=KERF).layups[0]
    page = sheet_picture(layup, cut_plan(layup, pieces, Laser(), STOCK), pieces, STOCK)
    names = {
        item.text: item
        for item in _flat(page.items)
        if isinstance(item, Text) and item.text.startswith("card ")
    }
    fills = [item.contours[0].box for item in _flat(page.items) if isinstance(item, Fill)][1:4]
    for k, (left, low, right, top) in enumerate(fills):
        name = names[f"card {k + 1}"]
        assert (name.x, name.y) == pytest.approx(
            ((left + right) / 2, (low + top) / 2), abs=name.size_mm
        )


@pytest.mark.filterwarnings("error")
def test_rests_of_rows_without_gaps_come_without_warnings() -> None:
    """Edges that lie on one line make the geometry library divide by zero; a maker is not told."""
    pieces = [Piece("card", Outline(rectangle(70, 45)), 23, "opal")]
    layup = nest(pieces, [sheet()], gap_mm=0.0, kerf_mm=KERF).layups[0]
    assert leftovers(layup, pieces, gap_mm=GAP, kerf_mm=KERF, name="job")


def test_a_ring_is_named_by_a_leader_that_ends_on_its_material() -> None:
    """Its 15 mm are too narrow for the letters: the label stands beside, a dot on the ring says
    whose it is.
    """
    from tests.sheets.shop_floor import ring

    pieces = [ring(1)]
    layup = nest(pieces, [sheet()], gap_mm=GAP, kerf_mm=KERF).layups[0]
    page = sheet_picture(layup, cut_plan(layup, pieces, Laser(), STOCK), pieces, STOCK)
    scale = (186.0 - 28.0) / 600
    items = list(_flat(page.items))
    (label,) = [item for item in items if isinstance(item, Text) and item.text == "ring 1 / 1"]
    edge = next(item for item in items if isinstance(item, Fill) and len(item.contours) == 2)
    dot = next(
        item
        for item in items
        if isinstance(item, Fill) and item.contours[0].box[2] - item.contours[0].box[0] < 1
    )
    centre, at = _middle(edge.contours[0].box), _middle(dot.contours[0].box)
    assert 45 < math.dist(at, centre) / scale < 60
    assert not 44 < math.dist((label.x, label.y), centre) / scale < 61


def _middle(box_: Box) -> tuple[float, float]:
    return ((box_[0] + box_[2]) / 2, (box_[1] + box_[3]) / 2)
