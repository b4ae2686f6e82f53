"""SVG for cutting, measured by a path library that did not write it, and held against the DXF of
the same drawing.
"""

import io
import math
import re
from typing import Any
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fab.files.dxf import dxf
from fab.files.readback import check_svg
from fab.files.svg import svg
from fab.outlines.contour import Arc, Contour, Line, circle
from fab.outlines.drawing import Drawing, Layer
from fab.outlines.shapes import keyhole, rectangle, regular, slot

svgelements = pytest.importorskip("svgelements")

NS = {"s": "http://www.w3.org/2000/svg"}


def _shapes(data: bytes) -> Any:
    """Shapes as the library sees them at one unit a millimetre."""
    return [
        e
        for e in svgelements.SVG.parse(io.BytesIO(data), ppi=25.4).elements()
        if isinstance(e, svgelements.Shape)
    ]


def _sampled(shape: Any, height: float, step: float = 0.2) -> Any:
    """Points of a shape, y up again: eight on each run at least, so that arcs show their middle."""
    points = []
    for seg in svgelements.Path(shape).segments():
        if isinstance(seg, svgelements.Move) or seg.start is None:
            continue
        count = max(8, math.ceil(seg.length(error=1e-3) / step))
        points += [
            (float(p.x), height - float(p.y))
            for p in (seg.point(k / count) for k in range(count + 1))
        ]
    return points


def test_one_unit_is_one_millimetre(drawing: Drawing) -> None:
    root = ET.fromstring(svg(drawing, line_mm=0.1))
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == (
        "210mm",
        "100mm",
        "0 0 210 100",
    )
    # at 96 px an inch, as CSS says
    picture = svgelements.SVG.parse(io.BytesIO(svg(drawing, line_mm=0.1)))
    assert float(picture.width) == pytest.approx(210 * 96 / 25.4)


def test_groups_are_layers_and_paths_are_contours(drawing: Drawing) -> None:
    root = ET.fromstring(svg(drawing, line_mm=0.07))
    groups = root.findall("s:g", NS)
    assert [group.get("id") for group in groups] == ["MARK", "CUT-INNER", "CUT-OUTER"]
    for group, layer in zip(groups, drawing.layers, strict=True):
        assert len(group) == len(layer.contours) + len(layer.strokes)
        assert (group.get("fill"), group.get("stroke"), group.get("stroke-width")) == (
            "none",
            layer.colour,
            "0.07",
        )
        assert [e.get("d", "Z").endswith("Z") for e in group] == [True] * len(layer.contours) + [
            False
        ] * len(layer.strokes)
    assert len(root.findall(".//s:circle", NS)) == 1
    assert not root.findall(".//s:text", NS)


def test_words_in_the_drawing_stay_words(drawing: Drawing) -> None:
    nasty = Drawing(
        10, 10, drawing.layers[:1], "<script>alert('x')</script>\x00", ("a & b", '"]]>')
    )
    root = ET.fromstring(svg(nasty, line_mm=0.1))
    assert root.find("s:title", NS).text == "<script>alert('x')</script>\ufffd"
    assert root.find("s:desc", NS).text == 'a & b; "]]>'
    assert not root.findall(".//s:script", NS)


def test_no_arc_goes_round_and_none_is_near_half_a_turn(drawing: Drawing) -> None:
    """Near half a turn four decimals of a radius do not pin the centre."""
    for d in re.findall(r' d="([^"]+)"', svg(drawing, line_mm=0.1).decode()):
        for x0, y0, r, x1, y1 in re.findall(
            r"([-\d.]+) ([-\d.]+) A([-\d.]+) [-\d.]+ 0 0 [01] ([-\d.]+) ([-\d.]+)", d
        ):
            chord = math.dist((float(x0), float(y0)), (float(x1), float(y1)))
            assert 0 < chord < 2 * float(r) * math.sin(math.radians(51))


def _dxf_lines(data: bytes) -> Any:
    """Every entity of a DXF as a fine polyline, by the DXF library's own geometry."""
    import ezdxf
    from shapely.geometry import LineString, MultiLineString

    document = ezdxf.read(io.TextIOWrapper(io.BytesIO(data), encoding="cp1252", newline=None))  # type: ignore[attr-defined]
    for entity in document.modelspace():
        pieces = [entity] if entity.dxftype() == "CIRCLE" else entity.virtual_entities()  # type: ignore[attr-defined]
        runs = [
            (
                [piece.dxf.start, piece.dxf.end]
                if piece.dxftype() == "LINE"
                else list(piece.flattening(1e-5))
            )
            for piece in pieces
        ]
        yield MultiLineString([LineString([(p.x, p.y) for p in run]) for run in runs])


