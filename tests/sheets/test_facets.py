"""Facets lie on one side of the true curve and near it."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fab.errors import BrokenGeometry
from fab.outlines.contour import Outline, circle
from fab.outlines.facets import facets, to_shapely
from fab.outlines.shapes import regular, slot


@given(radius=st.floats(0.5, 500), tol=st.floats(1e-4, 0.1))
def test_a_circle_s_facets_bracket_its_area(radius: float, tol: float) -> None:
    """Circumscribed over pi r^2 over inscribed; areas within the ring of width tol. Elementary."""
    outside = to_shapely(Outline(circle((3, -2), radius)), tol, outside=True).area
    inside = to_shapely(Outline(circle((3, -2), radius)), tol, outside=False).area
    true = math.pi * radius**2
    assert inside <= true <= outside
    assert outside - inside <= 2 * math.pi * (radius + tol) * 2 * tol + 1e-9


@given(radius=st.floats(1, 100), tol=st.floats(1e-3, 0.1))
def test_corners_stray_no_further_than_told(radius: float, tol: float) -> None:
    for outside in (True, False):
        for x, y in facets(circle((0, 0), radius), tol, outside=outside):
            assert -1e-9 <= (math.hypot(x, y) - radius) * (1 if outside else -1) <= tol + 1e-9


def test_a_hole_s_outside_facets_make_the_hole_smaller() -> None:
    """Conservative for collisions: the polygon holds all material, so holes shrink."""
    part = Outline(circle((0, 0), 20), (circle((0, 0), 10),))
    outside, inside = to_shapely(part, 0.05, outside=True), to_shapely(part, 0.05, outside=False)
    assert outside.interiors[0].length < 2 * math.pi * 10 < inside.interiors[0].length * 1.01
    assert outside.area > part.area_mm2 > inside.area
    assert outside.buffer(1e-9).contains(inside)


@pytest.mark.parametrize(
    "outline", [Outline(regular(6, 60, 5)), Outline(slot((0, 0), (30, 10), 8))]
)
def test_flats_and_apexes_stay_exact(outline: Outline) -> None:
    """Straight edges and the middles of arcs are touched: the box of a rounded polygon does not
    grow at its flats.
    """
    for turn_deg in (0, 30, 90):
        turned = outline.turned(math.radians(turn_deg))
        poly = to_shapely(turned, 0.01, outside=True)
        assert poly.bounds == pytest.approx(turned.box, abs=0.011)
    flat = to_shapely(Outline(regular(6, 60, 5)), 0.01, outside=True)
    assert flat.bounds[2] == pytest.approx(60, abs=1e-12)


def test_no_tolerance_is_refused() -> None:
    with pytest.raises(BrokenGeometry, match="must be over 0"):
        facets(circle((0, 0), 1), 0, outside=True)
