"""Order of hanging: every push is possible and mates what it says; the most headers by trying every
order.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from functools import cache
from typing import Any

import pytest
from shapely.geometry import MultiPoint, Polygon

from fab.params.job import HangParams
from fab.params.shop import WallType
from fab.wall.choose import choose
from fab.wall.header_bound import most_headers
from fab.wall.order import (
    Assembly,
    HangingOrder,
    assemble,
    can_part,
    handy,
    hanging_order,
    pins_reach,
    stands,
)
from fab.wall.pushes import swept_overlap
from fab.wall.to_hang import WallToHang

from .walls import hung_on, masses, plan_of, random_cells, wall


def ordered(
    sides: Any,
    cells: Any,
    edge: Any = 69.3,
    grams: Any = 250.0,
    groups: Any = "one",
    wanted: Any = (),
    turn_deg: Any = 0.0,
    **hanger: Any,
) -> Any:
    layout = wall(sides, cells, turn_deg, groups, edge)
    plans = {"panel": plan_of(sides, edge, **hanger)}
    mass = masses(layout, grams)
    hung = choose(
        WallToHang(
            layout, plans, mass, HangParams(factor=1.0), WallType(shear_n=900.0, pull_n=900.0)
        )
    )
    assembly = assemble(layout, plans, wanted)
    order = hanging_order(layout, plans, assembly, hung, {n: m.grams for n, m in mass.items()})
    return layout, plans, Ordered(assembly, order, unmated(layout, assembly))


@dataclass
class Ordered:
    """An assembly with its order of hanging, and the joints whose header no step mates."""

    assembly: Assembly
    order: HangingOrder
    unmated: tuple[int, ...]

    def __getattr__(self, name: Any) -> Any:
        return getattr(self.order, name)


def unmated(layout: Any, assembly: Any) -> Any:
    return tuple(k for k in range(len(layout.joints)) if k not in assembly.mates)


def shape(panel: Any) -> Any:
    return Polygon(panel.corners)


def runs_into(moving: Any, still: Any, heading_deg: Any, reach: Any) -> Any:
    """Does the last `reach` mm of a straight way pass through another panel? Hull of both ends, by
    shapely.
    """
    angle = math.radians(heading_deg)
    back = (-reach * math.cos(angle), -reach * math.sin(angle))
    points = [*moving.corners, *((x + back[0], y + back[1]) for x, y in moving.corners)]
    return MultiPoint(points).convex_hull.intersection(shape(still)).area > 0.5


def check_pushes(layout: Any, plans: Any, order: Any) -> Any:
    """Play all pushes: pieces exist, ways are free, headers lie along the push.

    Returns the pieces at the end.
    """
    reach = pins_reach(plans["panel"])
    piece_of = {panel.name: frozenset([panel.name]) for panel in layout.panels}
    mated = []
    for push in order.pushes:
        moving, onto = frozenset(push.moving), frozenset(push.onto)
        assert {piece_of[name] for name in moving} == {moving}
        assert {piece_of[name] for name in onto} == {onto}
        if push.heading_deg is not None:
            assert not any(
                runs_into(layout.by_name[m], layout.by_name[s], push.heading_deg, reach)
                for m in moving
                for s in onto
            )
        for k in push.joints:
            joint = layout.joints[k]
            facing = joint.normal_deg if joint.a in moving else joint.normal_deg + 180.0
            assert {joint.a in moving, joint.b in moving} == {True, False}
            assert math.cos(math.radians(facing - push.heading_deg)) == pytest.approx(1.0)
        mated += push.joints
        for name in moving | onto:
            piece_of[name] = moving | onto
    assert len(mated) == len(set(mated))
    by_push = {k for k, mate in order.assembly.mates.items() if mate.by == "push"}
    assert set(mated) == by_push
    for k in by_push:
        mate = order.assembly.mates[k]
        assert k in order.pushes[mate.step - 1].joints
        assert mate.moves in order.pushes[mate.step - 1].moving
        assert mate.heading_deg == order.pushes[mate.step - 1].heading_deg
    assert {k for lift in order.lifts for k in lift.joints} == set(order.assembly.mates) - by_push
    return set(piece_of.values())


@pytest.mark.parametrize(
    ("sides", "cells", "most"),
    [
        (6, [(0, 0), (1, 0), (0, 1)], 2),  # three round a corner: the last push mates one of two
        (
            6,
            [(0, 0), (1, 0), (0, 1), (-1, 1), (-1, 0), (0, -1), (1, -1)],
            9,
        ),  # six such rings; a spoke lies in two of them
        (
            6,
            [(1, 0), (0, 1), (-1, 1), (-1, 0), (0, -1), (1, -1)],
            6,
        ),  # round a hole: joints face opposite ways
        (4, [(0, 0), (1, 0), (0, 1), (1, 1)], 4),  # two pairs, pushed together
    ],
)
def test_no_order_mates_more_headers_than_the_bound(sides: int, cells: Any, most: int) -> None:
    """Counted by hand; against every order in `test_all_small_walls`."""
    assert most_headers(wall(sides, cells)) == most


@pytest.mark.parametrize("seed", range(6))
def test_the_order_of_a_larger_wall_says_how_far_it_is_from_the_bound(seed: int) -> None:
    rng = random.Random(seed)
    sides = (6, 4, 3)[seed % 3]
    layout, _, order = ordered(sides, random_cells(rng, sides, rng.randint(13, 30)), edge=120.0)
    found, most = len(order.assembly.mates), order.assembly.most
    assert found <= most <= len(layout.joints)
    assert order.assembly.proven == (found == most)
    assert (f"no order mates more than {most} of" in order.order.says) == (found < most)


def most_mated(layout: Any, reach: Any) -> Any:
    """The most headers by trying every way to join pieces, two by two."""
    names = [panel.name for panel in layout.panels]

    @cache
    def blocked(m: Any, s: Any, heading: Any) -> Any:
        return runs_into(layout.by_name[m], layout.by_name[s], heading, reach)

    @cache
    def best(pieces: Any) -> Any:
        if len(pieces) == 1:
            return 0
        found = -1
        for a in pieces:
            for b in pieces:
                if a == b:
                    continue
                facing: dict[Any, Any] = {}
                for joint in layout.joints:
                    for x, y, normal in (
                        (joint.a, joint.b, joint.normal_deg),
                        (joint.b, joint.a, joint.normal_deg + 180.0),
                    ):
                        if x in a and y in b:
                            heading = round(normal % 360.0, 3) % 360.0
                            facing[heading] = facing.get(heading, 0) + 1
                for heading, count in facing.items():
                    if not any(blocked(m, s, heading) for m in a for s in b):
                        found = max(found, count + best((pieces - {a, b}) | {a | b}))
        return found

    return best(frozenset(frozenset([name]) for name in names))


@pytest.mark.parametrize("seed", range(15))
def test_as_many_headers_as_any_order_can_mate(seed: int) -> None:
    rng = random.Random(seed)
    sides = (6, 6, 3, 4)[seed % 4]
    layout, plans, order = ordered(
        sides, random_cells(rng, sides, rng.randint(2, 6)), 120.0 if sides == 3 else 69.3
    )
    assert len(check_pushes(layout, plans, order)) == 1
    best = most_mated(layout, pins_reach(plans["panel"]))
    if best >= 0:  # else some panel can't be pushed in at all
        assert len(layout.joints) - len(order.unmated) == best


def test_three_hexagons_round_a_corner_leave_one_joint() -> None:
    layout, plans, order = ordered(6, [(0, 0), (1, 0), (0, 1)])
    check_pushes(layout, plans, order)
    assert len(order.unmated) == 1


def test_a_ring_of_six_closes_by_two_halves() -> None:
    layout, plans, order = ordered(6, [(1, 0), (0, 1), (-1, 1), (-1, 0), (0, -1), (1, -1)])
    check_pushes(layout, plans, order)
    assert order.unmated == ()


@pytest.mark.parametrize("sides", [3, 4])
def test_triangles_and_squares_mate_everywhere(sides: int) -> None:
    """Rows first, then rows against rows: every joint is straight."""
    cells = [(q, r) for q in range(5) for r in range(3)]
    layout, plans, order = ordered(sides, cells, 120.0)
    check_pushes(layout, plans, order)
    assert order.unmated == ()


def test_wanted_joints_come_first() -> None:
    """Of three hexagons round a corner any two joints can be had: those that the power needs."""
    for left_out in range(3):
        wanted = [k for k in range(3) if k != left_out]
        _, _, order = ordered(6, [(0, 0), (1, 0), (0, 1)], wanted=wanted)
        assert order.unmated == (left_out,)


def test_one_piece_where_two_people_can_lift_it() -> None:
    _, _, order = ordered(4, [(q, r) for q in range(3) for r in range(3)])
    assert order.mode == "one"
    assert len(order.lifts) == 1
    assert order.lifts[0].handy
    assert "face down" in order.says


def test_a_long_wall_of_squares_goes_up_in_rows_when_the_way_down_is_long_enough() -> None:
    cells = [(q, r) for q in range(16) for r in range(2)]
    layout = wall(4, cells, edge=120.0)
    mass = masses(layout)
    grams = {n: m.grams for n, m in mass.items()}
    kind, hang = WallType(), HangParams()
    long = {"panel": plan_of(4, 120.0, travel=12.0)}
    everyone = [panel.name for panel in layout.panels]
    hung = hung_on(WallToHang(layout, long, mass, hang, kind), everyone)
    assert not handy(layout, grams)
    assert can_part(layout, long)
    assembly = assemble(layout, long, pieces=True)
    assert stands(layout, assembly, hung, grams)
    order = Ordered(
        assembly, hanging_order(layout, long, assembly, hung, grams), unmated(layout, assembly)
    )
    assert order.mode == "pieces"
    assert [len(lift.panels) for lift in order.lifts] == [16, 16]
    low, high = (layout.by_name[lift.panels[0]].y for lift in order.lifts)
    assert low < high  # the lower one hangs first
    assert len(order.lifts[1].joints) == 16
    assert order.seams == order.lifts[1].joints
    assert order.unmated == ()
    assert len(check_pushes(layout, long, order)) == 2
    short = {"panel": plan_of(4, 120.0)}  # 8 mm down: the pins reach further
    assert not can_part(layout, short)
    hung = hung_on(WallToHang(layout, short, mass, hang, kind), everyone)
    order = hanging_order(layout, short, assemble(layout, short), hung, grams)  # type: ignore[assignment]
    assert order.mode == "one"
    assert "hanger.travel = 9.6 mm would let headers mate on the wall" in order.says


def test_groups_hang_the_lower_one_first_where_it_needs_the_room() -> None:
    """Two squares, the upper one 2 mm over the lower one's way up."""
    layout = wall(4, [(0, 0), (0, 1)], edge=100.0)
    low = next(p for p in layout.panels if p.y < 50)
    high = next(p for p in layout.panels if p.y > 50)
    assert swept_overlap(low, high, (0.0, 8.0))
    assert not swept_overlap(high, low, (0.0, 8.0))


def test_separate_groups_are_lifted_one_by_one() -> None:
    _, _, order = ordered(6, [(0, 0), (1, 0), (6, 0), (7, 0)], groups="separate")
    assert len(order.lifts) == 2
    assert all(len(lift.screws) == 2 for lift in order.lifts)
    assert order.blocked == ()


def test_a_heavy_wall_asks_for_more_hands() -> None:
    _, _, order = ordered(6, [(0, 0), (1, 0), (0, 1), (1, 1)], grams=3000.0)
    assert not order.lifts[0].handy
    assert "lift with more people" in order.says
