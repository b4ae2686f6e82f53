"""What the search thinks free is free in truth, at every corner."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st
from shapely import affinity

from fab.outlines.contour import Outline, circle, polygon, turn
from fab.outlines.shapes import regular
from fab.sheets.audit import SLACK_MM, audit
from fab.sheets.model import Piece
from fab.sheets.nest import nest
from fab.sheets.nofit import NoFit, Shape
from fab.sheets.paths import Path, paths
from tests.sheets.shop_floor import box, offcut, sheet

MARGIN = 5.0


def square(side: float) -> Shape:
    outline = Outline(polygon([(0, 0), (side, 0), (side, side), (0, side)]))
    return Shape(Path(Piece("square", outline, 1), outline), 0.0)


def along(region: Any, part: Shape) -> Iterator[Any]:
    """The part laid at every corner of a region and in the middle between two: chords stray most
    there.
    """
    points = shapely.get_coordinates(region)
    for x, y in [*points, *((points[1:] + points[:-1]) / 2)]:
        yield affinity.translate(part.polygon, x, y)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.floats(3, 60), min_size=1, max_size=6))
def test_the_field_of_an_offcut_keeps_the_margin_at_blunt_corners(turns_deg: list[float]) -> None:
    """An offcut with a notch whose rim turns by little at each corner; the distance is the other
    library's.
    """
    corners, heading, at = (
        [(300.0, 0.0), (300.0, 300.0), (0.0, 300.0), (0.0, 200.0)],
        -90.0,
        (100.0, 200.0),
    )
    for turn_deg in turns_deg:
        if heading + turn_deg > -5:
            break
        corners.append(at)
        step = turn((12.0, 0.0), math.radians(heading))
        at, heading = (at[0] + step[0], at[1] + step[1]), heading + turn_deg
    rim = shapely.Polygon([*corners, (at[0], 0.0)])
    if not rim.is_valid:
        return
    sheet = offcut(tuple((float(x), float(y)) for x, y in [*corners, (at[0], 0.0)]), margin=MARGIN)
    part = square(20)
    field = NoFit(2.0).field(sheet, part)
    for placed in along(field, part):
        assert rim.boundary.distance(placed) > MARGIN - SLACK_MM
        assert rim.contains(placed)


@pytest.mark.parametrize("gap", [0.5, 2.0, 20.0])
@settings(max_examples=40, deadline=None)
@given(turn_deg=st.floats(1, 89))
@example(turn_deg=8.2)  # one chord for nearly one and a half of the usual angle
def test_the_no_fit_region_keeps_the_gap_at_blunt_corners(gap: float, turn_deg: float) -> None:
    """A square beside a corner that turns by any angle, laid at every corner of the region."""
    a = math.radians(turn_deg)
    wedge = Outline(
        polygon([(0, 0), (100, 0), (100 + 50 * math.cos(a), 50 * math.sin(a)), (60, 90), (0, 90)])
    )
    fixed, part = Shape(Path(Piece("wedge", wedge, 1), wedge), 0.0), square(20)
    for placed in along(NoFit(gap).pair(fixed, part), part):
        assert fixed.polygon.distance(placed) > gap - SLACK_MM


def test_a_plain_sheet_is_free_to_its_margin() -> None:
    field = NoFit(2.0).field(offcut(box(200, 100), margin=MARGIN), square(20))
    assert field.bounds == pytest.approx((5, 5, 175, 75), abs=1e-3)


@pytest.mark.slow
def test_no_part_of_a_no_fit_region_is_lost() -> None:
    """A ring and a triangle whose sums nearly share edges: the geometry library's quick union (its
    kernel 3.14) loses a seventh of them without a word. Area of the sum of two convex shapes by
    Steiner and Minkowski: A + B + mixed.
    """
    outer, tri = 32.62820776480021, Outline(regular(3, 9.127770335563353))
    ring = Outline(circle((0, 0), 32.42820776480021), (circle((0, 0), 22.80980126466438),))
    kerf, gap = 0.4, 1.0
    made = paths([Piece("ring", ring, 1), Piece("tri", tri, 1)], kerf)
    region = NoFit(gap).pair(*(Shape(path, 0.0) for path in made))
    side = made[1].outline.edge.length_mm
    # a disc, swollen by the gap
    least = math.pi * (outer + gap) ** 2 + made[1].outline.area_mm2 + side * (outer + gap)
    assert region.area > 0.999 * least
    pieces = [Piece("ring", ring, 5, "opal", "free"), Piece("tri", tri, 40, "opal")]
    found = nest(pieces, [sheet(margin=0.0)], gap_mm=gap, kerf_mm=kerf)
    assert audit(found, pieces, [sheet(margin=0.0)], gap, kerf) == ()
