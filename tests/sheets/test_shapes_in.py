"""Other people's drawings: loose lines to outlines, DXF and SVG to loose lines, outlines to
pieces.
"""

from __future__ import annotations

import io
import math
import random

import ezdxf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fab.errors import InputError
from fab.files.dxf import dxf
from fab.files.read_outline import read_outline
from fab.files.svg import svg
from fab.outlines import loops
from fab.outlines.contour import Arc, Line, Outline, Segment, circle, polygon
from fab.outlines.drawing import Drawing, Layer
from fab.outlines.loops import join
from fab.outlines.shapes import rectangle, regular, slot
from fab.sheets.nest import nest
from fab.sheets.shapes_in import shapes_in
from tests.sheets.shop_floor import sheet

PLATE = Outline(regular(6, 60, 5), (circle((0, 0), 10), slot((20, 0), (30, 5), 6)))


def loose(outline: Outline, seed: int, jitter: float = 0.0) -> list[Segment]:
    """The outline's segments shuffled, half of them turned round, each moved a little."""
    dice = random.Random(seed)
    found: list[Segment] = []
    for contour in outline.contours:
        for seg in contour.segments:
            step = seg.reversed() if dice.random() < 0.5 else seg
            found.append(step.moved(dice.uniform(-jitter, jitter), dice.uniform(-jitter, jitter)))
    dice.shuffle(found)
    return found


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 10_000), jitter=st.sampled_from([0.0, 0.005, 0.015]))
def test_loose_lines_find_together(seed: int, jitter: float) -> None:
    found = join(loose(PLATE, seed, jitter))
    (outline,) = found.outlines
    assert len(outline.holes) == 2
    assert found.opens == ()
    assert found.doubles == ()
    assert outline.area_mm2 == pytest.approx(
        PLATE.area_mm2, abs=4 * jitter * PLATE.length_mm + 1e-6
    )


def test_doubles_are_dropped_and_told() -> None:
    lines = loose(PLATE, 1)
    found = join([*lines, lines[3], lines[5].reversed()])
    assert len(found.outlines) == 1
    assert len(found.doubles) == 2
    assert found.outlines[0].area_mm2 == pytest.approx(PLATE.area_mm2)


def test_open_lines_are_told_with_their_place() -> None:
    gap = [
        Line((0, 0), (50, 0)),
        Line((50, 0), (50, 30)),
        Line((50, 30), (0.4, 30)),
        Line((0, 29.7), (0, 0)),
    ]
    found = join(gap)
    assert found.outlines == ()
    (run,) = found.opens
    assert str(run) == "an open line of 159.3 mm from (0.4, 30) to (0, 29.7), 0.5 mm apart"
    assert len(join(gap, tol_mm=0.6).outlines) == 1


def test_a_tail_on_a_closed_line_is_left_out() -> None:
    square = polygon([(0, 0), (50, 0), (50, 50), (0, 50)]).segments
    found = join([*square, Line((50, 50), (70, 80)), Line((70, 80), (90, 80))])
    assert [outline.area_mm2 for outline in found.outlines] == [2500]
    assert [run.length_mm for run in found.opens] == [pytest.approx(math.hypot(20, 30) + 20)]


def test_squares_that_touch_at_a_corner_stay_two() -> None:
    one, other = (
        polygon([(0, 0), (50, 0), (50, 50), (0, 50)]),
        polygon([(50, 50), (90, 50), (90, 90), (50, 90)]),
    )
    found = join([*one.segments, *other.segments])
    assert sorted(outline.area_mm2 for outline in found.outlines) == [1600, 2500]


def test_crossing_ways_between_two_corners() -> None:
    """A figure of two lenses that share both ends: four arcs, two knots of four lines each; loops
    do not cross.
    """
    ends = (0.0, 0.0), (100.0, 0.0)
    bellies = [
        polygon([ends[0], (50.0, y), ends[1]]).segments[:2] for y in (-40.0, -10.0, 10.0, 40.0)
    ]
    found = join([seg for belly in bellies for seg in belly])
    assert sum(outline.area_mm2 for outline in found.outlines) == pytest.approx(2 * 1500)
    assert found.opens == ()


def test_islands_in_holes_are_parts_again() -> None:
    rings = [circle((0, 0), r).segments for r in (50, 40, 30, 20)]
    found = join([seg for ring in rings for seg in ring])
    assert [(len(o.holes), round(o.box[2])) for o in found.outlines] == [(1, 50), (1, 30)]


