"""The rack of a shop file."""

from __future__ import annotations

import pytest

from fab.errors import InputError
from fab.params.shop import Offcut, Shop, Stock
from fab.sheets.rack import rack

SQUARE = ((10.0, 10.0), (110.0, 10.0), (110.0, 90.0), (10.0, 90.0), (10.0, 10.0))


def test_offcuts_first_smallest_first_then_whole_sheets() -> None:
    large = Offcut(stock="opal", outline=((0, 0), (300, 0), (300, 300)), name="L")
    shop = Shop(
        stock={"opal": Stock(width=500, height=300, count=3, price=9.0, margin=4.0), "ply": Stock(material="plywood")},
        offcut=(large, Offcut(stock="opal", outline=SQUARE, name="S"), Offcut(stock="ply", outline=SQUARE, name="P")),
    )
    found = rack(shop, "opal")
    assert [(s.name, s.count, s.price, s.margin, s.offcut) for s in found] == [
        ("S", 1, 0.0, 4.0, True), ("L", 1, 0.0, 4.0, True), ("opal", 3, 9.0, 4.0, False),
    ]  # fmt: skip
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
            bow, Offcut(stock="opal", outline=((0, 0), (1, 0)), name="stick"),
            Offcut(stock="opal", outline=((0, 0), (float("nan"), 0), (1, 1)), name="ghost"),
            Offcut(stock="opal", outline=((0, 0), (50, 50), (100, 100)), name="flat"),
            Offcut(stock="opal", outline=SQUARE, holes=(((0, 0), (1, 1)),), name="hole"),
            Offcut(stock="opal", outline=((0, 0), (90, 0), (90, 90), (90, 0), (0, 90)), name="spike"),
        ),
    )  # fmt: skip
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


def test_an_unknown_stock_names_the_known_ones() -> None:
    with pytest.raises(InputError, match=r"no stock 'oak' in this shop\. Known: opal"):
        rack(Shop(stock={"opal": Stock()}), "oak")
