"""Offset of outlines against closed forms, a second library, and features that must not get
lost.
"""

import math
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from fab.errors import InputError
from fab.outlines.contour import Arc, Contour, Line, Outline, circle, polygon
from fab.outlines.crossings import crossing, inside
from fab.outlines.kerf import grown, kerf_compensated, narrowest_mm
from fab.outlines.shapes import keyhole, rectangle, regular, rounded, slot

SQRT3 = math.sqrt(3)


# Mitred offset of a regular n-gon: A' = A + P r + n tan(pi/n) r^2, P' = P + 2 n tan(pi/n) r
# (elementary identity); figures of reference-values section 2, recomputed there with shapely.
@pytest.mark.parametrize(
    ("sides", "apothem", "by", "area", "length"),
    [
        (6, 25 * SQRT3, 0.1, 6525.2251694, 300.6928203),
        (6, 25 * SQRT3, -0.1, 6465.2251694, 299.3071797),
        (4, 50.0, 2.0, 10816.0, 416.0),
        (4, 50.0, -2.0, 9216.0, 384.0),
        (3, 50 / SQRT3, 2.0, 4950.9116286, 320.7846097),
    ],
)
def test_published_mitred_offsets(
    sides: int, apothem: float, by: float, area: float, length: float
) -> None:
    out = grown(Outline(regular(sides, apothem)), by)
    assert out.area_mm2 == pytest.approx(area, abs=1e-6)
    assert out.length_mm == pytest.approx(length, abs=1e-6)


@given(st.integers(3, 24), st.floats(5, 400), st.floats(0, 2))
def test_sharp_polygons_grow_as_the_mitred_form_says(
    sides: int, apothem: float, kerf: float
) -> None:
    before = Outline(regular(sides, apothem))
    after = kerf_compensated(before, kerf)
    r = kerf / 2
    spread = sides * math.tan(math.pi / sides)
    assert after.area_mm2 == pytest.approx(
        before.area_mm2 + before.length_mm * r + spread * r * r, rel=1e-11
    )
    assert after.length_mm == pytest.approx(before.length_mm + 2 * spread * r, rel=1e-12)
    assert all(isinstance(seg, Line) for seg in after.edge.segments)


@given(st.integers(3, 24), st.floats(5, 400), st.floats(0.001, 0.9), st.floats(0, 2))
def test_rounded_polygons_grow_as_steiner_says(
    sides: int, apothem: float, share: float, kerf: float
) -> None:
    """Steiner's formula for convex bodies: A' = A + P r + pi r^2, P' = P + 2 pi r (reference-values
    section 2).
    """
    before = Outline(regular(sides, apothem, share * apothem))
    after = kerf_compensated(before, kerf)
    r = kerf / 2
    assert after.area_mm2 == pytest.approx(
        before.area_mm2 + before.length_mm * r + math.pi * r * r, rel=1e-11
    )
    assert after.length_mm == pytest.approx(before.length_mm + 2 * math.pi * r, rel=1e-11)
    assert [type(seg) for seg in after.edge.segments] == [type(seg) for seg in before.edge.segments]
    for was, now in zip(before.edge.segments, after.edge.segments, strict=True):
        if isinstance(was, Arc) and isinstance(now, Arc):
            assert now.centre == was.centre
            assert now.radius_mm == pytest.approx(was.radius_mm + r)


@given(st.integers(3, 12), st.floats(20, 200), st.floats(0.1, 0.8), st.floats(-3, 3))
@example(
    3, 70.0, 0.78125, 1e-9
)  # found here: less than rounding made tangent joins look like corners
def test_growing_and_shrinking_undo_each_other(
    sides: int, apothem: float, share: float, by: float
) -> None:
    was = Outline(
        regular(sides, apothem, share * apothem / 2 + 3.5), (keyhole((0, -4), (0, 4), 12, 7),)
    )
    back = grown(grown(was, by), -by)
    for a, b in zip(was.contours, back.contours, strict=True):
        assert len(a.segments) == len(b.segments)
        for p, q in zip(a.segments, b.segments, strict=True):
            assert p.start == pytest.approx(q.start, abs=1e-9)


