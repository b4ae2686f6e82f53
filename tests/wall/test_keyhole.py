"""Where the keyhole lies: clear of all that stands on the floor, as high as can be, alike in every
whole-edge turn.
"""

from __future__ import annotations

import itertools
import math
import random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, Polygon
from shapely.ops import unary_union

from fab.layout.kinds import base_uses
from fab.outlines.contour import turn
from fab.outlines.shapes import cut_corner_points
from fab.parts.keyhole import _through_grown, entry_diameter, keyhole_for, rest_spans
from fab.wall.places import places
from fab.wall.to_hang import WallToHang
from tests.cases import few

from .walls import plan_of, wall

CASES = [(6, 69.3), (6, 40.0), (4, 80.0), (4, 120.0), (3, 120.0), (3, 100.0), (5, 70.0)]


def floor_left_free(plan: Any, inlet: Any) -> Any:
    """The floor inside the base wall without posts, clip blocks and cradle, by shapely; written
    from the brief.
    """
    n, inner = plan.cell.sides, plan.rings.base_inner.apothem
    room = Polygon(cut_corner_points(n, inner, plan.rings.base_inner.facet))
    blocked = [Point(hole).buffer(plan.fixings.post_d / 2, 48) for hole in plan.fixings.board_holes]
    half = plan.clip.block_w / 2
    for edge in range(n):
        for at in plan.clip.pockets:
            corners = [(inner - plan.clip.block_depth, at - half), (inner + 9, at - half)]
            corners += [(inner + 9, at + half), (inner - plan.clip.block_depth, at + half)]
            blocked.append(Polygon([turn(c, 2 * math.pi * edge / n) for c in corners]))
    if inlet:
        wide = plan.params.inlet.board_w / 2 + 2.5
        # behind the board and 0.2 mm of play: a washer (M3: 7 mm) that reaches 1 mm over it, on a
        # boss (M3: 6.5 mm)
        d, pilot = plan.params.screw_d, plan.params.pilot_d
        boss = (
            plan.edge.wall_u
            + plan.params.inlet.board_l
            + 0.2
            + (2 * d + 1) / 2
            - 1.0
            + (pilot + 4 * d / 3) / 2
        )
        end = plan.cell.apothem - max(boss, plan.edge.wall_u + plan.params.inlet.board_l + 3.0)
        blocked.append(Polygon([(end, -wide), (inner + 9, -wide), (inner + 9, wide), (end, wide)]))
    return room.difference(unary_union(blocked))


def swept(plan: Any, rest: Any, entry: Any) -> Any:
    """Head with half a millimetre around it along the whole travel, and the entry likewise."""
    head = LineString([entry, rest]).buffer(plan.params.hanger.head_d / 2 + 0.5, 48)
    return head.union(Point(entry).buffer(entry_diameter(plan) / 2 + 0.5, 48))


@pytest.mark.parametrize(("sides", "edge"), CASES)
@pytest.mark.parametrize("inlet", [False, True])
@pytest.mark.parametrize("up", few([0.0, 17.0, 90.0, 211.0], 1))
def test_clear_and_as_high_as_can_be(sides: int, edge: int, inlet: bool, up: float) -> None:
    plan = plan_of(sides, edge)
    free = floor_left_free(plan, inlet)
    hole = keyhole_for(plan, up, inlet=inlet)
    ux, uy = math.cos(math.radians(up)), math.sin(math.radians(up))
    travel = plan.params.hanger.travel

    def fits(height: Any) -> Any:
        here, below = (height * ux, height * uy), ((height - travel) * ux, (height - travel) * uy)
        return swept(plan, here, below).difference(free).area < 4e-3

    reach = round(plan.rings.base_inner.facet)
    if hole is None:
        assert not any(fits(float(h)) for h in range(-reach, reach))
        return
    assert swept(plan, hole.rest, hole.entry).difference(free).area < 4e-3
    height = hole.rest[0] * ux + hole.rest[1] * uy
    assert hole.rest == pytest.approx((height * ux, height * uy), abs=1e-9)
    assert not any(fits(height + 0.3 + h / 2) for h in range(2 * reach - round(2 * height)))
    assert hole.travel == pytest.approx(travel)


@given(st.sampled_from(CASES), st.floats(0.0, 360.0), st.integers(0, 11))
@settings(max_examples=60)
def test_a_base_that_is_mounted_turned_has_its_keyhole_where_it_was(
    case: Any, up: float, steps: int
) -> None:
    """The posts stand turned back in such a base, that of the mark too: so its keyhole lies at the
    same place of the wall.
    """
    plan = plan_of(*case)
    back = -360.0 / plan.cell.sides * steps
    here, there = (
        keyhole_for(plan, up, inlet=False),
        keyhole_for(plan.mounted(steps), up + back, inlet=False),
    )
    if here is None or there is None:
        assert here is None
        assert there is None
        return
    assert there.rest == pytest.approx(turn(here.rest, math.radians(back)), abs=1e-6)
    assert there.entry == pytest.approx(turn(here.entry, math.radians(back)), abs=1e-6)


