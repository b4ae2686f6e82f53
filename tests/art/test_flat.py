"""Filled areas: rules of filling, hatching, islands and bridges.

Held against closed forms and a second reckoning.
"""

from __future__ import annotations

import itertools
import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fab.outlines import clip2d
from fab.outlines.contour import Arc, polygon
from fab.outlines.curves import circle_corners
from fab.outlines.hatch import TooDense, hatch
from fab.outlines.shapes import rectangle
from fab.outlines.soften import rounded_inner
from fab.outlines.stencils import stencil, waste


def ring(x0: Any, y0: Any, x1: Any, y1: Any) -> Any:
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def length(strokes: Any) -> Any:
    return sum(math.dist(a, b) for stroke in strokes for a, b in itertools.pairwise(stroke))


# -- filling
# --------------------------------------------------------------------------------------------------


def test_the_two_rules_of_filling() -> None:
    """A square in a square, both anticlockwise: odd leaves a hole, nonzero does not.

    Two that overlap the other way round.
    """
    nested = [ring(0, 0, 10, 10), ring(2, 2, 6, 6)]
    assert clip2d.odd(nested)[0].area == pytest.approx(100 - 16)
    assert clip2d.nonzero(nested).area == pytest.approx(100)
    assert clip2d.nonzero([nested[0], nested[1][::-1]]).area == pytest.approx(84)
    overlapping = [ring(0, 0, 10, 10), ring(5, 0, 15, 10)]
    assert clip2d.odd(overlapping)[0].area == pytest.approx(100)
    assert clip2d.nonzero(overlapping).area == pytest.approx(150)


def test_both_ways_to_fill_by_odd_agree() -> None:
    rings = [ring(0, 0, 20, 20), ring(3, 3, 12, 12), ring(8, 8, 30, 16), ring(5, 5, 9, 9)]
    one, other = clip2d.odd(rings)[0], clip2d.even_odd(rings)
    assert one.symmetric_difference(other).area < 1e-6


def test_a_star_that_crosses_itself_is_hollow_by_odd_and_full_by_nonzero() -> None:
    star = [
        (math.cos(a), math.sin(a)) for a in (math.pi / 2 + 4 * math.pi * k / 5 for k in range(5))
    ]
    star = [(10 * x, 10 * y) for x, y in star]
    hollow, crossing = clip2d.odd([star])
    assert crossing == 1
    # area of a pentagram and of the pentagon in its middle, circumradius 10 (plane geometry)
    inner = 10 * math.cos(math.radians(72)) / math.cos(math.radians(36))
    pentagon = 2.5 * inner**2 * math.sin(math.radians(72))
    full = 10 * 10 * inner * math.sin(math.radians(36)) / 2
    assert clip2d.nonzero([star]).area == pytest.approx(full, rel=1e-3)
    assert hollow.area == pytest.approx(full - pentagon, rel=1e-3)


@given(st.integers(3, 40), st.floats(1.0, 50.0), st.floats(-30.0, 30.0), st.floats(-180.0, 180.0))
@settings(max_examples=30, deadline=None)
def test_moving_keeps_the_area_and_mirroring_twice_is_nothing(
    sides: int, size: float, shift: float, turn_deg: float
) -> None:
    corners = [
        (size * math.cos(2 * math.pi * k / sides), size * math.sin(2 * math.pi * k / sides))
        for k in range(sides)
    ]
    region = clip2d.even_odd([corners])
    there = clip2d.moved(region, shift, -shift, math.radians(turn_deg))
    assert there.area == pytest.approx(region.area, rel=1e-9)
    assert clip2d.mirrored(clip2d.mirrored(there)).symmetric_difference(there).area < 1e-9


def test_what_is_narrower_than_the_kerf_goes_and_corners_stay() -> None:
    plate = clip2d.even_odd(
        [ring(0, 0, 20, 20), [(20, 9.95), (30, 9.95), (30, 10.05), (20, 10.05)]]
    )
    opened = clip2d.opened(plate, 0.2)
    assert opened.area == pytest.approx(400, abs=0.01)
    assert opened.bounds == pytest.approx((0, 0, 20, 20), abs=1e-3)