def test_a_kerf_of_one_fifth_on_a_square_of_100() -> None:
    """Cut on the drawn line it measures 99.8; the compensated path measures 100.2 (reference-values
    section 2).
    """
    path = kerf_compensated(Outline(rectangle(100, 100)), 0.2)
    assert path.box == pytest.approx((-50.1, -50.1, 50.1, 50.1), abs=1e-9)


def test_holes_get_smaller_on_the_path_and_keep_their_sense() -> None:
    path = kerf_compensated(
        Outline(rectangle(50, 50), (circle((3, 4), 5), slot((-15, 0), (-5, 0), 2))), 0.3
    )
    (x, y), radius = path.holes[0].circle() or ((0, 0), 0)
    assert (x, y, radius) == pytest.approx((3, 4, 4.85))
    assert path.holes[1].box == pytest.approx((-15.85, -0.85, -4.15, 0.85))
    assert all(hole.is_hole for hole in path.holes)
    assert not path.edge.is_hole


def test_a_kerf_of_nothing_changes_nothing() -> None:
    outline = Outline(rectangle(10, 10))
    assert kerf_compensated(outline, 0.0) is outline


def _half_round() -> Contour:
    return Contour((Arc((5, 0), (0, 0), math.pi), Line((-5, 0), (5, 0))))


def _notched() -> Contour:
    """A plate with a round notch: line and arc meet at a material corner that is not tangent."""
    foot = math.sqrt(25 - 16)
    sweep = -2 * math.acos(4 / 5)
    start, end = (foot, 10.0), (-foot, 10.0)
    return Contour(
        (
            Line((-20, -10), (20, -10)),
            Line((20, -10), (20, 10)),
            Line((20, 10), start),
            Arc(start, (0.0, 14.0), sweep),
            Line(end, (-20, 10)),
            Line((-20, 10), (-20, -10)),
        )
    )


SHAPES = {
    "hexagon": Outline(regular(6, 60), (circle((10, 0), 4),)),
    "rounded": Outline(regular(3, 40, 6), (slot((-5, -5), (5, 5), 3),)),
    "ell": Outline(polygon([(0, 0), (60, 0), (60, 20), (20, 20), (20, 50), (0, 50)])),
    "round ell": Outline(rounded([(0, 0), (60, 0), (60, 20), (20, 20), (20, 50), (0, 50)], 4)),
    "star": Outline(
        polygon(
            [
                (
                    30 * (1 - k % 2 / 2) * math.cos(k * math.pi / 5),
                    30 * (1 - k % 2 / 2) * math.sin(k * math.pi / 5),
                )
                for k in range(10)
            ]
        )
    ),
    "keyholes": Outline(
        rectangle(60, 40, (0, 0), 5),
        (keyhole((-15, -5), (-15, 6), 9, 4.6), keyhole((15, 5), (15, -6), 9, 4.6)),
    ),
    "half round": Outline(_half_round()),
    "notched": Outline(_notched(), (rectangle(6, 4, (-10, 0)),)),
}


def _region(outline: Any, chords: Any = 120) -> Any:
    from shapely.geometry import Polygon

    def ring(contour: Any) -> Any:
        points = []
        for seg in contour.segments:
            points += (
                [seg.at(k / chords) for k in range(chords)] if isinstance(seg, Arc) else [seg.start]
            )
        return points

    return Polygon(ring(outline.edge), [ring(hole) for hole in outline.holes])


