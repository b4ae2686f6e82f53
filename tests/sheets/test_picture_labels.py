"""Labels on the picture of a sheet: none lies on another, and no part goes without."""

from __future__ import annotations

from collections.abc import Iterable

import pytest
import shapely
import shapely.affinity
from hypothesis import given, settings
from hypothesis import strategies as st

from fab.outlines.contour import Outline, Point
from fab.outlines.figures import text_width_mm
from fab.outlines.page import Group, Item, Stroke, Text
from fab.outlines.shapes import rectangle
from fab.params.shop import Laser, Stock
from fab.sheets.cut import cut_plan
from fab.sheets.leftover import leftovers
from fab.sheets.model import Piece
from fab.sheets.nest import nest
from fab.sheets.picture import sheet_picture
from fab.sheets.picture_labels import LIST_MM, Labelled, free_order, labels
from tests.sheets.shop_floor import GAP, KERF, coupon, disc, offcut, panel, sheet

ELL = ((0.0, 0.0), (420.0, 0.0), (420.0, 160.0), (180.0, 160.0), (180.0, 330.0), (0.0, 330.0))
STOCK = Stock(kerf=KERF)


@pytest.mark.slow
@settings(max_examples=6, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(5, 90), st.floats(5, 60), st.integers(1, 25)), min_size=1, max_size=4
    ),
    st.booleans(),
    st.integers(3, 20),
)
def test_no_label_of_a_drawn_sheet_lies_on_another(
    sizes: list[tuple[float, float, int]], cut_off: bool, discs: int
) -> None:
    """Texts by the widths of the font's table and their height; leaders meet no text at all."""
    pieces = [
        Piece(f"part-{k}", Outline(rectangle(wide, high)), count, "opal", "quarter")
        for k, (wide, high, count) in enumerate(sizes)
    ]
    pieces.append(disc(discs, 9))
    layup = nest(
        pieces, [offcut(ELL), sheet()] if cut_off else [sheet()], gap_mm=GAP, kerf_mm=KERF
    ).layups[0]
    plan = cut_plan(layup, pieces, Laser(), STOCK)
    rests = leftovers(layup, pieces, gap_mm=GAP, kerf_mm=KERF, name="job-sheet-01")
    page = sheet_picture(layup, plan, pieces, STOCK, rests, "job, sheet-01")
    texts = placed_texts(page.items, (0.0, 0.0))
    boxes = [text_region(text, at) for text, at in texts]
    pairs = shapely.STRtree(boxes).query(boxes, predicate="intersects").T
    assert [(texts[a][0].text, texts[b][0].text) for a, b in pairs if a < b] == []
    named = labels(0.25, plan, layup, pieces)
    leaders = [
        shapely.LineString([seg.start, seg.end])
        for item in named.items
        if isinstance(item, Stroke)
        for seg in item.segments
    ]
    on_sheet = [text_region(text, at) for text, at in placed_texts(named.items, (0.0, 0.0))]
    assert not any(line.intersects(box) for line in leaders for box in on_sheet)


@pytest.mark.slow
def test_a_crowded_sheet_lists_every_part_that_has_no_name_on_it() -> None:
    """Each copy is named once: on the sheet, in the list, or among those without a number."""
    pieces = [disc(90, 8), coupon(9), panel(6, 110, 2, 3, name="hex")]
    layup = nest(pieces, [sheet()], gap_mm=GAP, kerf_mm=KERF).layups[0]
    plan = cut_plan(layup, pieces, Laser(), STOCK)
    found = labels(0.25, plan, layup, pieces)
    rank = free_order(plan)
    names = {f"{p.piece} {p.copy}" for p in layup.placed}
    on_it = {item.text for item in found.items if isinstance(item, Text)} & names
    listed = {owner for _, owner in found.numbered}
    bare = {owner for owner, _ in found.bare}
    assert listed
    assert on_it | listed | bare == names
    assert len(on_it) + len(listed) + len(bare) == len(names)
    assert all(rank[owner] == number for number, owner in found.numbered)
    numbers = {item.text for item in found.items if isinstance(item, Text)}
    assert all(str(number) in numbers for number, _ in found.numbered)
    assert all(text_width_mm(line, LIST_MM) <= 158 for line in found.lines)


def test_numbers_that_follow_each_other_are_one_entry() -> None:
    two = Labelled((), ((4, "disc 7"), (3, "disc 6"), (9, "disc 8")), (("chip 1", (10.4, 5.0)),))
    assert two.lines == [
        "Numbers on small parts: 3 to 4 = disc 6 to 7, 9 = disc 8.",
        "Without a number, for want of room: chip 1 at (10, 5) mm.",
    ]
    many = Labelled((), (), tuple((f"chip {k}", (0.0, 0.0)) for k in range(7)))
    assert many.lines == ["Without a number, for want of room: 7 x chip."]


def test_a_label_beside_its_part_keeps_off_engraved_names() -> None:
    """A leader's label would lie in the middle of the tag, over the name that is engraved there."""
    name = tuple(((2.0 * k, -2.0), (2.0 * k, 2.0)) for k in range(-4, 5))
    tag = Piece("tag", Outline(rectangle(32, 16)), 3, "opal", "half", name)
    layup = nest([tag], [sheet()], gap_mm=GAP, kerf_mm=KERF).layups[0]
    found = labels(0.4, cut_plan(layup, [tag], Laser(), STOCK), layup, [tag])
    regions = [text_region(text, at) for text, at in placed_texts(found.items, (0.0, 0.0))]
    strokes = [
        shapely.LineString([(0.4 * x, 0.4 * y) for x, y in map(item.point, line)])
        for item in layup.placed
        for line in name
    ]
    assert len(regions) == 3
    assert not any(region.intersects(line) for region in regions for line in strokes)


def test_a_bad_spot_is_shown_and_explained() -> None:
    spot = ((200.0, 80.0), (240.0, 80.0), (240.0, 120.0), (200.0, 120.0))
    pieces = [panel(6, 90, 2, 3, name="hex")]
    layup = nest(pieces, [offcut(ELL, (spot,))], gap_mm=GAP, kerf_mm=KERF).layups[0]
    page = sheet_picture(layup, cut_plan(layup, pieces, Laser(), STOCK), pieces, STOCK)
    told = [text.text for text, _ in placed_texts(page.items, (0.0, 0.0))]
    assert "Grey: holes and bad spots of the sheet. Nothing lies there." in told


def placed_texts(items: Iterable[Item], shift: Point) -> list[tuple[Text, Point]]:
    """Texts and by how much their groups move them."""
    found: list[tuple[Text, Point]] = []
    for item in items:
        if isinstance(item, Group):
            found += placed_texts(item.items, (shift[0] + item.shift[0], shift[1] + item.shift[1]))
        elif isinstance(item, Text):
            found.append((item, shift))
    return found


def text_region(text: Text, shift: Point) -> shapely.Geometry:
    """Capitals and figures from the baseline to 0.7 of the font size (DejaVu Sans: 0.729)."""
    wide, x, y = text_width_mm(text.text, text.size_mm), text.x + shift[0], text.y + shift[1]
    left = {"start": x, "middle": x - wide / 2, "end": x - wide}[text.anchor]
    box = shapely.box(left, y, left + wide, y + 0.7 * text.size_mm)
    return shapely.affinity.rotate(box, text.turn_deg, origin=(x, y))
