"""The rack of a shop file."""

from __future__ import annotations

import pytest
import shapely

from fab.errors import InputError
from fab.params.shop import Offcut, Shop, Stock
from fab.sheets.nest import nest
from fab.sheets.rack import rack
from tests.sheets.shop_floor import panel

SQUARE = ((10.0, 10.0), (110.0, 10.0), (110.0, 90.0), (10.0, 90.0), (10.0, 10.0))


def test_offcuts_first_smallest_first_then_whole_sheets() -> None:
    large = Offcut(stock="opal", outline=((0, 0), (300, 0), (300, 300)), name="L")
    shop = Shop(
        stock={
            "opal": Stock(width=500, height=300, count=3, price=9.0, margin=4.0),
            "ply": Stock(material="plywood"),
        },
        offcut=(
            large,
            Offcut(stock="opal", outline=SQUARE, name="S"),
            Offcut(stock="ply", outline=SQUARE, name="P"),
        ),
    )
    found = rack(shop, "opal")
    assert [(s.name, s.count, s.price, s.margin, s.offcut) for s in found] == [
        ("S", 1, 0.0, 4.0, True),
        ("L", 1, 0.0, 4.0, True),
        ("opal", 3, 9.0, 4.0, False),
    ]
    assert found[0].outline == ((0, 0), (100, 0), (100, 80), (0, 80))
    assert found[0].is_rectangle
    assert not found[1].is_rectangle
    assert found[2].area == 150_000


def test_other_sizes_of_the_same_material_belong_to_it() -> None:
    sizes = {
        "opal": Stock(width=600, height=400),
        "opal-half": Stock(width=300, height=400),
        "clear": Stock(finish="clear"),
    }
    assert {s.name for s in rack(Shop(stock=sizes), "opal")} == {"opal", "opal-half"}
    assert {s.stock for s in rack(Shop(stock=sizes), "opal")} == {"opal"}
    assert {s.name for s in rack(Shop(stock=sizes), "opal", apart=("opal-half",))} == {"opal"}


def test_all_faults_of_offcuts_at_once() -> None:
    bow = Offcut(stock="opal", outline=((0, 0), (100, 100), (100, 0), (0, 100)), name="bow")
    shop = Shop(
        stock={"opal": Stock()},
        offcut=(
            bow,
            Offcut(stock="opal", outline=((0, 0), (1, 0)), name="stick"),
            Offcut(stock="opal", outline=((0, 0), (float("nan"), 0), (1, 1)), name="ghost"),
            Offcut(stock="opal", outline=((0, 0), (50, 50), (100, 100)), name="flat"),
            Offcut(stock="opal", outline=SQUARE, holes=(((0, 0), (1, 1)),), name="hole"),
            Offcut(
                stock="opal", outline=((0, 0), (90, 0), (90, 90), (90, 0), (0, 90)), name="spike"
            ),
        ),
    )
    with pytest.raises(InputError) as caught:
        rack(shop, "opal")
    text = str(caught.value)
    assert "bow: the side after corner 1 crosses the side after corner 3 at (50, 50)" in text
    assert "stick has 2 corners" in text
    assert "ghost has a corner that is not a number" in text
    assert "flat has no area" in text
    assert "shop.offcut[4].holes[0]: hole has 2 corners" in text
    assert "spike" in text
    assert len(caught.value.faults) == 6


def notched(*holes: tuple[tuple[float, float], ...]) -> Shop:
    outline = ((50.0, 50.0), (250.0, 50.0), (250.0, 150.0), (50.0, 150.0))
    return Shop(
        stock={"opal": Stock()},
        offcut=(Offcut(stock="opal", outline=outline, holes=holes, name="crate"),),
    )


def square(x: float, y: float, side: float) -> tuple[tuple[float, float], ...]:
    return ((x, y), (x + side, y), (x + side, y + side), (x, y + side))


def test_bad_spots_over_the_edge_and_over_each_other() -> None:
    """200 x 100 less what each spot takes, by hand; another library finds each outline valid."""
    for holes, area in (
        ([square(100, 80, 20)], 20_000 - 400),
        ([square(100, 140, 20)], 20_000 - 200),  # half of it is beside the sheet
        ([square(40, 40, 20)], 20_000 - 100),  # a corner; the frame stays where the sheet begins
        ([square(100, 80, 20), square(110, 90, 20)], 20_000 - 700),
        ([square(100, 50, 20)], 20_000 - 400),  # along the edge
        ([square(300, 80, 20)], 20_000),  # beside it
    ):
        sheet, _ = rack(notched(*holes), "opal")
        shape = shapely.Polygon(sheet.outline, sheet.holes)
        assert shape.is_valid
        assert sheet.area == pytest.approx(area)
        assert shape.area == pytest.approx(area)
        assert (sheet.width, sheet.height) == (200, 100)


def test_parts_keep_clear_of_a_bad_spot_at_the_edge() -> None:
    """Squares of 40 mm beside a spot that reaches 30 mm into the sheet: margin by another
    library.
    """
    shop = notched(square(120, 120, 60))
    sheet, _ = rack(shop, "opal")
    found = nest([panel(4, 40, 5)], [sheet], gap_mm=2.0, kerf_mm=0.2)
    free = shapely.box(0, 0, 200, 100).difference(shapely.box(70, 70, 130, 130))
    for placed in found.layups[0].placed:
        body = shapely.box(placed.x - 20.1, placed.y - 20.1, placed.x + 20.1, placed.y + 20.1)
        assert free.contains(body)
        assert free.boundary.distance(body) > sheet.margin - 1e-3
    assert sum(len(layup.placed) for layup in found.layups) == 5


def test_bad_spots_that_leave_nothing_or_several_pieces() -> None:
    with pytest.raises(InputError, match=r"crate: its holes cover all of it\. Remove the entry\."):
        rack(notched(square(0, 0, 300)), "opal")
    with pytest.raises(
        InputError, match=r"crate: its holes cut it into 2 pieces\. Write an entry for each piece\."
    ):
        rack(notched(((120, 40), (140, 40), (140, 160), (120, 160))), "opal")


def test_an_offcut_of_an_unknown_stock_is_told() -> None:
    shop = Shop(stock={"opal": Stock()}, offcut=(Offcut(stock="opel", outline=SQUARE, name="S"),))
    with pytest.raises(
        InputError,
        match=r"shop\.offcut\[0\]\.stock: S: unknown stock 'opel'\. Known: opal",
    ):
        rack(shop, "opal")


def test_an_unknown_stock_names_the_known_ones() -> None:
    with pytest.raises(InputError, match=r"unknown stock 'oak'\. Known: opal"):
        rack(Shop(stock={"opal": Stock()}), "oak")