@pytest.mark.parametrize("name", sorted(SHAPES))
@pytest.mark.parametrize("by", [0.09, 0.5, -0.09, -0.5])
def test_offsets_agree_with_a_second_library(name: str, by: float) -> None:
    # Not finer than 120 chords an arc: shapely 2.2 cuts corners off very finely faceted hollows.
    """shapely's buffers of the finely faceted outline: never less than its round one, and within
    its mitred corners.

    Where a corner joins an arc our mitre runs on along the arc, shapely's along the arc's tangent.
    """
    was = _region(SHAPES[name])
    ours = _region(grown(SHAPES[name], by))
    round_ones = was.buffer(by, quad_segs=256)
    mitred = was.buffer(by, join_style="mitre", mitre_limit=50)
    dust = ours.length * 2e-4  # sagitta of 1/120 of an arc, on either side
    less, more = (round_ones, ours) if by > 0 else (ours, round_ones)
    assert ours.is_valid
    assert less.difference(more).area < dust
    has_arcs = any(
        isinstance(seg, Arc) for contour in SHAPES[name].contours for seg in contour.segments
    )
    corners = round_ones.symmetric_difference(mitred).area if has_arcs else 0.0
    assert ours.symmetric_difference(mitred).area <= 0.5 * corners + dust


T_NOTCH = [(-20, 0), (20, 0), (20, 20), (0.1, 20), (0.1, 15), (5, 15), (5, 10)]
T_NOTCH += [(-x, y) for x, y in reversed(T_NOTCH[2:])]


def test_a_mitre_may_take_an_arc_past_half_a_turn() -> None:
    path = grown(SHAPES["half round"], 0.5)
    assert all(abs(seg.sweep_rad) <= math.pi for seg in path.edge.segments if isinstance(seg, Arc))
    # A disc of 5.5 cut by a chord half a millimetre below its middle (circular segment,
    # elementary).
    below = 0.5 * math.sqrt(5.5**2 - 0.5**2) + 5.5**2 * math.asin(0.5 / 5.5)
    assert path.area_mm2 == pytest.approx(math.pi * 5.5**2 / 2 + below, rel=1e-12)
    assert path.box[1] == pytest.approx(-0.5, abs=1e-9)


@pytest.mark.parametrize(
    ("outline", "kerf", "says"),
    [
        (
            Outline(rectangle(30, 30), (rectangle(10, 0.15),)),
            0.2,
            r"hole 1 \(0\.15 mm wide.*edge.*to 0\.1[45]",
        ),
        (
            Outline(rectangle(30, 30), (slot((-5, 0), (5, 0), 0.2),)),
            0.3,
            r"hole 1 \(0\.2 mm wide.*to 0\.199",
        ),
        (
            Outline(rectangle(30, 30), (circle((5, 0), 0.1),)),
            0.2,
            r"hole 1 \(0\.2 mm round, at x 5, y 0 mm\).*lost.*to 0\.199",
        ),
        (
            Outline(rounded([(0, 0), (60, 0), (60, 20), (20, 20), (20, 50), (0, 50)], 0.1)),
            0.3,
            (
                r"outer edge \(50 mm wide\).*0\.1 mm radius at x 20\.1, y 20\.1 mm would be"
                r" lost.*up to 0\.199"
            ),
        ),
        (Outline(rectangle(90, 90), (circle((0, 0), 20),)), 50.0, r"of up to (39\.999|40) mm"),
        (  # a T-shaped notch: its neck closes while every edge is still long
            Outline(polygon(T_NOTCH)),
            0.3,
            r"outer edge.*its cuts would cross at x -?0\.05, y 20\.15 mm.* up to 0\.(199|2) mm",
        ),
    ],
)
def test_features_smaller_than_the_kerf_are_refused_with_the_kerf_that_works(
    outline: Any, kerf: float, says: str
) -> None:
    with pytest.raises(InputError, match=says) as caught:
        kerf_compensated(outline, kerf)
    most = float(str(caught.value).split("up to ")[1].split(" mm")[0])
    kerf_compensated(outline, most)  # what it says works, works