def test_crossing_and_broken_lines_are_refused() -> None:
    square = polygon([(0, 0), (50, 0), (50, 50), (0, 50)])
    with pytest.raises(InputError, match="two outlines cross"):
        join([*square.segments, *square.moved(20, 20).segments])
    with pytest.raises(InputError, match="crosses itself"):
        join(polygon([(0, 0), (50, 50), (50, 0), (0, 80)]).segments)
    with pytest.raises(InputError, match="not a number"):
        join([Line((0, 0), (math.nan, 1))])


@pytest.mark.slow
def test_fine_lines_keep_their_shape_and_lose_corners() -> None:
    """20,000 chords of a circle: told in fewer, within 0.002 mm."""
    points = [
        (40 * math.cos(k * math.pi / 10_000), 40 * math.sin(k * math.pi / 10_000))
        for k in range(20_000)
    ]
    found = join([Line(a, b) for a, b in zip(points, points[1:] + points[:1], strict=True)])
    (outline,) = found.outlines
    assert len(outline.edge.segments) < 1_000
    assert outline.area_mm2 == pytest.approx(math.pi * 1600, abs=0.002 * 2 * math.pi * 40)
    assert "20000 lines" in found.notes[0]


@pytest.mark.parametrize("how", ["R2000", "R12", "chords", "svg"])
def test_our_own_files_come_back(how: str) -> None:
    drawing = Drawing(
        200, 200, (Layer("CUT", "#000000", 1, tuple(c.moved(80, 80) for c in PLATE.contours)),)
    )
    data = {
        "R2000": lambda: dxf(drawing),
        "R12": lambda: dxf(drawing, version="R12"),
        "chords": lambda: dxf(drawing, arcs=False),
        "svg": lambda: svg(drawing, line_mm=0.1),
    }[how]()
    found = join(read_outline(data, "plate").segments)
    (outline,) = found.outlines
    loss = 0.01 * PLATE.length_mm if how == "chords" else 0.01
    assert outline.area_mm2 == pytest.approx(PLATE.area_mm2, abs=loss)
    assert outline.moved(-80, -80).box == pytest.approx(PLATE.box, abs=0.01)
    if how in ("R2000", "svg"):
        assert sum(isinstance(seg, Arc) for seg in outline.edge.segments) == 6


def test_a_dxf_in_inches_with_blocks_splines_and_text() -> None:
    document = ezdxf.new("R2000")  # type: ignore[attr-defined]
    document.header["$INSUNITS"] = 1
    block = document.blocks.new("HOLE")
    block.add_circle((0, 0), 0.25)
    space = document.modelspace()
    space.add_lwpolyline([(0, 0), (4, 0), (4, 3), (0, 3)], close=True)
    space.add_blockref("HOLE", (1, 1))
    space.add_blockref("HOLE", (3, 2), dxfattribs={"xscale": 2, "yscale": 2})
    space.add_ellipse((2, 1), (0.4, 0), 0.5)
    space.add_text("cut here")
    stream = io.StringIO()
    document.write(stream)
    read = read_outline(stream.getvalue().encode(), "plate.dxf")
    assert read.notes == ("plate.dxf: 1 TEXT left out: no lines to cut",)
    (outline,) = join(read.segments).outlines
    areas = sorted(-hole.area_mm2 for hole in outline.holes)
    inch2 = 25.4**2
    assert areas[0] == pytest.approx(math.pi * 0.0625 * inch2)
    assert areas[1] == pytest.approx(math.pi * 0.4 * 0.2 * inch2, rel=1e-3)
    assert areas[2] == pytest.approx(math.pi * 0.25 * inch2)
    assert outline.edge.area_mm2 == pytest.approx(12 * inch2)


def test_an_svg_with_curves_groups_and_transforms() -> None:
    """Areas by hand; the unit is half a millimetre."""
    text = b"""<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="60mm"
      viewBox="0 0 200 120"><defs><circle r="500"/></defs><text>hello</text>
      <g transform="translate(20,20) scale(2)">
        <path d="M0 0h20v10H0zM5,5a2 2 0 1 0 4 0a2 2 0 10-4 0z"/>
        <rect x="30" y="0" width="10" height="8" rx="2"/>
        <g transform="rotate(30 60 10)"><ellipse cx="60" cy="10" rx="8" ry="4"/></g>
        <polygon points="0,20 10,20 10,30 0,30" style="display:none"/>
        <path d="M0 20 Q5 35 10 20 T20 20 L20 40 H0 Z" transform="scale(-1 1) translate(-30 5)"/>
      </g></svg>"""
    read = read_outline(text, "logo.svg")
    assert read.notes == (
        "logo.svg: 1 hidden in the drawing: left out",
        "logo.svg: 1 <text> left out: turn it into paths to have it cut",
    )
    found = join(read.segments)
    areas = sorted(outline.area_mm2 for outline in found.outlines)
    for wanted in (200 - 4 * math.pi, 80 - (4 - math.pi) * 4, 32 * math.pi):
        assert min(abs(area - wanted) for area in areas) < 0.15
    assert len(found.outlines) == 4
    top = max(outline.box[3] for outline in found.outlines)
    assert top <= 50.0 + 1e-6  # y up: the group begins 10 mm under the upper edge of 60


