"""The nest from pieces and sheets to layups; every answer is held by the audit."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fab.errors import InputError
from fab.outlines.contour import Outline, circle, polygon
from fab.outlines.shapes import regular
from fab.params.shop import Laser
from fab.sheets.audit import audit
from fab.sheets.identical import choose
from fab.sheets.lock import inputs_sha256, lock, taken_from
from fab.sheets.model import Nest, Piece, Sheet
from fab.sheets.nest import gap_of, nest, shortage
from tests.cases import few
from tests.sheets.shop_floor import (
    GAP,
    KERF,
    angle,
    box,
    coupon,
    disc,
    offcut,
    panel,
    ring,
    sheet,
    triangle,
)


def proven(pieces: Sequence[Piece], sheets: Sequence[Sheet], **how: Any) -> Nest:
    found = nest(pieces, sheets, gap_mm=GAP, kerf_mm=KERF, **how)
    assert audit(found, pieces, sheets, GAP, KERF) == ()
    return found


@pytest.mark.parametrize("count", few([1, 9, 14, 100], 1, 2))
@pytest.mark.parametrize("sides", [3, 4, 6])
def test_identical_panels(sides: int, count: int) -> None:
    found = proven([panel(sides, 120, count, 3.0)], [sheet()])
    assert sum(len(layup.placed) for layup in found.layups) == count
    assert found.missing == {}
    assert found.engine == "rows"
    assert len(found.layups) >= found.lower_bound_sheets
    assert found.cost >= found.lower_bound_cost - 1e-9
    copies = [item.copy for layup in found.layups for item in layup.placed]
    assert sorted(copies) == list(range(1, count + 1))


def test_used_area_is_that_of_the_cut_paths() -> None:
    """Steiner with mitres: A + P k/2 + n tan(pi/n) (k/2)^2. Source: reference values, section 2."""
    d, r = 100.0, KERF / 2
    grown = math.sqrt(3) / 2 * d**2 + 2 * math.sqrt(3) * d * r + 6 * math.tan(math.pi / 6) * r**2
    found = proven([panel(6, d, 7)], [sheet()])
    assert found.used_area == pytest.approx(7 * grown, rel=1e-9)
    assert found.layups[0].utilisation == pytest.approx(7 * grown / 240_000)


def test_the_last_sheet_keeps_one_large_rest() -> None:
    """Ten of 13 that would fit leave a strip at one side; everything lies in the other part."""
    one = proven([panel(6, 120, 3, 3.0)], [sheet()]).layups[0]
    assert max(item.x for item in one.placed) < 150 or max(item.y for item in one.placed) < 150
    nine = proven([panel(6, 120, 9, 3.0)], [sheet()]).layups[0]
    assert max(item.x for item in nine.placed) + 70 < 420


def test_large_counts_repeat_one_pattern() -> None:
    found = proven([panel(6, 120, 10_000, 3.0)], [sheet(count=1_000)])
    poses = {tuple((p.x, p.y, p.turn_deg) for p in layup.placed) for layup in found.layups}
    assert len(poses) <= 2
    assert sum(len(layup.placed) for layup in found.layups) == 10_000


@pytest.mark.slow
def test_cheapest_sheets_first() -> None:
    """By hand: 20 hexagons, 13 on a large sheet at 14, 6 on a small one at 4: four small (16) beat
    two large (28).
    """
    small = sheet(400, 280, name="small", price=4.0)
    pieces = [panel(6, 120, 20, 3.0)]
    each = {
        s.name: len(proven([panel(6, 120, 99, 3.0)], [replace(s, count=1)]).layups[0].placed)
        for s in (sheet(), small)
    }
    assert each == {"opal": 13, "small": 6}
    found = proven(pieces, [sheet(), small])
    assert [layup.sheet.name for layup in found.layups] == ["small"] * 4
    assert proven(pieces, [sheet(), replace(small, count=2)]).cost == 14 + 4 + 4


def test_offcuts_go_first_so_that_the_sheet_keeps_a_large_rest() -> None:
    """By hand: eight hexagons cost one sheet with or without the three offcuts that take one each;
    with them, five lie on the sheet in place of eight. What fits on offcuts alone leaves those that
    it does not need.
    """
    box_ = offcut(box(160, 150), count=3)
    found = proven([panel(6, 120, 8, 3.0)], [box_, sheet()])
    assert [len(layup.placed) for layup in found.layups] == [1, 1, 1, 5]
    few = proven([panel(6, 120, 2, 3.0)], [box_, sheet()])
    assert [len(layup.placed) for layup in few.layups] == [1, 1]
    assert few.cost == 0


@settings(max_examples=60, deadline=None)
@given(
    least=st.integers(1, 40),
    offers=st.lists(
        st.tuples(st.integers(1, 12), st.sampled_from([0.0, 1.0, 2.5, 7.0]), st.integers(0, 4)),
        min_size=1,
        max_size=3,
    ),
)
def test_choose_against_all_choices(least: int, offers: list[tuple[int, float, int]]) -> None:
    """Brute force over every number of every sheet."""

    def combos(k: int) -> list[list[int]]:
        return (
            [[]]
            if k == 0
            else [[*c, n] for c in combos(k - 1) for n in range(offers[k - 1][2] + 1)]
        )

    enough = [
        c
        for c in combos(len(offers))
        if sum(n * o[0] for n, o in zip(c, offers, strict=True)) >= least
    ]
    used = choose(least, offers)
    assert all(0 <= n <= o[2] for n, o in zip(used, offers, strict=True))
    if not enough:
        assert used == [o[2] for o in offers]
        return
    assert sum(n * o[0] for n, o in zip(used, offers, strict=True)) >= least
    best = min(sum(n * o[1] for n, o in zip(c, offers, strict=True)) for c in enough)
    assert sum(n * o[1] for n, o in zip(used, offers, strict=True)) == pytest.approx(best)


def test_stock_runs_out() -> None:
    pieces, sheets = [panel(6, 120, 40, 3.0)], [sheet(count=2)]
    found = proven(pieces, sheets)
    assert found.missing == {"part": 14}
    says = shortage(found, pieces, sheets)
    assert "no room for 14 x part" in says
    assert "Buy about 2 more sheets of 600 x 400 mm" in says
    assert shortage(proven([panel(6, 120, 4)], sheets), [panel(6, 120, 4)], sheets) == ""


def test_a_part_larger_than_every_sheet_says_the_size_it_needs() -> None:
    with pytest.raises(
        InputError,
        match=(
            r"part: its cut path is 693 x 600.2 mm and fits .* margin\. It needs a sheet of 703.1 x"
            r" 610.2 mm"
        ),
    ):
        nest([panel(6, 600, 1)], [sheet()], gap_mm=GAP, kerf_mm=KERF)
    assert proven([panel(6, 600, 1)], [sheet(703.1, 610.2)]).missing == {}


def test_zero_size_and_bad_numbers_are_refused() -> None:
    with pytest.raises(InputError, match="too small to cut"):
        nest([panel(6, 0.05, 1)], [sheet()], gap_mm=GAP, kerf_mm=KERF)
    with pytest.raises(InputError, match="gap: nan is out of range"):
        nest([panel(6, 50, 1)], [sheet()], gap_mm=math.nan, kerf_mm=KERF)
    with pytest.raises(InputError, match="two pieces have this name"):
        nest([panel(6, 50, 1), panel(6, 50, 1)], [sheet()], gap_mm=GAP, kerf_mm=KERF)
    with pytest.raises(InputError, match="no sheet of stock 'opal'"):
        nest([panel(6, 50, 1)], [], gap_mm=GAP, kerf_mm=KERF)
    slit = Piece("slit", Outline(regular(6, 50), (circle((0, 0), 0.05),)), 1, "opal")
    with pytest.raises(InputError, match="slit"):
        nest([slit], [sheet()], gap_mm=GAP, kerf_mm=KERF)


def test_nothing_wanted_is_nothing_laid() -> None:
    assert nest([panel(6, 120, 0)], [sheet()], gap_mm=GAP, kerf_mm=KERF).layups == ()


@pytest.mark.slow
def test_a_dent_of_a_hundredth_is_still_nested_in_rows() -> None:
    """Loose lines leave dents: a card whose upper edge sags by 0.01 mm in the middle fills a sheet
    like a plain one.
    """
    flat, sags = (
        [(0.0, 0.0), (140.0, 0.0), (140.0, 50.0), (70.0, 50.0 - by), (0.0, 50.0)]
        for by in (0.0, 0.01)
    )
    counts = []
    for corners in (flat, sags):
        cards = [Piece("card", Outline(polygon(corners)), 60, "opal", "quarter")]
        found = proven(cards, [sheet()])
        assert found.engine == "rows"
        counts.append([len(layup.placed) for layup in found.layups])
    assert counts[0] == counts[1]
    deep = [
        Piece("card", Outline(polygon([*flat[:3], (70.0, 49.0), flat[4]])), 60, "opal", "quarter")
    ]
    assert proven(deep, [sheet()]).engine != "rows"


def test_grain_allows_half_turns_only() -> None:
    found = proven([panel(3, 60, 30, name="tri")], [sheet(grain=True)])
    assert {item.turn_deg for layup in found.layups for item in layup.placed} <= {0.0, 180.0}
    fixed = proven([panel(3, 60, 30, turns="none", name="tri")], [sheet()])
    assert {item.turn_deg for layup in fixed.layups for item in layup.placed} == {0.0}
    assert len(fixed.layups[0].placed) < len(found.layups[0].placed) or len(fixed.layups) >= len(
        found.layups
    )


def test_mixed_pieces_on_sheets_and_offcuts() -> None:
    """Offcuts cost nothing and come first; nothing lies on the bad spot or over the slanted corner
    (audit).
    """
    pieces = [panel(6, 120, 5, 3.0, name="hex"), ring(1), disc(2), coupon(3), angle(3)]
    rest = offcut(
        ((0, 0), (300, 0), (300, 120), (180, 250), (0, 250)),
        (((60, 60), (90, 60), (90, 100), (60, 100)),),
    )
    found = proven(pieces, [rest, sheet()])
    assert found.missing == {}
    assert [layup.sheet.name for layup in found.layups] == ["rest-1", "opal"]
    assert found.cost == 14.0


def test_parts_lie_in_the_holes_of_others() -> None:
    """A sheet that takes the ring and nothing beside it: the disc can only go into the
    ring's hole.
    """
    found = proven([ring(1), disc(1, 40.0)], [sheet(131, 131)])
    assert found.missing == {}
    one, other = found.layups[0].placed
    assert math.hypot(one.x - other.x, one.y - other.y) < 3.0  # 45 - 40 less kerf and gap
    tight = proven([ring(1), disc(1, 44.0)], [sheet(131, 131, count=1)])
    assert sum(tight.missing.values()) == 1


@pytest.mark.slow
def test_the_quick_way_never_changes_its_mind() -> None:
    pieces = [panel(6, 100, 4, 2.0, name="hex"), triangle(90, 5), coupon(4), angle(2)]
    one, other = proven(pieces, [sheet()]), proven(pieces, [sheet()])
    assert one == other


def test_stop_gives_the_best_so_far() -> None:
    pieces = [panel(6, 100, 4, name="hex"), coupon(4)]
    asked: list[int] = []

    def stop() -> bool:
        asked.append(1)
        return True

    found = proven(pieces, [sheet()], seconds=60.0, stop=stop)
    assert asked
    assert found.missing == {}


def test_progress_is_told() -> None:
    told: list[tuple[str, float]] = []
    proven(
        [panel(6, 100, 4, name="hex"), coupon(4)],
        [sheet()],
        progress=lambda says, share: told.append((says, share)),
    )
    assert told
    assert all(0 < share <= 1 for _, share in told)
    assert told[-1][1] == 1


@pytest.mark.slow
def test_a_search_is_kept_and_used_again() -> None:
    pieces = [panel(6, 100, 4, name="hex"), triangle(90, 5), coupon(4)]
    first = proven(pieces, [sheet()], seconds=1.0)
    entry = json.loads(json.dumps(lock(first)))
    kept = {first.inputs_sha256: entry}
    for seconds in (1.0, 0.0):  # a search once asked for serves the quick run too
        again = proven(pieces, [sheet()], seconds=seconds, found=kept)
        assert again.layups == first.layups
        assert again.kept
        assert lock(again) == entry
    other = [replace(pieces[0], count=5), *pieces[1:]]
    assert taken_from(kept, inputs_sha256(other, [sheet()], GAP, KERF), other, [sheet()]) is None
    gone = {
        **entry,
        "layups": [{"stock": "opal", "sheet": "gone", "used_area": 1, "bound": None, "placed": []}],
    }
    for broken in (gone, {**entry, "format": 1}, {**entry, "layups": 3}, {}, 7):
        assert (
            taken_from({first.inputs_sha256: broken}, first.inputs_sha256, pieces, [sheet()])  # type: ignore[dict-item]
            is None
        )


def test_a_longer_search_never_loses_what_was_kept() -> None:
    """Squares in rows: the search finds nothing better, and the longer time and the seed are kept
    with the nest.
    """
    pieces = [panel(4, 60, 6, name="square")]
    quick = proven(pieces, [sheet()])
    kept = {quick.inputs_sha256: lock(replace(quick, seconds=0.5))}
    for seconds, seed in ((0.6, 1), (0.5, 2)):
        again = proven(pieces, [sheet()], seconds=seconds, seed=seed, found=kept)
        assert (again.seconds, again.seed) == (seconds, seed)
        assert again.layups == quick.layups
        assert again.kept


def test_two_stocks_stay_apart() -> None:
    ply = Piece("jig", Outline(regular(4, 40)), 3, "ply")
    sheets = [sheet(), Sheet("ply", "ply", box(300, 200), (), 5.0, 2, 3.0)]
    found = proven([panel(6, 120, 3, 3.0), ply], sheets)
    assert {layup.sheet.stock: set(layup.counts) for layup in found.layups} == {
        "opal": {"part"},
        "ply": {"jig"},
    }


def test_shared_lines_want_no_gap() -> None:
    assert gap_of(Laser(common_line=True, part_gap=2.0), [panel(6, 100, 4)]) == 0.0
    assert gap_of(Laser(common_line=True, part_gap=2.0), [panel(6, 100, 4), coupon(1)]) == 2.0
    assert gap_of(Laser(part_gap=2.0), [panel(6, 100, 4)]) == 2.0
