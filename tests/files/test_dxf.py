"""DXF read back by the library's own reader and auditor, and measured by its own geometry."""

import io
import logging
import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fab.files.dxf import dxf
from fab.files.readback import check_dxf
from fab.outlines.contour import Arc, Contour, Line, circle
from fab.outlines.drawing import Drawing, Layer
from fab.outlines.shapes import rectangle, regular, slot

ezdxf = pytest.importorskip("ezdxf")


def _read(data: bytes) -> Any:
    document = ezdxf.read(io.TextIOWrapper(io.BytesIO(data), encoding="cp1252", newline=None))
    audit = document.audit()
    assert not audit.errors
    assert not audit.fixes
    return document


def _points(entity: Any) -> list[tuple[float, float]]:
    """Flattened to 1e-5 mm by the library (its cubic paths stray more than that, so arc by arc)."""
    if entity.dxftype() == "CIRCLE":
        return [(p.x, p.y) for p in entity.flattening(1e-5)]
    points: list[tuple[float, float]] = []
    for piece in entity.virtual_entities():
        run = (
            list(piece.flattening(1e-5))
            if piece.dxftype() == "ARC"
            else [piece.dxf.start, piece.dxf.end]
        )
        run = [(p.x, p.y) for p in run]
        if points and math.dist(points[-1], run[0]) > math.dist(points[-1], run[-1]):
            run.reverse()
        points += run
    return points


def _area(entity: Any) -> float:
    from shapely.geometry import Polygon

    return Polygon(_points(entity)).area


@pytest.mark.parametrize("version", ["R2000", "R12"])
@pytest.mark.parametrize("arcs", [True, False])
def test_layers_order_kinds_and_areas(drawing: Drawing, version: str, arcs: bool) -> None:
    document = _read(dxf(drawing, version=version, arcs=arcs))  # type: ignore[arg-type]
    entities = list(document.modelspace())
    assert [e.dxf.layer for e in entities] == [
        layer.name for layer in drawing.layers for _ in (*layer.contours, *layer.strokes)
    ]
    for layer in drawing.layers:
        mine = [e for e in entities if e.dxf.layer == layer.name]
        closed = [e for e in mine if e.dxftype() == "CIRCLE" or e.is_closed]
        assert len(closed) == len(layer.contours)
        assert len(mine) - len(closed) == len(layer.strokes)
        for entity, contour in zip(closed, layer.contours, strict=True):
            tol = 2e-4 * contour.length_mm if arcs else 0.01 * contour.length_mm
            assert _area(entity) == pytest.approx(abs(contour.area_mm2), abs=tol)
        assert document.layers.get(layer.name).dxf.color == layer.aci
    kinds = {e.dxftype() for e in entities}
    assert kinds == {"POLYLINE" if version == "R12" else "LWPOLYLINE"} | (
        {"CIRCLE"} if arcs else set()
    )


def test_header_says_millimetres_metric_decimal_and_how_far_it_reaches(drawing: Drawing) -> None:
    header = _read(dxf(drawing)).header
    assert header["$ACADVER"] == "AC1015"  # R2000 (reference-values section 2)
    assert (header["$INSUNITS"], header["$MEASUREMENT"], header["$LUNITS"]) == (4, 1, 2)
    boxes = [contour.box for layer in drawing.layers for contour in layer.contours]
    assert header["$EXTMIN"] == pytest.approx(
        (min(b[0] for b in boxes), min(b[1] for b in boxes), 0), abs=1e-5
    )
    assert header["$EXTMAX"] == pytest.approx(
        (max(b[2] for b in boxes), max(b[3] for b in boxes), 0), abs=1e-5
    )
    assert header["$LIMMAX"] == pytest.approx((210, 100))


def test_nothing_lies_on_layer_0_and_all_at_height_0(drawing: Drawing) -> None:
    for entity in _read(dxf(drawing)).modelspace():
        assert entity.dxf.layer != "0"
        assert entity.dxf.get("elevation", 0) == 0


def test_the_closing_segment_is_straight_and_bulges_stay_in_half_turns(drawing: Drawing) -> None:
    for entity in _read(dxf(drawing)).modelspace().query("LWPOLYLINE"):
        bulges = [point[4] for point in entity.get_points()]
        if entity.closed:
            assert bulges[-1] == 0
        assert all(abs(bulge) <= 1 + 1e-9 for bulge in bulges)


