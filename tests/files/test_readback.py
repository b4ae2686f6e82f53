"""The last look before a build is swapped in: good files pass, and every kind of fault is told."""

import dataclasses
import io
import math
import re
import zipfile
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fab.files.dxf import dxf
from fab.files.readback import check_3mf, check_dxf, check_stl, check_svg
from fab.files.readback_flat import ReadLoop, cutting_faults
from fab.files.stl import stl
from fab.files.svg import svg
from fab.files.threemf import Item3mf, Object3mf, threemf
from fab.outlines.contour import Contour, circle
from fab.outlines.drawing import Drawing, Layer
from fab.outlines.shapes import keyhole, rectangle, regular, rounded, slot
from fab.solids.mesh import Mesh
from tests.files.samples import written

np = pytest.importorskip("numpy")


def _layer(drawing: Drawing, place: int, **changes: Any) -> Drawing:
    layers = list(drawing.layers)
    layers[place] = dataclasses.replace(layers[place], **changes)
    return dataclasses.replace(drawing, layers=tuple(layers))


def _contour(drawing: Drawing, place: int, contour: Contour) -> Drawing:
    return _layer(
        drawing,
        2,
        contours=(
            *drawing.layers[2].contours[:place],
            contour,
            *drawing.layers[2].contours[place + 1 :],
        ),
    )


@pytest.mark.parametrize("version", ["R2000", "R12"])
def test_good_files_pass(drawing: Drawing, version: str) -> None:
    assert check_dxf(dxf(drawing, version=version), drawing) == []  # type: ignore[arg-type]
    assert check_dxf(dxf(drawing, version=version, arcs=False), drawing, arcs=False) == []  # type: ignore[arg-type]
    assert check_svg(svg(drawing, line_mm=0.1), drawing) == []


WRONG = {
    "a contour is missing": (
        lambda d: _layer(d, 2, contours=d.layers[2].contours[1:]),
        "holds 2 closed contours",
    ),
    "a stroke is missing": (
        lambda d: _layer(d, 0, strokes=d.layers[0].strokes[1:]),
        "open lines, drawn were",
    ),
    "a contour has moved": (
        lambda d: _contour(d, 0, d.layers[2].contours[0].moved(0.01, 0)),
        "its box is",
    ),
    "a radius has changed": (
        lambda d: _contour(d, 0, regular(6, 40, 4.1).moved(60, 50)),
        "length is|area is",
    ),
    "a stroke has moved": (
        lambda d: _layer(
            d,
            0,
            strokes=(
                tuple((x, y + 0.01) for x, y in d.layers[0].strokes[0]),
                *d.layers[0].strokes[1:],
            ),
        ),
        "stroke 1 of layer MARK: its box",
    ),
    "two contours are swapped": (
        lambda d: _layer(d, 2, contours=d.layers[2].contours[::-1]),
        "area is",
    ),
    "the layers are swapped": (
        lambda d: dataclasses.replace(d, layers=d.layers[::-1]),
        "layers are",
    ),
    "a layer has another name": (lambda d: _layer(d, 1, name="INNER"), "layers are"),
    "it is empty": (lambda d: dataclasses.replace(d, layers=()), "is empty"),
}


@pytest.mark.parametrize("name", sorted(WRONG))
def test_a_file_that_differs_from_its_drawing_is_told(drawing: Drawing, name: str) -> None:
    change, says = WRONG[name]
    for told in (
        check_dxf(dxf(change(drawing)), drawing),
        check_svg(svg(change(drawing), line_mm=0.1), drawing),
    ):
        assert any(re.search(says, each) for each in told), told


CUT_WRONG = {
    "a contour is there twice": (
        lambda d: _layer(
            d, 2, contours=(*d.layers[2].contours, d.layers[2].contours[0].reversed())
        ),
        "lie on each other",
    ),
    "two parts share an edge": (
        lambda d: _layer(d, 2, contours=(rectangle(10, 10, (20, 20)), rectangle(10, 10, (30, 20)))),
        "lie on each other at x 25.000, y 20.000",
    ),
    "two parts share part of an edge": (
        lambda d: _layer(d, 2, contours=(rectangle(10, 10, (20, 20)), rectangle(10, 6, (30, 20)))),
        "lie on each other at x 25.000, y 20.000",
    ),
    "a hole comes after its part": (
        lambda d: dataclasses.replace(d, layers=(d.layers[2], d.layers[1])),
        "CUT-INNER at x 56.000, y 31.000 mm is cut after",
    ),
    "a part lies over the sheet's edge": (
        lambda d: _contour(d, 0, d.layers[2].contours[0].moved(-21, 0)),
        "reaches over the edge",
    ),
}


