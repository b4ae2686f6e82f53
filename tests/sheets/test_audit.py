"""The audit finds what is planted."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fab.sheets.audit import audit
from fab.sheets.model import Layup, Nest, Piece, Placed
from fab.sheets.nest import nest
from tests.sheets.shop_floor import GAP, KERF, panel, ring, sheet

PIECES = [panel(6, 100, 6, 2.0), ring(1)]
SHEETS = [sheet()]


@pytest.fixture(scope="module")
def good() -> Nest:
    found = nest(PIECES, SHEETS, gap_mm=GAP, kerf_mm=KERF)
    assert audit(found, PIECES, SHEETS, GAP, KERF) == ()
    return found


def with_first(found: Nest, **change: float | str | int) -> Nest:
    """The nest with its first copy of `part` changed."""
    layup = found.layups[0]
    index = next(k for k, item in enumerate(layup.placed) if item.piece == "part")
    placed = list(layup.placed)
    placed[index] = replace(placed[index], **change)  # type: ignore[arg-type]
    return replace(found, layups=(replace(layup, placed=tuple(placed)), *found.layups[1:]))


def first(found: Nest) -> Placed:
    return next(item for item in found.layups[0].placed if item.piece == "part")


def says(found: Nest, pieces: list[Piece] = PIECES) -> str:
    return "; ".join(audit(found, pieces, SHEETS, GAP, KERF))


def test_a_part_over_the_edge_or_in_the_margin(good: Nest) -> None:
    assert "extends beyond the sheet" in says(with_first(good, x=20.0))
    low = 100 / 3**0.5 - 2 * (2 / 3**0.5 - 1) + KERF / 2  # lowest point of a corner rounded by 2 mm
    assert "the margin is 5 mm" in says(
        with_first(good, x=300.0, y=low + 4.9, turn_deg=0.0)
    ) or "overlap" in says(with_first(good, x=300.0, y=low + 4.9, turn_deg=0.0))


def test_an_overlap(good: Nest) -> None:
    other = [p for p in good.layups[0].placed if p.piece == "part"][1]
    assert "overlap" in says(with_first(good, x=other.x + 10, y=other.y))


@pytest.mark.parametrize(
    ("apart", "fine"), [(2.0, True), (1.995, False), (1.0, False), (0.0, False), (-0.5, False)]
)
def test_a_gap_met_and_missed(apart: float, fine: bool) -> None:
    """Two squares side by side; their cut paths are `apart`."""
    piece = panel(4, 100, 2)
    placed = (Placed("part", 1, 100, 100, 0), Placed("part", 2, 200 + KERF + apart, 100, 0))
    found = Nest((Layup(sheet(), placed, 0.0, None),), {}, 14.0, 1, 14.0, "area", "hand", "")
    assert (audit(found, [piece], [sheet()], GAP, KERF) == ()) == fine


def test_round_parts_are_measured_on_their_true_curves() -> None:
    """Two disks exactly a gap apart pass, 0.01 mm less does not."""
    piece = Piece("disc", ring(1).outline, 2, "opal")
    for less, fine in ((0.0, True), (0.01, False)):
        far = 120 + KERF + GAP - less
        placed = (
            Placed("disc", 1, 100, 100, 0),
            Placed("disc", 2, 100 + far * 0.8, 100 + far * 0.6, 0),
        )
        found = Nest((Layup(sheet(), placed, 0.0, None),), {}, 14.0, 1, 14.0, "area", "hand", "")
        assert (audit(found, [piece], [sheet()], GAP, KERF) == ()) == fine


def test_a_copy_twice_or_lost(good: Nest) -> None:
    layup = good.layups[0]
    twice = replace(
        good, layups=(replace(layup, placed=(*layup.placed, first(good))), *good.layups[1:])
    )
    assert "lies 2 times" in says(twice)
    lost = replace(good, layups=(replace(layup, placed=layup.placed[1:]), *good.layups[1:]))
    assert "wanted" in says(lost)


def test_a_wrong_turn_stock_or_stranger(good: Nest) -> None:
    fixed = [replace(PIECES[0], turns="none"), PIECES[1]]
    assert "is turned by 12 degrees" in says(with_first(good, turn_deg=12.0), fixed)
    assert "is of stock 'ply'" in says(good, [replace(PIECES[0], stock="ply"), PIECES[1]])
    assert "not ordered" in says(with_first(good, piece="logo"))


def test_more_sheets_than_there_are(good: Nest) -> None:
    assert "sheets 'opal': 1 used, 0 in the rack" in "; ".join(audit(good, PIECES, [], GAP, KERF))


def test_a_part_in_a_hole_is_no_overlap() -> None:
    """Rings are not filled: a small part in the hole of one is right where it is."""
    small = panel(6, 40, 1)
    layup = Layup(
        sheet(), (Placed("ring", 1, 100, 100, 0), Placed("part", 1, 100, 100, 0)), 0.0, None
    )
    found = Nest((layup,), {}, 14.0, 1, 14.0, "area", "hand", "")
    assert audit(found, [ring(1), small], [sheet()], GAP, KERF) == ()
    wide = panel(6, 88, 1)
    assert audit(found, [ring(1), wide], [sheet()], GAP, KERF) != ()