@pytest.mark.parametrize(
    ("outline", "by", "says"),
    [
        (
            Outline(rectangle(20, 20), (circle((0, 0), 3), circle((7, 0), 3))),
            -0.6,
            "hole 1 .* and hole 2 .* cross",
        ),
        (
            Outline(rectangle(20, 20), (circle((6, 0), 3),)),
            -0.6,
            "hole 1 .* and the outer edge .* cross",
        ),
        (Outline(rectangle(20, 20), (circle((0, 0), 3),)), -8.0, "as large as the part"),
        (Outline(rectangle(20, 20)), -10.0, "would be lost|would be lost"),
        (Outline(rectangle(20, 20)), -25.0, "would be lost"),
        (Outline(circle((0, 0), 5)), -5.0, "lost"),
        (Outline(_half_round()), -3.0, "lost|trimmed|vanish"),
        (Outline(rectangle(20, 20)), math.nan, "cannot grow by nan"),
        (Outline(rectangle(20, 20), (circle((0, 0), 3),)), 3.5, r"grow by 3.5 mm. Up to 2.99\d mm"),
        (
            Outline(rectangle(9, 9), (rectangle(1, 1),)),
            0.6,
            r"cannot grow by 0.6 mm. Up to (0.499|0.5) mm",
        ),
        (Outline(rectangle(9, 9)), -5.0, r"cannot shrink by 5 mm. Up to 4.\d+ mm"),
    ],
)
def test_an_outline_that_loses_something_is_refused(outline: Any, by: Any, says: str) -> None:
    with pytest.raises(InputError, match=says):
        grown(outline, by)


@pytest.mark.parametrize("kerf", [-0.1, math.nan, math.inf])
def test_a_kerf_that_cannot_be_is_refused(kerf: Any) -> None:
    with pytest.raises(InputError, match=r"kerf of .* is out of range"):
        kerf_compensated(Outline(rectangle(20, 20)), kerf)


def test_narrowest_width_of_a_turned_slot() -> None:
    assert narrowest_mm(slot((0, 0), (7, 7), 1.5)) == pytest.approx(1.5)
    assert narrowest_mm(regular(6, 60)) == pytest.approx(120)


def test_a_lens_without_a_straight_side_is_as_narrow_as_it_is_high() -> None:
    """Two arcs of radius 25 about (0, -+15): 40 mm wide and 20 mm high, by hand."""
    sweep = 2 * math.atan2(20.0, 15.0)
    lens = Contour((Arc((20.0, 0.0), (0.0, -15.0), sweep), Arc((-20.0, 0.0), (0.0, 15.0), sweep)))
    assert narrowest_mm(lens) == pytest.approx(20.0)
    assert narrowest_mm(lens.turned(math.pi / 2)) == pytest.approx(20.0)


@given(st.floats(-9, 9), st.floats(-9, 9))
def test_inside_knows_the_belly_of_an_arc(x: float, y: float) -> None:
    contour = keyhole((0, -2), (0, 5), 8, 4)
    in_disc = math.hypot(x, y + 2) - 4
    in_slot = max(abs(x) - 2, -2 - y, y - 5)
    in_end = math.hypot(x, y - 5) - 2
    signed = min(in_disc, in_slot, in_end)
    if abs(signed) > 1e-6:
        assert inside(contour, (x, y)) == (signed < 0)


def test_inside_on_the_line_between_two_half_turns() -> None:
    """Found by hypothesis: the middle of a circle lies on the chord of both of its halves."""
    assert inside(circle((1, 1), 4), (0, 1))
    assert inside(circle((1, 1), 4).reversed(), (1, 1))
    assert not inside(circle((1, 1), 4), (6, 1))


def test_contours_that_touch_are_told() -> None:
    assert crossing([circle((0, 0), 3), circle((6, 0), 3)]) is not None
    assert crossing([circle((0, 0), 3), circle((6.001, 0), 3)]) is None
    assert crossing([rectangle(4, 4), rectangle(4, 4, (4, 1))]) is not None  # along one line
    assert crossing([circle((0, 0), 3), circle((0, 0), 3)]) is not None
    assert (
        crossing(
            [
                slot((0, 0), (9, 0), 3),
                keyhole((0, 10), (0, 20), 8, 4),
                regular(7, 3, 1).moved(20, 0),
            ]
        )
        is None
    )