def test_what_cannot_be_read_says_so() -> None:
    with pytest.raises(InputError, match=r"x\.dxf: .*neither a DXF nor an SVG"):
        read_outline(b"hello", "x.dxf")
    with pytest.raises(InputError, match=r"x\.svg: the SVG cannot be read"):
        read_outline(b"<svg><g></svg>", "x.svg")
    with pytest.raises(InputError, match=r"x\.svg: there is no line in it"):
        read_outline(b'<svg xmlns="http://www.w3.org/2000/svg"/>', "x.svg")
    with pytest.raises(InputError, match="a value that cannot be read"):
        read_outline(
            b'<svg xmlns="http://www.w3.org/2000/svg"><path d="M0 0 L zz"/></svg>', "x.svg"
        )
    with pytest.raises(InputError, match="entities of its own"):
        read_outline(
            b'<!DOCTYPE svg [<!ENTITY a "b">]><svg xmlns="http://www.w3.org/2000/svg"/>', "x.svg"
        )
    with pytest.raises(InputError, match="not a number"):
        read_outline(
            b'<svg xmlns="http://www.w3.org/2000/svg"><path d="M0 0 L1e400 3 4 5z"/></svg>', "x.svg"
        )


def test_pieces_from_a_drawing() -> None:
    """Three equal cards and a plate: two kinds, counted; the origin is the middle of the box."""
    card = Outline(rectangle(40, 20, (0, 0), 2))
    segments = [s for k in range(3) for c in card.moved(100 * k, 200).contours for s in c.segments]
    segments += loose(PLATE, 3)
    found = shapes_in([*segments, Line((500, 500), (520, 500)), segments[0]], "logo", 2, "opal")
    assert [(piece.name, piece.count) for piece in found.pieces] == [("logo-1", 2), ("logo-2", 6)]
    assert found.pieces[1].outline.box == pytest.approx((-20, -10, 20, 10))
    assert any(
        "an open line of 20 mm from (500, 500) to (520, 500)" in note for note in found.notes
    )
    assert any("1 doubled line dropped" in note for note in found.notes)
    laid = nest(found.pieces, [sheet()], gap_mm=2, kerf_mm=0.18)
    assert laid.missing == {}
    with pytest.raises(
        InputError, match=r"no closed outline found within 0\.05 mm: an open line of 20 mm"
    ):
        shapes_in([Line((500, 500), (520, 500))], "stick", 1, "opal")


@settings(max_examples=30, deadline=None)
@given(st.lists(st.integers(0, 12), min_size=1, max_size=25))
def test_equal_pieces_are_found_whatever_their_size(steps: list[int]) -> None:
    """Cards of 10 mm and steps of 0.006 mm, against a comparison of each with each: sizes 0.01 mm
    apart on a side are the same part, and the cells of sizes part none of them.
    """
    sides = [10 + 0.006 * step for step in steps]
    segments = [
        seg for k, side in enumerate(sides) for seg in rectangle(side, 10, (20.0 * k, 0)).segments
    ]
    groups: list[tuple[float, int]] = []
    for side in sides:  # a box that is centred differs by half of the side on each end
        for k, (first, n) in enumerate(groups):
            if abs(side - first) / 2 <= 0.01:
                groups[k] = (first, n + 1)
                break
        else:
            groups.append((side, 1))
    found = shapes_in(segments, "card", 1, "opal").pieces
    assert [piece.count for piece in found] == [n for _, n in groups]


def test_rings_in_rings_without_end_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """Twenty thousand of them had more pairs than the machine had memory."""
    monkeypatch.setattr(loops, "MOST_PAIRS", 100)

    def rings(count: int) -> list[Segment]:
        return [seg for k in range(count) for seg in rectangle(100 - 4 * k, 100 - 4 * k).segments]

    assert len(loops.join(rings(14)).outlines) == 7
    says = r"more than 100 pairs of outlines lie inside each other\. Draw fewer rings"
    with pytest.raises(InputError, match=says):
        loops.join(rings(15))
