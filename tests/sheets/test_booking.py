"""Used sheets and new offcuts in the maker's shop file: nothing else changes, nothing is lost."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path

import pytest

from fab.errors import InputError, OutputError
from fab.outlines.contour import Outline
from fab.outlines.shapes import regular
from fab.params.replacing import replace_file
from fab.params.shop import Shop
from fab.params.shopfile import shop_of
from fab.sheets.booking import Booking, booking
from fab.sheets.leftover import Rest, leftovers
from fab.sheets.model import Layup, Piece
from fab.sheets.nest import nest
from fab.sheets.rack import rack
from tests.cases import few


def write(change: Booking) -> None:
    """As a booked build does it."""
    replace_file(change.path, change.new, expected=change.old)


SHOP = """# my shop
name = "bench"

[stock.opal-3] # on the left
count = 3 # of the good ones
price = 14.0

# what is in the box
[[offcut]]
name = "box-1" # blue pen
stock = "opal-3"
count = 2
outline = [[0, 0], [150, 0], [150, 140], [0, 140]]

[[offcut]]
stock = "opal-3"
outline = [[10, 10], [160, 10], [160, 150], [10, 150]]

[laser]
part_gap = 2
"""


def cut(path: Path, count: int) -> tuple[Shop, tuple[Layup, ...], list[Rest]]:
    """Hexagons of 120 mm on the rack of a shop file."""
    shop = shop_of(path)
    name = next(iter(shop.stock))
    piece = Piece("hex", Outline(regular(6, 60, 3)), count, name)
    found = nest([piece], rack(shop, name), gap_mm=2.0, kerf_mm=0.18)
    assert not found.missing
    rests = [
        rest
        for k, layup in enumerate(found.layups)
        for rest in leftovers(layup, [piece], gap_mm=2.0, kerf_mm=0.18, name=f"job-sheet-{k + 1}")
    ]
    return shop, found.layups, rests


def booked(path: Path, count: int) -> Booking:
    shop, layups, rests = cut(path, count)
    change = booking(path, shop, layups, rests)
    write(change)
    return change


def shop_file(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "bench.toml"
    path.write_bytes(text.encode())
    return path


@pytest.mark.parametrize("newline", few(["\n", "\r\n"], 0))
def test_counts_go_down_and_rests_come_in(tmp_path: Path, newline: str) -> None:
    """One hexagon on each of three offcuts, five on a sheet; by hand."""
    path = shop_file(tmp_path, SHOP.replace("\n", newline))
    change = booked(path, 8)
    assert change.says[:3] == (
        "stock.opal-3.count: 3 -> 2",
        "offcut 'box-1', count: 2 -> 0",
        "offcut 2, count: 1 -> 0",
    )
    assert all(row.startswith("new offcut 'job-sheet-4-rest-1': ") for row in change.says[3:])
    after = path.read_bytes().decode()
    assert after.count("\n") == after.count(newline)
    table = tomllib.loads(after.replace("\r\n", "\n"))
    assert table["stock"]["opal-3"] == {"count": 2, "price": 14.0}
    assert [(one.get("name"), one["count"]) for one in table["offcut"]] == [
        ("box-1", 0),
        (None, 0),
        ("job-sheet-4-rest-1", 1),
    ]
    for kept in (
        "# my shop",
        "# on the left",
        "# of the good ones",
        "# what is in the box",
        "# blue pen",
        "part_gap = 2",
    ):
        assert kept in after
    again = cut(path, 1)  # the next job begins with the rest
    assert [layup.sheet.name for layup in again[1]] == ["job-sheet-4-rest-1"]


def test_an_offcut_that_ends_where_a_new_one_begins_as_it_did(tmp_path: Path) -> None:
    """The old entry's `count = 1` becomes 0 and the new one's stands below: no line is taken for
    another.
    """
    old = '[stock.s]\ncount = 1\n\n[[offcut]]\nname = "a"\nstock = "s"\ncount = 1\n'
    outline = "outline = [[0, 0], [400, 0], [400, 300], [200, 290], [0, 300]]\n"
    path = shop_file(tmp_path, old + outline)
    booked(path, 1)
    text = path.read_text()
    assert text.startswith(old.removesuffix("count = 1\n") + "count = 0\n" + outline)
    assert [(one.name, one.count) for one in shop_of(path).offcut] == [
        ("a", 0),
        ("job-sheet-1-rest-1", 1),
    ]


def test_what_stands_in_a_file_below_is_written_above_it(tmp_path: Path) -> None:
    """A list of offcuts in the upper file takes the place of the one below: the inherited ones go
    along.
    """
    shop_file(tmp_path, SHOP)
    path = tmp_path / "mine.toml"
    path.write_text('# mine\nextends = "bench.toml"\n')
    before = shop_of(path)
    booked(path, 8)
    after = shop_of(path)
    assert path.read_text().startswith('# mine\nextends = "bench.toml"\n')
    assert after.stock["opal-3"] == replace(before.stock["opal-3"], count=2)
    assert [one.count for one in after.offcut] == [0, 0, 1]
    assert after.offcut[0] == replace(before.offcut[0], count=0)
    assert (tmp_path / "bench.toml").read_text() == SHOP


def test_offcuts_in_a_plain_list(tmp_path: Path) -> None:
    path = shop_file(
        tmp_path,
        'offcut = [{name = "a", stock = "s", outline = [[0, 0], [150, 0], [150, 140], [0, 140]]}] #'
        " few\n[stock.s]\nprice = 3.0\n",
    )
    booked(path, 5)
    after = shop_of(path)
    assert [(one.name, one.count) for one in after.offcut] == [("a", 0), ("job-sheet-2-rest-1", 1)]
    assert after.stock["s"].count == 9  # the built-in 10 less one
    assert "# few" in path.read_text()


def test_twice_is_refused_and_so_is_a_shop_that_the_job_changes(tmp_path: Path) -> None:
    path = shop_file(tmp_path, SHOP)
    shop, layups, rests = cut(path, 8)
    with pytest.raises(
        InputError, match=r"the job or --set changes sheets or offcuts of this shop"
    ):
        booking(path, replace(shop, offcut=()), layups, rests)
    write(booking(path, shop, layups, rests))
    with pytest.raises(
        InputError, match=r"'job-sheet-4-rest-1' is already in it: this nest was booked before"
    ):
        booking(path, shop_of(path), layups, rests)


def test_a_file_that_changed_meanwhile_is_left_alone(tmp_path: Path) -> None:
    path = shop_file(tmp_path, SHOP)
    change = booking(path, *cut(path, 8))
    path.write_text(SHOP + "# a note of this minute\n")
    with pytest.raises(OutputError, match="changed while it was read"):
        write(change)
    assert path.read_text() == SHOP + "# a note of this minute\n"