@pytest.mark.parametrize("name", sorted(CUT_WRONG))
def test_what_would_spoil_the_sheet_is_told(drawing: Drawing, name: str) -> None:
    change, says = CUT_WRONG[name]
    bad = change(drawing)
    for told in (check_dxf(dxf(bad), bad), check_svg(svg(bad, line_mm=0.1), bad)):
        assert any(re.search(says, each) for each in told), told
    if "edge" not in says:
        assert check_dxf(dxf(bad), bad, cut=False) == []


def test_r12_and_chords_tell_doubled_cuts_too(drawing: Drawing) -> None:
    bad = _layer(drawing, 2, contours=(*drawing.layers[2].contours, drawing.layers[2].contours[0]))
    assert any("lie on each other" in each for each in check_dxf(dxf(bad, version="R12"), bad))
    assert any(
        "lie on each other" in each for each in check_dxf(dxf(bad, arcs=False), bad, arcs=False)
    )


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (b"$INSUNITS\r\n 70\r\n4", b"$INSUNITS\r\n 70\r\n1", "INSUNITS is 1, should be 4"),
        (b"$MEASUREMENT\r\n 70\r\n1", b"$MEASUREMENT\r\n 70\r\n0", "MEASUREMENT is 0"),
        (b"$LUNITS\r\n 70\r\n2", b"$LUNITS\r\n 70\r\n4", "LUNITS is 4"),
        (b"$EXTMAX\r\n 10\r\n2", b"$EXTMAX\r\n 10\r\n3", "EXTMAX is"),
        (b"LWPOLYLINE\r\n", b"SPLINE\r\n", "an entity SPLINE"),
        (b"\r\n  8\r\nCUT-OUTER", b"\r\n  8\r\n0", "lies on layer 0"),
        (b"AcDbPolyline\r\n 90", b"AcDbPolyline\r\n 38\r\n2.0\r\n 90", "z = 0"),
        (b"\r\n 70\r\n1\r\n 10", b"\r\n 70\r\n0\r\n 10", "closed contours"),
        (b"\r\n 62\r\n5", b"\r\n 62\r\n6", "CUT-INNER has colour 6, should have 5"),
        (b"\r\n  0\r\nEOF", b"", "does not end with EOF"),
        (b"\r\n 40\r\n4.0\r\n", b"\r\n 40\r\nfour\r\n", "cannot be read"),
        (b"\r\n 10\r\n60.0\r\n 20\r\n35.0", b"\r\n 10\r\nnan\r\n 20\r\n35.0", "not finite"),
    ],
)
def test_a_spoilt_dxf_is_told(drawing: Drawing, old: bytes, new: bytes, says: str) -> None:
    good = written("sheet.R2000.dxf")
    assert old in good
    told = check_dxf(good.replace(old, new), drawing)
    assert any(re.search(says, each) for each in told), told


def test_a_closing_arc_is_told(drawing: Drawing) -> None:
    lens = rounded([(0, 0), (10, 0), (10, 10), (0, 10)], 2).moved(100, 50)
    good = Drawing(200, 100, (Layer("A", "#000000", 1, (lens,)),))
    data = dxf(good)
    first = data.index(b"ENTITIES\r\n")
    last = data.index(b"ENDSEC", first)
    tail = data[first:last]
    points = re.findall(rb" 10\r\n[^\r]+\r\n 20\r\n[^\r]+\r\n(?: 42\r\n[^\r]+\r\n)?", tail)
    body = b"".join(points)
    assert body in tail
    turned = data[:first] + tail.replace(body, b"".join(points[1:] + points[:1])) + data[last:]
    assert check_dxf(data, good) == []
    assert any("closes with an arc" in each for each in check_dxf(turned, good))


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (b'width="210mm"', b'width="210"', "width is 210"),
        (b'height="100mm"', b'height="100px"', "height is 100px"),
        (
            b'viewBox="0 0 210 100"',
            b'viewBox="0 0 210 105"',
            "one unit would not be one millimetre",
        ),
        (b'fill="none"', b'fill="#000000"', "not drawn in lines"),
        (b" Z", b"", "closed contours"),
        (b"<path ", b'<path transform="scale(2)" ', "moved or styled"),
        (b"</svg>", b'<text x="1" y="2">A</text></svg>', "element <text>"),
        (b"</svg>", b"", "cannot be read"),
        (b" A", b" Q", "cannot be read"),
        (b" L", b" M", "more than one contour"),
        (b'r="4"', b'r="4.01"', "area is|its box"),
        (b"A1.5 1.5", b"A1.5 1.4", "not part of a circle"),
    ],
)
def test_a_spoilt_svg_is_told(drawing: Drawing, old: bytes, new: bytes, says: str) -> None:
    good = written("sheet.svg")
    assert old in good
    told = check_svg(good.replace(old, new), drawing)
    assert any(re.search(says, each) for each in told), told