# Bulge is tan(included angle / 4), negative clockwise (DXF reference, group code 42;
# reference-values section 2).
@pytest.mark.parametrize(
    ("degrees", "bulge"),
    [(90, 0.4142135624), (60, 0.2679491924), (120, 0.5773502692), (180, 1.0), (-90, -0.4142135624)],
)
def test_bulge_values(degrees: int, bulge: float) -> None:
    arc = Arc((10.0, 0.0), (0.0, 0.0), math.radians(degrees))
    contour = Contour(
        (
            Line((-30.0, -20.0), arc.start),
            arc,
            Line(arc.end, (-30.0, 30.0)),
            Line((-30.0, 30.0), (-30.0, -20.0)),
        )
    )
    data = dxf(Drawing(50, 50, (Layer("A", "#000000", 1, (contour.moved(30, 20),)),)))
    (entity,) = _read(data).modelspace()
    assert [point[4] for point in entity.get_points() if point[4]] == [
        pytest.approx(bulge, abs=1e-9)
    ]


def test_r12_says_in_words_what_it_cannot_store_and_the_library_keeps_quiet(
    drawing: Drawing, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.DEBUG):
        data = dxf(drawing, version="R12")
    assert "not exported" not in caplog.text
    assert b"millimetres (this DXF version cannot store them)" in data
    assert b"$INSUNITS" not in data
    assert logging.getLogger("ezdxf").level == logging.NOTSET


def test_title_notes_and_true_colours_are_comments(drawing: Drawing) -> None:
    head = dxf(drawing).split(b"SECTION")[0].decode("cp1252")
    assert head.startswith("999\r\n")
    assert "sheet <1> & \\U+2300" in head
    assert "kerf 0.18 mm applied" in head
    assert "layer CUT-OUTER: #d55e00" in head


def test_a_note_of_several_lines_cannot_break_the_file(drawing: Drawing) -> None:
    nasty = Drawing(
        10,
        10,
        (Layer("A", "#000000", 1, (rectangle(5, 5, (5, 5)),)),),
        "a\n0\nEOF",
        ("b\r\n0\r\nSECTION",),
    )
    _read(dxf(nasty))
    assert check_dxf(dxf(nasty), nasty) == []


def test_chords_stay_within_a_hundredth() -> None:
    from shapely.geometry import Point, Polygon

    data = dxf(
        Drawing(210, 210, (Layer("A", "#000000", 1, (circle((105, 105), 100),)),)), arcs=False
    )
    (entity,) = _read(data).modelspace()
    ring = Polygon([point[:2] for point in entity.get_points()])
    # 222 chords: ceil(pi / acos(1 - e / r)) (reference-values section 3), two half turns of 111
    # each
    assert len(entity) == 2 * math.ceil(math.pi / 2 / math.acos(1 - 0.01 / 100))
    gap = max(abs(Point(105, 105).distance(Point(p)) - 100) for p in ring.exterior.coords)
    assert gap < 1e-5
    assert Point(105, 105).distance(ring.exterior) >= 100 - 0.01


@settings(max_examples=25, deadline=None)
@given(
    st.integers(3, 9), st.floats(5, 300), st.floats(0, 0.9), st.floats(0, 6.3), st.floats(0.5, 3)
)
def test_any_rounded_polygon_reads_back(
    sides: int, apothem: float, share: float, turn: float, hole: float
) -> None:
    outer = regular(sides, apothem, share * apothem).turned(turn).moved(800, 800)
    inner = slot((800 - hole / 2, 800), (800 + hole / 2, 801), hole)
    drawing = Drawing(
        1600, 1600, (Layer("I", "#000000", 1, (inner,)), Layer("O", "#000000", 2, (outer,)))
    )
    assert check_dxf(dxf(drawing), drawing) == []
    assert check_dxf(dxf(drawing, arcs=False), drawing, arcs=False) == []


def test_a_coordinate_that_is_not_finite_never_reaches_a_machine() -> None:
    drawing = Drawing(10, 10, (Layer("A", "#000000", 1, (), (((0, 0), (math.nan, 1)),)),))
    with pytest.raises(ValueError, match="not a number that a file can hold"):
        dxf(drawing)