def test_widths_are_shank_and_head_with_their_clearance() -> None:
    """Slot: 4 + 2 x 0.25; entry: 8 + 2 x 0.25 + 0.5 (the sliding class as shipped)."""
    hole = keyhole_for(plan_of(6), 90.0, inlet=False)
    assert hole is not None
    assert hole.slot_w == pytest.approx(4.5)
    assert hole.entry_d == pytest.approx(9.0)


def test_offset_is_taken_where_it_is_free_and_refused_where_not() -> None:
    free = keyhole_for(plan_of(6, 69.3, offset=20.0), 90.0, inlet=False)
    assert free is not None
    assert math.hypot(*free.rest) == pytest.approx(20.0)
    assert keyhole_for(plan_of(6, 69.3, offset=59.0), 90.0, inlet=False) is None
    low, high = rest_spans(plan_of(6), 90.0, inlet=False)[-1]
    assert low < 20.0 < high < 59.0


@pytest.mark.slow
@pytest.mark.kernel
@pytest.mark.parametrize(
    ("sides", "edge", "turn_deg", "inlets"),
    [
        (4, 80.0, 45.0, {"B": 0}),
        (3, 120.0, 30.0, {"A": 1}),
        (6, 69.3, 0.0, {}),
        (6, 69.3, 30.0, {"A": 3}),
        (6, 69.3, 17.0, {}),
        (4, 80.0, 0.0, {}),
        (3, 120.0, 0.0, {}),
    ],
)
def test_screw_marks_are_the_slot_ends_of_the_solids(
    sides: int, edge: float, turn_deg: float, inlets: Any
) -> None:
    """A second path: the base's solid put into the wall frame and cut; the round end of its slot is
    the mark.
    """
    import cadquery as cq

    from fab.params.job import HangParams
    from fab.params.shop import WallType
    from fab.parts.base import base
    from fab.solids import kernel

    plan = plan_of(sides, edge)
    layout = wall(sides, [(0, 0), (1, 0)], turn_deg, edge=edge)
    spots = places(WallToHang(layout, {"panel": plan}, {}, HangParams(), WallType(), inlets=inlets))
    uses = base_uses(layout, inlets, {spot.panel: spot.up_deg for spot in spots})
    for spot, use in zip(spots, uses, strict=True):
        panel = layout.by_name[spot.panel]
        if spot.keyhole is None:
            continue
        solid = kernel.turned(base(plan, use.kind), panel.turn_deg + use.steps * 360.0 / sides)
        placed = kernel.moved(solid, panel.x, panel.y, 0.0)
        cut = cq.Workplane(obj=placed).section(plan.floor.top_z / 2)
        radius = spot.keyhole.slot_w / 2
        ends = {
            (round(e.arcCenter().x, 4), round(e.arcCenter().y, 4))
            for e in cut.edges("%CIRCLE").vals()
            if abs(e.radius() - radius) < 1e-6
        }
        assert any(math.dist(end, (spot.x, spot.y)) < 0.01 for end in ends)
        entries = [
            e.arcCenter()
            for e in cut.edges("%CIRCLE").vals()
            if abs(e.radius() - spot.keyhole.entry_d / 2) < 1e-6
        ]
        assert entries
        assert all(abs(entry.x - spot.x) < 0.01 for entry in entries)
        assert all(
            entry.y == pytest.approx(spot.y - plan.params.hanger.travel, abs=0.01)
            for entry in entries
        )


@pytest.mark.parametrize("seed", range(8))
def test_a_disc_beside_a_polygon_meets_it_where_its_grown_region_lies(seed: int) -> None:
    """Against the buffer of another library, whose arcs are 128 chords, at most 0.002 mm short: the
    polygon reaches 3 or 0.5 mm into the band that the disc sweeps, or misses it by 0.02 mm.
    """
    chance = random.Random(seed)
    radius, angle = chance.uniform(2, 5), chance.uniform(0, 2 * math.pi)
    slant = chance.uniform(0, 1)
    points = [turn(at, slant) for at in ((-6, -4), (6, -4), (6, 4), (-6, 4))]
    low = min(y for _, y in points)
    line = LineString([turn((-50, 0), angle), turn((50, 0), angle)])
    for deep, side in itertools.product((3.0, 0.5, -0.02), (1, -1)):
        shape = [turn((x + 9, side * (y - low + radius - deep)), angle) for x, y in points][::side]
        seen = Polygon(shape).buffer(radius, quad_segs=32).intersection(line)
        found = _through_grown(shape, radius, angle)
        if deep < 0:
            assert found is None
            assert seen.is_empty
            continue
        ends = sorted(x * math.cos(angle) + y * math.sin(angle) for x, y in seen.coords)
        assert found == pytest.approx(ends, abs=0.05)