@pytest.mark.parametrize(
    "contour",
    [keyhole((0, 0), (0, 9), 9, 4), slot((0, 0), (5, 5), 3), circle((1, 1), 4), regular(5, 7, 2)],
)
@given(x=st.floats(-9, 12), y=st.floats(-9, 12))
def test_the_reader_s_own_geometry_agrees_with_the_contour(
    contour: Any, x: float, y: float
) -> None:
    from fab.outlines.contour import Arc
    from fab.outlines.crossings import inside

    points = tuple(
        (*seg.start, seg.bulge if isinstance(seg, Arc) else 0.0) for seg in contour.segments
    )
    loop = ReadLoop("A", points, True)
    assert loop.area == pytest.approx(contour.area_mm2)
    assert loop.length == pytest.approx(contour.length_mm)
    assert loop.box == pytest.approx(contour.box)
    assert loop.holds((x, y)) == inside(contour, (x, y))


def test_neighbours_in_a_full_sheet_are_not_taken_for_doubles() -> None:
    parts = [
        regular(6, 30, 2).moved(40 + 62 * column, 40 + 72 * row)
        for column in range(12)
        for row in range(8)
    ]
    loops = [
        ReadLoop(
            "A", tuple((*seg.start, getattr(seg, "bulge", 0.0)) for seg in part.segments), True
        )
        for part in parts
    ]
    assert cutting_faults(loops) == []


@given(st.floats(0, math.pi), st.floats(-300, 300), st.floats(-300, 300))
def test_overlapping_cuts_are_found_at_any_angle(angle: float, x: float, y: float) -> None:
    cos, sin = math.cos(angle), math.sin(angle)

    def cut(low: Any, high: Any, aside: Any = 0.0) -> Any:
        ends = [(x + t * cos - aside * sin, y + t * sin + aside * cos, 0.0) for t in (low, high)]
        return ReadLoop("A", tuple(ends), False)

    assert len(cutting_faults([cut(0, 50), cut(20, 90)])) == 1
    assert len(cutting_faults([cut(0, 50), cut(90, 40)])) == 1
    assert len(cutting_faults([cut(0, 50), cut(50, 0)])) == 1
    assert cutting_faults([cut(0, 50), cut(50, 90)]) == []
    assert cutting_faults([cut(0, 50), cut(0, 50, 0.1)]) == []


def test_good_meshes_pass(ring_mesh: Any) -> None:
    assert check_stl(stl(ring_mesh, "r"), ring_mesh) == []
    objects, items = (
        [Object3mf("r", ring_mesh), Object3mf("s", ring_mesh)],
        [Item3mf(0, 1, 2), Item3mf(1, 3, 4, 30), Item3mf(0, 9.5, 9)],
    )
    assert check_3mf(threemf(objects, items, "t"), objects, items) == []


def _facet(data: bytes, place: int, floats: Any) -> bytes:
    spot = 84 + 50 * place + 12
    return data[:spot] + np.array(floats, "<f4").tobytes() + data[spot + 36 :]


