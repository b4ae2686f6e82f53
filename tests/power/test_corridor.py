"""Room for plug and cable outside an open edge: hand cases, and shapely as a second way."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, Polygon, union_all
from shapely.affinity import rotate, translate

from fab.params.panel import InletParams
from fab.power.corridor import edge_rooms, enclosed_edges, is_usable, plug_width
from fab.power.inlets import towards
from fab.power.wire import wire

from .walls import FLOWER, asking, design, loads, random_cells, wall

WIDTH = 12.35


def by_edge(layout: Any, panel: Any) -> Any:
    return {(room.panel, room.edge): room for room in edge_rooms(layout, {"panel": panel})}


def test_across_a_gap_of_one_square_there_is_one_square_of_room() -> None:
    panel = design(4, inlet=InletParams(room=100.0))
    layout = wall([(0, 0), (2, 0)], panel, groups="separate")
    rooms = by_edge(layout, panel)
    assert rooms["A", 0].free_mm == pytest.approx(150.0, abs=1e-9)
    assert rooms["B", 2].free_mm == pytest.approx(150.0, abs=1e-9)
    assert rooms["A", 2].free_mm == 200.0  # free: capped at twice the room
    assert not any(room.enclosed for room in rooms.values())


def test_a_corner_beside_the_strip_does_not_count_and_one_in_it_does() -> None:
    """Squares that touch by a corner: the neighbour's side runs along the strip, 69 mm from its
    middle.
    """
    panel = design(4)
    layout = wall([(0, 0), (1, 1)], panel, groups="separate")
    upper = by_edge(layout, panel)
    below = next(p for p in layout.panels if p.lattice == (0, 0)).name
    assert upper[below, 0].free_mm == 70.0
    wide = design(4, inlet=InletParams(plug_w=59.0, room=35.0))
    assert by_edge(layout, wide)[below, 0].free_mm == 70.0


def test_edges_round_a_hole_are_no_way_out() -> None:
    """Six hexagons round an empty place: 150 mm of room inside, and no cable gets there."""
    panel = design()
    layout = wall(FLOWER[1:], panel)
    rooms = by_edge(layout, panel)
    held = {key for key, room in rooms.items() if room.enclosed}
    assert len(held) == 6
    for name, edge in held:
        angle = math.radians(layout.by_name[name].normal_deg(edge))
        x, y = layout.by_name[name].edge_middle(edge)
        middle = (x + 75 * math.cos(angle), y + 75 * math.sin(angle))
        assert math.dist(middle, (0, 0)) < 1e-6
        assert rooms[name, edge].free_mm == 70.0
        assert not is_usable(rooms[name, edge], panel.inlet)


def test_corners_that_touch_close_a_hole() -> None:
    """Four squares about an empty one, joined by corners only, and one of them alone inside a
    larger ring.
    """
    panel = design(4)
    four = wall([(1, 0), (0, 1), (-1, 0), (0, -1)], panel, groups="separate")
    assert len(enclosed_edges(four)) == 4
    ring = [(a, b) for a in range(-2, 3) for b in range(-2, 3) if max(abs(a), abs(b)) == 2]
    island = wall([*ring, (0, 0)], panel, groups="separate")
    held = {(island.open_edges[k].panel, island.open_edges[k].edge) for k in enclosed_edges(island)}
    centre = next(p for p in island.panels if p.lattice == (0, 0)).name
    assert {edge for name, edge in held if name == centre} == {0, 1, 2, 3}
    assert len(held) == 4 + 12


@settings(max_examples=40, deadline=None)
@given(
    count=st.integers(2, 25),
    seed=st.integers(0, 100_000),
    sides=st.sampled_from([3, 4, 6]),
    turn=st.sampled_from([0.0, 30.0, 17.3]),
)
def test_rooms_are_what_shapely_finds(count: int, seed: int, sides: int, turn: float) -> None:
    panel = design(sides, inlet=InletParams(room=120.0))
    layout = wall(random_cells(count, seed, sides), panel, turn_deg=turn)
    cells = {p.name: Polygon(p.corners) for p in layout.panels}
    whole = union_all([cell.buffer(1e-4) for cell in cells.values()])
    holes = [Polygon(hole) for part in getattr(whole, "geoms", [whole]) for hole in part.interiors]
    reach = 240.0
    for room in edge_rooms(layout, {"panel": panel}):
        owner = layout.by_name[room.panel]
        strip = translate(
            Polygon([(0, -WIDTH / 2), (reach, -WIDTH / 2), (reach, WIDTH / 2), (0, WIDTH / 2)]),
            *owner.edge_middle(room.edge),
        )
        strip = rotate(strip, owner.normal_deg(room.edge), origin=owner.edge_middle(room.edge))
        first = reach
        for name, cell in cells.items():
            met = strip.intersection(cell)
            if name == room.panel or met.area < 1e-2:
                continue
            angle = math.radians(owner.normal_deg(room.edge))
            away = [
                (x - room.x) * math.cos(angle) + (y - room.y) * math.sin(angle)
                for x, y in met.exterior.coords
            ]
            first = min(first, max(min(away), 0.0))
        assert room.free_mm == pytest.approx(first, abs=5e-3)
        angle = math.radians(room.facing_deg)
        outside = Point(room.x + 0.01 * math.cos(angle), room.y + 0.01 * math.sin(angle))
        assert room.enclosed == any(hole.contains(outside) for hole in holes)


def test_the_plug_or_the_cable_sets_the_width() -> None:
    assert plug_width(InletParams()) == 12.35
    assert plug_width(InletParams(kind="round", cable_d=5.0)) == 5.0


@settings(max_examples=15, deadline=None)
@given(count=st.integers(3, 20), seed=st.integers(0, 100_000))
def test_inlets_leave_by_open_edges_with_room(count: int, seed: int) -> None:
    panel = design()
    layout = wall(random_cells(count, seed), panel)
    wired = wire(layout, loads(layout), asking(), {"panel": panel})
    open_edges = {(edge.panel, edge.edge) for edge in layout.open_edges}
    for zone in wired.zones:
        assert (zone.inlet_panel, zone.inlet_edge) in open_edges
        assert zone.inlet.usable
        assert zone.inlet.room.free_mm >= 35.0 - 1e-3


def test_of_even_edges_the_one_further_out_and_then_the_right_one_is_fitter() -> None:
    """Both ends of a row lie as far out, wherever the row hangs; edges between them less."""
    panel = design(4)
    for column in (0, 7, -9):
        layout = wall([(column + k, 0) for k in range(3)], panel)
        rooms = by_edge(layout, panel)
        fit = {key: towards(layout, room, ()) for key, room in rooms.items()}
        assert fit["A", 2][:2] == fit["C", 0][:2] == (0.0, 225.0)
        assert fit["C", 0] > fit["A", 2]
        assert {fit[name, 3][:2] for name in "ABC"} == {(1.0, 75.0)}
        assert {fit[name, 1][:2] for name in "ABC"} == {(-1.0, 75.0)}
        x, y = rooms["A", 2].x, rooms["A", 2].y
        seen = towards(layout, rooms["A", 2], [(9000.0, 0.0), (x - 300.0, y + 300.0)])
        assert seen[0] == pytest.approx(math.sqrt(0.5), abs=1e-6)
        assert towards(layout, rooms["A", 2], [(x, y)])[0] == 1.0


def test_without_a_socket_the_cable_leaves_downwards_and_else_towards_the_socket() -> None:
    panel = design(4)
    layout = wall([(0, 0)], panel)
    down = wire(layout, loads(layout), asking(), {"panel": panel}).zones[0]
    assert down.inlet.room.facing_deg == 270.0
    for socket, facing in (((900.0, 50.0), 0.0), ((-900.0, 50.0), 180.0), ((10.0, 900.0), 90.0)):
        power = asking(socket=((5000.0, -5000.0), socket))
        assert (
            wire(layout, loads(layout), power, {"panel": panel}).zones[0].inlet.room.facing_deg
            == facing
        )
