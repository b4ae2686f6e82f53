"""A board goes into its base one way only: held against shapely's overlap of peg and plate in
every pose.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, Polygon, affinity

from fab.checks.board import board_checks
from fab.outlines.facets import to_shapely
from fab.parts.board_source import board_layout
from fab.parts.oneway import mark_of, posed, poses
from fab.parts.plan import Plan

from .test_checks import given as given_board

PANELS = ("hexagon-120", "edge90-square", "edge90-triangle")


def plate(layout: Any) -> Polygon:
    return to_shapely(layout.outline)


@pytest.mark.parametrize("panel", PANELS)
def test_a_drawn_board_meets_its_peg_in_every_other_pose(
    design: Callable[..., Plan], panel: Any
) -> None:
    """The peg as a disc and the plate as a polygon, by shapely, which shares no code with the
    check.
    """
    plan = design(panel=panel)
    layout = board_layout(plan)
    peg = Point(plan.fixings.mark.at).buffer(plan.fixings.peg_d / 2)
    assert peg.intersection(plate(layout)).area == pytest.approx(0.0, abs=1e-6)
    for name, k, back in poses(plan.cell.sides):
        laid = affinity.scale(plate(layout), 1, -1, origin=(0, 0)) if back else plate(layout)
        laid = affinity.rotate(laid, 360 * k / plan.cell.sides, origin=(0, 0))
        assert peg.intersection(laid).area > 0.5, name


@pytest.mark.parametrize("panel", PANELS)
def test_holes_that_are_alike_in_every_turn_are_told_with_a_hole_to_move(
    design: Callable[..., Plan], panel: Any
) -> None:
    plan = design(panel=panel)
    n, radius = plan.cell.sides, plan.fixings.post_radius
    corners = iter([plan.corner(k, radius) for k in range(n)])

    def even(part: Any) -> Any:
        if part.kind != "hole":
            return part
        x, y = next(corners)
        return dataclasses.replace(part, x=x, y=y)

    plain = given_board(plan, outline="edge", change=even)
    assert plain.fixings.mark is None
    (told,) = [v for v in board_checks("panel", plain) if v.id == "board.one-way"]
    assert told.verdict == "fail"
    assert "Move the mounting hole" in told.remedy
    assert told.measured < 0.5


@given(st.integers(3, 8), st.integers(2, 7), st.integers(0, 10_000))
@settings(max_examples=60)
def test_the_mark_is_the_hole_that_no_other_pose_brings_back(
    sides: int, many: int, seed: int
) -> None:
    """Against all pairs, pose by pose, in complex numbers."""
    import random

    dice = random.Random(seed)
    holes = [(dice.uniform(-40, 40), dice.uniform(-40, 40)) for _ in range(many)]
    found = mark_of(holes, sides)
    if many <= 2:
        assert found is None
        return
    least = []
    for x, y in holes:
        near = math.inf
        for u, v in holes:
            for k in range(sides):
                spin = complex(math.cos(2 * math.pi * k / sides), math.sin(2 * math.pi * k / sides))
                there = [complex(u, -v) * spin] + ([complex(u, v) * spin] if k else [])
                near = min(near, *(abs(complex(x, y) - t) for t in there))
        least.append(near)
    if max(least) > 0.5 + 1e-9:
        assert found is not None
        assert found.apart_mm == pytest.approx(max(least))
    assert posed((1.0, 2.0), sides, 0, back=True) == pytest.approx((1.0, -2.0))


def test_a_board_of_six_holes_keeps_five_for_screws(design: Callable[..., Plan]) -> None:
    plan = design()
    assert len(plan.fixings.board_holes) == 6
    assert len(plan.fixings.screw_holes) == 5
    assert plan.fixings.mark.at not in plan.fixings.screw_holes
    turned = plan.mounted(2)
    assert turned.mounted(0).fixings.board_holes == plan.fixings.board_holes
    x, y = turned.fixings.mark.at
    spin = -2 * math.pi * 2 / 6
    was = plan.fixings.mark.at
    there = (
        was[0] * math.cos(spin) - was[1] * math.sin(spin),
        was[0] * math.sin(spin) + was[1] * math.cos(spin),
    )
    assert (x, y) == pytest.approx(there, abs=1e-5)


@pytest.mark.parametrize("panel", PANELS)
def test_the_figure_of_edge_0_points_to_edge_0_of_the_panel(
    design: Callable[..., Plan], panel: Any
) -> None:
    """In the base's frame it lies back by the edges that the base is mounted round, and clear of
    posts.
    """
    from fab.layout.model import BaseKind
    from fab.parts.edgemark import edge_mark

    plan = design(panel=panel)
    for steps in range(plan.cell.sides):
        kind = BaseKind(f"inlet-turned-{steps}", "panel", True, 80.0, "B", steps)
        arrow, figure = edge_mark(plan.mounted(steps), kind)
        back = -2 * math.pi * steps / plan.cell.sides
        ends = [
            p[0] * math.cos(back) + p[1] * math.sin(back)
            for p in (seg.start for seg in arrow.edge.segments)
        ]
        inner = to_shapely(figure).centroid
        assert max(ends) > inner.x * math.cos(back) + inner.y * math.sin(back)
        assert ends.count(max(ends)) == 1
        shape = to_shapely(figure).union(to_shapely(arrow))
        for post in plan.mounted(steps).fixings.board_holes:
            assert shape.distance(Point(post)) >= plan.fixings.post_d / 2


def test_a_standoff_where_an_inlet_needs_the_floor_is_told(design: Callable[..., Plan]) -> None:
    """A given board whose hole lies before the middle of edge 2; the base has its inlet there, or
    elsewhere.
    """
    plan = design()
    reach, angle = plan.rings.base_inner.apothem - 9.0, math.radians(120.0)
    seen: list[Any] = []

    def moved(part: Any) -> Any:
        if part.kind == "hole" and not seen:
            seen.append(part)
            return dataclasses.replace(part, x=reach * math.cos(angle), y=reach * math.sin(angle))
        return part

    own = given_board(plan, outline="edge", change=moved)
    for edge in range(6):
        (told,) = [v for v in board_checks("panel", own, [edge]) if v.id == "board.post-inlet"]
        assert told.verdict == ("fail" if edge == 2 else "pass"), edge