# -- hatching
# --------------------------------------------------------------------------------------------------


@given(st.floats(0.2, 3.0), st.floats(-180.0, 180.0))
@settings(max_examples=25, deadline=None)
def test_lines_times_pitch_is_the_area(pitch: float, turn_deg: float) -> None:
    """Cavalieri: lines at one distance sum up an area, to a pitch's worth of its edge."""
    rings = [ring(-20, -10, 20, 10), ring(-5, -5, 5, 5)]
    strokes = hatch(rings, pitch, turn_deg)
    assert length(strokes) * pitch == pytest.approx(800 - 100, abs=pitch * 55)


def test_hatching_lies_inside_and_runs_to_and_fro() -> None:
    rings = [ring(0, 0, 30, 10), ring(10, 2, 20, 8)]
    strokes = hatch(rings, 1.0)
    assert [round(s[0][1] % 1.0, 6) for s in strokes] == [0.5] * len(strokes)
    for (ax, ay), (bx, _) in strokes:
        assert not (2 < ay < 8 and min(ax, bx) < 15 < max(ax, bx))  # not over the hole
    rows: dict[Any, Any] = {}
    for (ax, ay), (bx, _) in strokes:
        rows.setdefault(ay, set()).add(bx > ax)
    ways = [rows[y].pop() for y in sorted(rows)]
    assert ways == [bool(k % 2 == 0) for k in range(len(ways))]


def test_hatching_of_neighbours_lies_on_one_grid() -> None:
    """The two halves of a plate have the lines of the whole one."""
    whole = hatch([ring(-10, 0, 10, 10)], 0.7, 30.0)
    left, right = hatch([ring(-10, 0, 0, 10)], 0.7, 30.0), hatch([ring(0, 0, 10, 10)], 0.7, 30.0)
    assert length(left) + length(right) == pytest.approx(length(whole), abs=0.2)

    def rows(strokes: Any) -> Any:
        return {
            round(
                (-a[0] * math.sin(math.radians(30)) + a[1] * math.cos(math.radians(30))) / 0.7
                - 0.5,
                6,
            )
            for a, _ in strokes
        }

    assert all(abs(row - round(row)) < 1e-6 for row in rows(left) | rows(right))


def test_a_hatching_without_end_is_refused() -> None:
    with pytest.raises(TooDense):
        hatch([ring(0, 0, 1e6, 1e6)], 0.05)


# -- stencils
# --------------------------------------------------------------------------------------------------

SHEET = clip2d.of_outline(rectangle(100, 100))


def pieces(stencil: Any) -> Any:
    return clip2d.polygons(clip2d.tidy(SHEET.difference(stencil.cut)))


def test_a_plain_hole_needs_no_bridge() -> None:
    found = stencil(SHEET, clip2d.region_of([circle_corners((0, 0), 20)]), 2.0)
    assert found.islands == ()
    assert len(pieces(found)) == 1


@pytest.mark.parametrize("bridges", [1, 2, 3, 4])
def test_an_island_is_found_and_held(bridges: int) -> None:
    region = clip2d.region_of([circle_corners((0, 0), 20), circle_corners((0, 0), 12)])
    found = stencil(SHEET, region, 2.0, bridges)
    (island,) = found.islands
    assert island.area_mm2 == pytest.approx(math.pi * 144, rel=1e-3)
    assert len(island.bridges) == bridges
    assert len(pieces(found)) == 1
    assert found.loose == ()
    # a ring of 8 mm less its bridges of 2 mm by 8 mm, the bridges' ends being a little longer than
    # straight
    assert found.cut.area == pytest.approx(math.pi * (400 - 144) - bridges * 2 * 8, rel=0.01)
    assert len(list(waste(found.cut))) == bridges


