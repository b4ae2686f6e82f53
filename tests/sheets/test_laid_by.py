"""How a person lays a sheet: its layer that is not cut, notes, names on parts, rest lines, labels
of the picture.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import shapely
import shapely.ops

from fab.outlines.contour import Outline
from fab.outlines.drawing import Drawing, Layer
from fab.outlines.facets import to_shapely
from fab.outlines.figures import text_width_mm
from fab.outlines.kerf import kerf_compensated
from fab.outlines.page import Group, Item, Text
from fab.outlines.shapes import rectangle
from fab.outputs.cut import nest_all
from fab.outputs.nested import Search
from fab.params.shop import Laser, Shop, Stock
from fab.sheets.cut import cut_plan
from fab.sheets.drawing import NOT_CUT, lay_notes, sheet_drawing
from fab.sheets.label import named, seat
from fab.sheets.leftover import leftovers
from fab.sheets.model import Layup, Piece
from fab.sheets.nest import nest
from fab.sheets.picture import sheet_picture
from tests.cases import few
from tests.sheets.shop_floor import GAP, KERF, angle, coupon, disc, offcut, panel, ring, sheet

ELL = ((0.0, 0.0), (420.0, 0.0), (420.0, 160.0), (180.0, 160.0), (180.0, 330.0), (0.0, 330.0))
STOCK = Stock(kerf=KERF)


def drawn(layup: Layup, pieces: list[Piece], laser: Laser | None = None) -> Drawing:
    laser = laser or Laser()
    return sheet_drawing(layup, cut_plan(layup, pieces, laser, STOCK), laser, STOCK)


def not_cut(drawing: Drawing) -> list[Layer]:
    return [layer for layer in drawing.layers if layer.name == NOT_CUT]


def test_an_offcut_shows_its_edge_and_the_corner_at_the_origin() -> None:
    pieces = [panel(6, 90, 3, name="hex")]
    layup = nest(pieces, [offcut(ELL)], gap_mm=GAP, kerf_mm=KERF).layups[0]
    drawing = drawn(layup, pieces)
    (layer,) = not_cut(drawing)
    edge, corner = layer.strokes
    assert edge == (*ELL, ELL[0])
    assert corner[1] == (2.5, 2.5)  # in the margin of 5 mm, so that no cut meets it
    assert layer.contours == ()
    assert any("offcut rest-1 (opal, 420 x 330 mm)" in note for note in drawing.notes)
    assert any(
        f"layer {NOT_CUT} shows its edge, corner at the origin" in note for note in drawing.notes
    )


def test_a_plain_sheet_has_no_such_layer_and_grain_has_an_arrow() -> None:
    pieces = [panel(6, 90, 3, name="hex")]
    plain = nest(pieces, [sheet()], gap_mm=GAP, kerf_mm=KERF).layups[0]
    assert not_cut(drawn(plain, pieces)) == []
    (note,) = lay_notes(plain.sheet)
    assert note.startswith("cut from sheet opal (600 x ")  # a sheet named as its stock: once
    assert "(opal, " in lay_notes(replace(plain.sheet, name="opal-wide"))[0]
    grained = nest(pieces, [sheet(grain=True)], gap_mm=GAP, kerf_mm=KERF).layups[0]
    (layer,) = not_cut(drawn(grained, pieces))
    _, shaft, *heads = layer.strokes
    assert shaft[0][1] == shaft[1][1]  # along X
    assert shaft[1][0] - shaft[0][0] == pytest.approx(60.0)
    assert len(heads) == 2
    assert any(
        "grain: lay it as measured, 600 mm along X" in note for note in lay_notes(grained.sheet)
    )
    texts = [item.text for item in flat(picture(grained, pieces))]
    assert "grain" in texts


def test_what_shows_how_to_lay_a_sheet_meets_no_cut() -> None:
    pieces = [panel(6, 90, 3, name="hex"), coupon(4)]
    layup = nest(pieces, [offcut(ELL)], gap_mm=GAP, kerf_mm=KERF).layups[0]
    drawing = drawn(layup, pieces)
    (layer,) = not_cut(drawing)
    lines = shapely.MultiLineString(list(layer.strokes))
    cuts = [
        to_shapely(Outline(loop))
        for one in drawing.layers
        for loop in one.contours
        if loop.area_mm2 > 0
    ]
    assert cuts
    assert min(lines.distance(cut) for cut in cuts) > 2.0


@pytest.mark.parametrize("name", few(["hex", "Deckel-ä", "Табличка", "名札"], 0))
def test_a_name_lies_on_its_part(name: str) -> None:
    """Whatever the script: every letter inside the material, a millimetre off the marks that were
    there.
    """
    own = ((-20.0, -5.0), (20.0, -5.0))
    piece = Piece(name, panel(6, 90, 1).outline, 1, "opal", "symmetry", (own,))
    found = named(piece)
    assert found.marks[0] == own
    letters = shapely.MultiLineString([list(mark) for mark in found.marks[1:]])
    assert not letters.is_empty
    assert to_shapely(piece.outline).contains(letters)
    assert letters.distance(shapely.LineString(own)) > 0.9
    assert letters.bounds[3] - letters.bounds[1] > 1.0


def test_a_part_without_room_keeps_its_marks_alone() -> None:
    small = Piece("a-long-name", Outline(rectangle(6, 6)), 1, "opal")
    assert named(small) is small
    assert seat(small.outline)[2] == pytest.approx(3.0, abs=0.1)


def test_names_are_an_option_of_the_shop() -> None:
    stock = {"opal": Stock(width=300, height=200, margin=5, kerf=KERF)}
    for wanted in (False, True):
        shop = Shop(stock=stock, laser=Laser(part_names=wanted))
        nested = nest_all(shop, {"opal": [panel(6, 80, 2, name="hex")]}, Search())
        (one,) = nested.stocks
        plan = nested.plan(one, one.nest.layups[0])
        assert (plan.mark_mm > 0) is wanted


@pytest.mark.parametrize("shape", few([(None,), (ELL,)], 0))
def test_rest_lines_part_the_rest_from_the_parts(
    shape: tuple[tuple[float, float], ...] | None,
) -> None:
    """Cut along the lines and the sheet falls apart: no piece holds both a part and the middle of
    the rest.
    """
    pieces = [panel(6, 90, 3, name="hex"), coupon(3)]
    stock = offcut(shape) if shape else sheet()
    layup = nest(pieces, [stock], gap_mm=GAP, kerf_mm=KERF).layups[0]
    laser = Laser(cut_rests=True)
    plan = cut_plan(layup, pieces, laser, STOCK)
    runs = [step for step in plan.passes if step.operation == "rest"]
    assert runs
    assert [step.operation for step in plan.passes][-len(runs) :] == ["rest"] * len(runs)
    lines = [shapely.LineString([step.start, *(seg.end for seg in step.segments)]) for step in runs]
    parted = shapely.ops.split(
        shapely.Polygon(stock.outline), shapely.MultiLineString(lines).buffer(KERF / 2).boundary
    )
    rest, *_ = leftovers(layup, pieces, gap_mm=laser.part_gap, kerf_mm=KERF, name="r")
    middle = shapely.Polygon(rest.outline).representative_point()
    cuts = [
        to_shapely(p.outline(kerf_compensated(piece_of(pieces, p.piece).outline, KERF)))
        for p in layup.placed
    ]
    assert min(line.distance(cut) for line in lines for cut in cuts) >= GAP
    (whole,) = [part for part in parted.geoms if part.contains(middle)]
    assert not any(whole.intersects(cut) for cut in cuts)
    assert [layer.name for layer in drawn(layup, pieces, laser).layers].count("CUT-REST") == 1
    assert not [
        step for step in cut_plan(layup, pieces, Laser(), STOCK).passes if step.operation == "rest"
    ]


@pytest.mark.slow
def test_every_part_of_a_crowded_sheet_is_named_and_no_label_covers_another() -> None:
    pieces = [panel(6, 110, 4, 3, name="hex"), angle(3), coupon(9), ring(2), disc(8, 14)]
    layup = nest(pieces, [sheet()], gap_mm=GAP, kerf_mm=KERF).layups[0]
    found = flat(picture(layup, pieces))
    names = {f"{p.piece} {p.copy}" for p in layup.placed}
    labels = [item for item in found if item.text.split(" / ")[0] in names]
    assert sorted(item.text.split(" / ")[0] for item in labels) == sorted(names)
    assert any(" / " in item.text for item in labels)  # some by a leader
    boxes = [
        shapely.box(
            item.x - (w := text_width_mm(item.text, item.size_mm) / 2),
            item.y,
            item.x + w,
            item.y + item.size_mm * 0.7,
        )
        for item in labels
    ]
    assert not any(a.intersects(b) for k, a in enumerate(boxes) for b in boxes[:k])
    assert all(math.isfinite(item.x) for item in labels)


def piece_of(pieces: list[Piece], name: str) -> Piece:
    return next(piece for piece in pieces if piece.name == name)


def picture(layup: Layup, pieces: list[Piece]) -> tuple[Item, ...]:
    return sheet_picture(layup, cut_plan(layup, pieces, Laser(), STOCK), pieces, STOCK).items


def flat(items: tuple[Item, ...]) -> list[Text]:
    found: list[Text] = []
    for item in items:
        if isinstance(item, Group):
            found += flat(item.items)
        elif isinstance(item, Text):
            found.append(item)
    return found
