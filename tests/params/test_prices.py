"""The table of prices and the minutes of a shop: names are those of a parts list, no other."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from fab.errors import InputError
from fab.outputs.line import PartsLine
from fab.outputs.orders import group_of, orders, priced, total, unpriced
from fab.params.read import load
from fab.params.schema import schema
from fab.params.shop import Shop
from fab.params.trade import TRADE, price_of, trade_of

HEAD = 'job = "t"\nshop = "./s.toml"\npanel = "hexagon-120"\nlayout.cells = [[0, 0]]\n'


def shop_with(folder: Path, prices: str) -> Shop:
    (folder / "s.toml").write_text(f'extends = "metric-bench"\n[prices]\n{prices}\n')
    (folder / "t.toml").write_text(HEAD)
    return load(folder / "t.toml").job.shop


@pytest.mark.parametrize(
    ("line", "nearest"),
    [
        ('"header" = 1', '"header, all pins"'),
        ('"screw M3, pan hed" = 1', '"screw M3, pan head"'),
        ('"screw" = 1', '"screw, pan head"'),
        ('"led" = 1', '"LED"'),
        ('"LED square" = 1', '"LED"'),
        ('"usb inlet" = 1', '"inlet"'),
        ('"sheet opal-3" = 1', "stock.NAME.price"),
        ('"filament PETG" = 1', "filament.price_per_kg"),
        ('"" = 1', "lists/parts.csv"),
    ],
)
def test_a_name_that_no_parts_list_has_is_refused_with_the_nearest(
    tmp_path: Path, line: Any, nearest: Any
) -> None:
    with pytest.raises(InputError) as refused:
        shop_with(tmp_path, line)
    said = str(refused.value)
    assert "is not a name of the parts list" in said
    assert nearest in said
    assert "s.toml:3" in said


@pytest.mark.parametrize("value", ['"cheap"', "-1", "nan", "{a = 1}", "[1]"])
def test_a_price_that_is_none_is_refused(tmp_path: Path, value: Any) -> None:
    with pytest.raises(InputError):
        shop_with(tmp_path, f"LED = {value}")


def test_a_size_has_its_own_price_else_that_of_all_sizes(tmp_path: Path) -> None:
    shop = shop_with(tmp_path, '"fuse" = 0.5\n"fuse 3.15 A" = 0.9\n"screw M3, pan head" = 0.04')
    assert price_of("fuse 3.15 A", shop.prices) == 0.9
    assert price_of("fuse 2 A", shop.prices) == 0.5
    assert price_of("screw M2.5, pan head", shop.prices) is None
    assert price_of("screw M3, countersunk", shop.prices) is None


def test_what_has_no_price_is_named_and_never_counted_as_nothing(tmp_path: Path) -> None:
    shop = shop_with(tmp_path, 'LED = 0.1\n"wire, red" = 2\n"wall plug" = 0')
    lines = [
        PartsLine("LED square", "led", "square", 40, "buy", sold="LED"),
        PartsLine("wire, red", "wire", "", 3, "buy", metres=0.5),
        PartsLine("wall plug", "hanger", "", 4, "buy"),
        PartsLine("controller", "controller", "", 1, "buy"),
        PartsLine("sheet opal-3", "sheet", "", 2, "buy", cost=28.0),
        PartsLine("clip", "clip", "panel", 8, "print", "PETG", each_g=0.5, total_g=4.0, cost=0.096),
    ]
    found = orders([priced(line, shop.prices) for line in lines], shop)
    cost = {one.item: one.cost for one in found}
    assert cost["LED square"] == pytest.approx(4.0)
    assert cost["wire, red"] == pytest.approx(1.0)  # by the metre
    assert cost["wall plug"] == 0.0  # a price of nothing is a price
    assert cost["filament PETG"] == pytest.approx(0.096)
    assert unpriced(found) == ("controller",)
    assert total(found) == pytest.approx(4.0 + 1.0 + 28.0 + 0.096)


def test_every_name_has_a_group_and_the_schema_knows_it() -> None:
    table = schema("shop")["properties"]["prices"]
    for name, trade in TRADE.items():
        item = name.replace("{}", "2.5")
        assert trade_of(item) is trade
        assert trade_of(trade.plain) is trade or trade.plain in TRADE
        assert group_of(PartsLine(item, "x", "", 1, "buy")) == trade.group
        assert "{}" in name or name in table["properties"]
    assert json.dumps(table)