def test_bridges_of_an_island_stand_apart() -> None:
    region = clip2d.region_of([circle_corners((0, 0), 20), circle_corners((0, 0), 12)])
    (island,) = stencil(SHEET, region, 2.0, 2).islands
    (a, _), (b, _) = island.bridges
    assert math.dist(a, b) > 20  # across from each other


def test_islands_in_islands_are_held_one_by_the_other() -> None:
    region = clip2d.region_of([circle_corners((0, 0), r) for r in (40, 32, 24, 16, 8, 4)])
    found = stencil(SHEET, region, 2.0, 2)
    assert len(found.islands) == 3
    assert len(pieces(found)) == 1


def test_a_cut_that_parts_the_sheet_is_bridged_too() -> None:
    strip = clip2d.even_odd([ring(-60, -2, 60, 2)])
    found = stencil(SHEET, clip2d.clipped(strip, SHEET), 3.0, 2)
    assert len(pieces(found)) == 1
    assert found.islands


@given(
    st.lists(
        st.tuples(st.floats(-35, 35), st.floats(-35, 35), st.floats(4, 14), st.floats(0.4, 0.8)),
        min_size=1,
        max_size=5,
    )
)
@settings(max_examples=25, deadline=None)
def test_nothing_ever_falls_out_that_should_stay(rings: Any) -> None:
    curves = [circle_corners((x, y), radius * share) for x, y, radius, share in rings]
    curves += [circle_corners((x, y), radius) for x, y, radius, _ in rings]
    region = clip2d.clipped(clip2d.region_of(curves), clip2d.of_outline(rectangle(96, 96)))
    found = stencil(SHEET, region, 1.5, 2)
    left = pieces(found)
    assert len(left) == 1 + len(found.loose)
    fallen = sum(area for area, _ in waste(found.cut))
    assert fallen + sum(part.area for part in left) == pytest.approx(
        SHEET.area, rel=1e-6
    )  # a part or listed waste


def test_bridges_are_nowhere_narrower_than_asked() -> None:
    """Between any two cut-outs of letters with narrow waists; the letters themselves stand further
    apart.
    """
    from fab.files.glyphs import text_rings

    region = clip2d.moved(clip2d.nonzero(text_rings("8B", 40.0)), -35, -20)
    found = stencil(SHEET, region, 2.0, 2)
    parts = clip2d.polygons(found.cut)
    assert len(found.islands) == 4
    gaps = [a.distance(b) for k, a in enumerate(parts) for b in parts[k + 1 :]]
    assert min(gaps) >= 2.0 - 1e-3


# -- inner corners
# -------------------------------------------------------------------------------------------------


def test_inner_corners_are_rounded_and_chords_are_not() -> None:
    hole = rectangle(10, 10).reversed()  # clockwise: material lies left, each corner turns right
    soft = rounded_inner(hole, 0.5)
    arcs = [seg for seg in soft.segments if isinstance(seg, Arc)]
    assert [arc.radius_mm for arc in arcs] == pytest.approx([0.5] * 4)
    assert abs(soft.area_mm2) == pytest.approx(100 - (4 - math.pi) * 0.25)
    assert soft.is_hole
    curve = polygon(
        [(math.cos(a), math.sin(a)) for a in (2 * math.pi * k / 24 for k in range(24))]
    ).reversed()
    assert rounded_inner(curve, 0.1) == curve
    assert rounded_inner(rectangle(10, 10), 0.5) == rectangle(10, 10)  # corners of a part turn left


def test_a_corner_without_room_is_rounded_as_far_as_it_can_be() -> None:
    hole = polygon([(0, 0), (10, 0), (10, 0.4), (0, 0.4)]).reversed()
    soft = rounded_inner(hole, 0.5)
    assert max(seg.radius_mm for seg in soft.segments if isinstance(seg, Arc)) == pytest.approx(
        0.45 * 0.4
    )