@pytest.mark.parametrize(
    ("spoil", "says"),
    [
        (lambda d: d[:50], "cut off"),
        (lambda d: d[:-50], "bytes; 512 triangles take 25684"),
        (lambda d: b"solid" + d[5:], "begins with 'solid'"),
        (lambda d: _facet(d, 3, [0] * 9), "not closed"),
        (lambda d: _facet(d, 3, [np.nan] * 9), "nowhere"),
        (lambda d: d[:84] + bytes(12) + d[96:], None),  # a normal of zero is allowed
        (
            lambda d: (
                d[:84]
                + np.array([-x for x in np.frombuffer(d[84:96], "<f4")], "<f4").tobytes()
                + d[96:]
            ),
            "looks inwards",
        ),
    ],
)
def test_a_spoilt_stl_is_told(ring_mesh: Any, spoil: Any, says: str | None) -> None:
    told = check_stl(spoil(stl(ring_mesh, "r")), ring_mesh)
    assert told == [] if says is None else any(re.search(says, each) for each in told), told


def test_an_stl_of_another_solid_is_told(ring_mesh: Any) -> None:
    inside_out = Mesh(ring_mesh.vertices, ring_mesh.triangles[:, ::-1].copy())
    lifted = Mesh(ring_mesh.vertices + np.array([0, 0, 1]), ring_mesh.triangles)
    thicker = Mesh(ring_mesh.vertices * np.array([1, 1, 1.01]), ring_mesh.triangles)
    assert any("inside out" in each for each in check_stl(stl(inside_out, "r"), ring_mesh))
    assert check_stl(stl(lifted, "r"), lifted) == [
        "the STL does not stand on the bed: its foot is at z 1.0000 mm"
    ]
    assert check_stl(stl(lifted, "r"), lifted, on_bed=False) == []
    told = check_stl(stl(thicker, "r"), ring_mesh)
    assert any("volume" in each for each in told)
    assert any("box" in each for each in told)


def _repacked(data: bytes, name: str, old: bytes, new: bytes) -> bytes:
    package, out = zipfile.ZipFile(io.BytesIO(data)), io.BytesIO()
    with zipfile.ZipFile(out, "w") as copy:
        for entry in package.namelist():
            part = package.read(entry)
            if entry == name:
                assert old in part
                part = part.replace(old, new)
            copy.writestr(entry, part)
    return out.getvalue()


MODEL = "3D/3dmodel.model"


@pytest.mark.parametrize(
    ("name", "old", "new", "says"),
    [
        ("[Content_Types].xml", b'Extension="model"', b'Extension="mesh"', "does not say where"),
        ("_rels/.rels", b"2013/01/3dmodel", b"2013/01/other", "does not say where"),
        ("_rels/.rels", b"/3D/3dmodel.model", b"/3D/away.model", "cannot be read"),
        (MODEL, b'unit="millimeter"', b'unit="inch"', "unit is inch"),
        (MODEL, b'<object id="1"', b'<object id="0"', "object ids are"),
        (MODEL, b'name="r"', b'name="q"', "objects are"),
        (MODEL, b'objectid="1"', b'objectid="7"', "builds"),
        (MODEL, b" 1 2 0", b" 1 3 0", "not where they were put"),
        (MODEL, b'v1="0"', b'v1="9999"', "without a corner"),
        (MODEL, b'z="4"', b'z="4.1"', "volume|box"),
        (MODEL, b"</model>", b"", "cannot be read"),
        (MODEL, b'<triangle v1="0" ', b'<triangle v1="1" ', "not closed"),
    ],
)
def test_a_spoilt_3mf_is_told(ring_mesh: Any, name: str, old: bytes, new: bytes, says: str) -> None:
    objects, items = [Object3mf("r", ring_mesh)], [Item3mf(0, 1, 2)]
    told = check_3mf(_repacked(threemf(objects, items, "t"), name, old, new), objects, items)
    assert any(re.search(says, each) for each in told), told


def _parts(data: bytes) -> dict[str, bytes]:
    package = zipfile.ZipFile(io.BytesIO(data))
    return {name: package.read(name) for name in package.namelist()}


def test_a_damaged_package_is_told(ring_mesh: Any) -> None:
    objects, items = [Object3mf("r", ring_mesh)], [Item3mf(0)]
    assert check_3mf(b"PK nothing", objects, items)[0].startswith("the 3MF cannot be read")
    good = threemf(objects, items, "t")
    for spot in range(40, len(good) - 200, 97):
        bad = bytearray(good)
        bad[spot] ^= 0xFF
        assert check_3mf(bytes(bad), objects, items) or _parts(bytes(bad)) == _parts(good)