def _agree(drawing: Drawing) -> None:
    from shapely import distance, points

    shapes, lines = _shapes(svg(drawing, line_mm=0.1)), list(_dxf_lines(dxf(drawing)))
    assert len(shapes) == len(lines)
    for shape, line in zip(shapes, lines, strict=True):
        sampled = _sampled(shape, drawing.height)
        assert max(distance(points(sampled), line)) < 1e-3
        assert svgelements.Path(shape).length(error=1e-7) == pytest.approx(
            line.length, abs=2e-3, rel=1e-5
        )
        xs, ys = [x for x, _ in sampled], [y for _, y in sampled]
        assert (min(xs), min(ys), max(xs), max(ys)) == pytest.approx(line.bounds, abs=5e-3)


def test_svg_and_dxf_of_one_drawing_agree_to_a_thousandth(drawing: Drawing) -> None:
    _agree(drawing)


@settings(max_examples=10, deadline=None)
@given(st.integers(3, 8), st.floats(10, 80), st.floats(0.01, 0.9), st.floats(0, 6.28))
def test_svg_and_dxf_of_turned_shapes_agree(
    sides: int, apothem: float, share: float, turn: float
) -> None:
    contours = (
        regular(sides, apothem, share * apothem).turned(turn).moved(200, 200),
        slot((0, 0), (20 * math.cos(turn), 20 * math.sin(turn)), 5).moved(50, 50),
        keyhole((0, 0), (9 * math.sin(turn), 9 * math.cos(turn)), 9, 4.6)
        .moved(350, 350)
        .reversed(),
    )
    _agree(Drawing(400, 400, (Layer("A", "#000000", 1, contours),)))


def test_the_picture_is_upright_and_not_mirrored() -> None:
    """A corner that is at the upper left in y up is at the upper left on screen (y down)."""
    contour = Contour((Line((1, 1), (9, 1)), Line((9, 1), (1, 19)), Line((1, 19), (1, 1))))
    root = ET.fromstring(svg(Drawing(10, 20, (Layer("A", "#000000", 1, (contour,)),)), line_mm=0.1))
    d = root.find(".//s:path", NS).get("d")
    assert set(re.findall(r"[-\d.]+ [-\d.]+", d)) == {"1 19", "9 19", "1 1"}  # type: ignore[arg-type]


def test_a_half_round_keeps_its_belly() -> None:
    """The trap that made arcs be written in pieces: a half turn of 5 mm, its radius rounded, bulges
    0.02 mm less.
    """
    arc = Arc((5.00004, 10), (0.00003, 10), math.pi)
    contour = Contour((arc, Line(arc.end, arc.start))).moved(10, 0)
    (shape,) = _shapes(svg(Drawing(20, 20, (Layer("A", "#000000", 1, (contour,)),)), line_mm=0.1))
    assert max(y for _, y in _sampled(shape, 20)) == pytest.approx(15, abs=5e-4)


def test_strokes_are_open_and_circles_true() -> None:
    drawing = Drawing(
        20, 20, (Layer("A", "#000000", 1, (circle((10, 8), 3),), (((1, 1), (2, 2), (3, 1)),)),)
    )
    root = ET.fromstring(svg(drawing, line_mm=0.1))
    assert root.find(".//s:circle", NS).attrib == {"cx": "10", "cy": "12", "r": "3"}
    assert root.find(".//s:path", NS).get("d") == "M1 19 L2 18 L3 19"


def test_arcs_too_small_for_the_file_are_left_out() -> None:
    """Found by hypothesis: a corner of 0.000005 mm became an arc from a point to itself; readers
    drop those.
    """
    drawing = Drawing(50, 50, (Layer("A", "#000000", 1, (regular(3, 5, 5e-6).moved(20, 20),)),))
    assert "A" not in ET.fromstring(svg(drawing, line_mm=0.1)).find(".//s:path", NS).get("d")  # type: ignore[operator]
    assert check_svg(svg(drawing, line_mm=0.1), drawing) == []


@settings(max_examples=25, deadline=None)
@given(st.integers(3, 9), st.floats(5, 300), st.floats(0, 0.9), st.floats(0, 6.3))
def test_any_rounded_polygon_reads_back(
    sides: int, apothem: float, share: float, turn: float
) -> None:
    outer = regular(sides, apothem, share * apothem).turned(turn).moved(800, 800)
    drawing = Drawing(1600, 1600, (Layer("O", "#000000", 2, (rectangle(3, 2, (800, 800)), outer)),))
    assert check_svg(svg(drawing, line_mm=0.1), drawing) == []


def test_a_coordinate_that_is_not_finite_never_reaches_a_machine() -> None:
    drawing = Drawing(10, 10, (Layer("A", "#000000", 1, (), (((0, 0), (math.inf, 1)),)),))
    with pytest.raises(ValueError, match="not a number that a file can hold"):
        svg(drawing, line_mm=0.1)
