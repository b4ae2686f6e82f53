"""Ways of the supply cables against shortest ways round corners, found by other libraries."""

from __future__ import annotations

import itertools
import math
import random
from collections.abc import Iterable
from typing import Any

import networkx as nx
import numpy as np
import pytest
from shapely import LineString, Point, Polygon, contains_xy, get_parts, prepare, union_all

from fab.power.cables import OFF_MM, Behind, _Ground, _straightened, cable_runs
from fab.power.wire import wire

from .walls import NINE, asking, design, loads, random_cells, wall

GRID = 1 / math.cos(math.pi / 8)  # eight directions make a way so many times too long at most
Spot = tuple[float, float]


def wired_wall(cells: Any, sides: int = 6) -> Any:
    panel, power = design(sides), asking()
    layout = wall(cells, panel)
    return layout, wire(layout, loads(layout, 20), power, {"panel": panel}), power, {"panel": panel}


def shortest_out(start: Spot, shut: Any, box: tuple[float, ...]) -> float:
    """Length of the shortest way out of a box that keeps out of `shut`: round its corners, and
    square to a side of the box at last.
    """
    x0, y0, x1, y1 = box
    solid = shut.buffer(-1e-6)
    prepare(solid)
    rings = [r for part in get_parts(shut) for r in (part.exterior, *part.interiors)]
    seen = nx.Graph()
    spots = {start, *(spot for ring in rings for spot in ring.coords)}
    for a, b in itertools.combinations(spots, 2):
        if not solid.intersects(LineString([a, b])):
            seen.add_edge(a, b, weight=math.dist(a, b))
    for x, y in spots:
        inside = x0 < x < x1 and y0 < y < y1
        sides = [(x0, y), (x1, y), (x, y0), (x, y1)] if inside else [(x, y)]
        free = [side for side in sides if not solid.intersects(LineString([(x, y), side]))]
        if free:
            seen.add_edge((x, y), "out", weight=min(math.dist((x, y), side) for side in free))
    return float(nx.shortest_path_length(seen, start, "out", weight="weight"))


def long(way: Iterable[Spot]) -> float:
    return math.fsum(math.dist(a, b) for a, b in itertools.pairwise(way))


@pytest.mark.parametrize("sides", [3, 4, 6])
@pytest.mark.parametrize("seed", [1, 2])
def test_without_a_socket_a_cable_takes_the_shortest_way_out(sides: int, seed: int) -> None:
    """Out of the box of all panels, 4 mm off them: at most what the grid makes of the shortest way
    of all, and two steps to its first node and past the box.
    """
    layout, wired, power, designs = wired_wall(random_cells(9, seed, sides), sides)
    cells = union_all([Polygon(panel.corners) for panel in layout.panels])
    step = _Ground(layout, ()).step
    for run in cable_runs(layout, wired, power, designs):
        out = run.way[1:]
        best = shortest_out(out[0], cells.buffer(OFF_MM, join_style="mitre"), layout.box)
        assert best - 1e-6 <= long(out) <= GRID * best + 3 * step
        assert LineString(out[1:]).distance(cells) > OFF_MM if len(out) > 2 else True
        assert run.length_mm is not None
        assert run.length_mm == pytest.approx(long(run.way))
        assert run.clips == math.ceil(run.length_mm / 250.0)
        room = wired.zones[run.zone - 1].inlet.room
        assert run.way[0] == (run.x, run.y) == (room.x, room.y)
        away = math.radians(room.facing_deg)
        reach = 0.9 * min(room.free_mm, designs["panel"].inlet.room)
        assert out[0] == pytest.approx(
            (room.x + reach * math.cos(away), room.y + reach * math.sin(away))
        )


@pytest.mark.parametrize("seed", range(3))
def test_behind_the_bases_a_cable_finds_the_shortest_way_between_the_posts(seed: int) -> None:
    """Never shorter than round the posts themselves; at most what the grid makes of the shortest
    way round posts that are wider by half a step of the grid's diagonal.
    """
    layout, wired, power, designs = wired_wall(NINE)
    dice = random.Random(seed)
    x0, y0, x1, y1 = layout.box
    posts = [
        ((dice.uniform(x0, x1), dice.uniform(y0, y1)), dice.uniform(5.0, 40.0)) for _ in range(14)
    ]
    starts = {panel.name: (panel.x, panel.y) for panel in layout.panels}
    posts = [(p, r) for p, r in posts if min(math.dist(p, s) for s in starts.values()) > r + 25.0]
    behind = Behind(tuple(posts), starts, 4.0)
    step = _Ground(layout, (), behind).step
    half = step * math.sqrt(2) / 2
    for run in cable_runs(layout, wired, power, designs, behind):
        assert run.way[0] == (run.x, run.y) == starts[run.panel]
        line = LineString(run.way)
        assert all(line.distance(Point(p)) >= r + 2.0 - 1e-9 for p, r in posts)
        least, most = (
            shortest_out(
                starts[run.panel],
                union_all([Point(p).buffer(wide(r + 2.5), quad_segs=2) for p, r in posts]),
                layout.box,
            )
            for wide in (float, lambda r: math.hypot(r, half) / math.cos(math.pi / 8))
        )
        assert run.length_mm is not None
        assert least - 1e-6 <= run.length_mm <= GRID * most + 3 * step


def test_a_cable_that_is_shut_in_has_no_way() -> None:
    """Eighteen posts, 20.8 mm from one to the next and 22 mm thick, are a fence about the start; a
    cable leaves where one of them is missing.
    """
    layout, wired, power, designs = wired_wall([(0, 0)])
    fence = tuple(
        ((60 * math.cos(math.pi * k / 9), 60 * math.sin(math.pi * k / 9)), 11.0) for k in range(18)
    )
    (run,) = cable_runs(layout, wired, power, designs, Behind(fence, {"A": (0.0, 0.0)}, 4.0))
    assert (run.way, run.length_mm, run.clips, run.socket) == ((), None, 0, None)
    (free,) = cable_runs(layout, wired, power, designs, Behind(fence[1:], {"A": (0.0, 0.0)}, 4.0))
    assert LineString(free.way).crosses(LineString([fence[1][0], fence[-1][0]]))


def test_points_within_a_straight_stretch_are_left_out() -> None:
    """The same line as shapely's when it takes out what changes nothing."""
    for points in (
        [(0.0, 0.0), (1.0, 1.0), (2.0, 2.0), (3.0, 2.0), (5.0, 2.0), (5.0, 0.0)],
        [(0.0, 0.0), (10.0, 0.0), (20.0, 0.01), (20.0, 5.0)],
        [(0.0, 0.0), (0.0, 7.0)],
        [(3.0, 3.0), (3.0, 4.0), (3.0, 9.0)],
    ):
        told = list(LineString(points).simplify(0).coords)
        assert list(_straightened(points)) == told


def test_the_nearest_free_node_is_found_and_its_number_is_its_place() -> None:
    layout, *_ = wired_wall(NINE)
    ground = _Ground(layout, ((700.0, 300.0),))
    nodes = [n for n in range(ground.nx * ground.ny) if n not in ground.shut]
    dice = random.Random(5)
    for _ in range(20):
        spot = (dice.uniform(-300.0, 700.0), dice.uniform(-200.0, 500.0))
        far = min(math.dist(ground.point(n), spot) for n in nodes)
        if far < 2 * ground.step:
            found = ground.nearest(spot)
            assert found not in ground.shut
            assert math.dist(ground.point(found), spot) == pytest.approx(far)


def test_nodes_are_shut_from_the_panels_and_their_clearance_alone() -> None:
    """Every node within the clearance of a panel's sides is shut, no other; the grid reaches past
    panels and sockets on all sides.
    """
    sockets = ((900.0, 100.0), (100.0, -800.0))
    for sides, seed in itertools.product((3, 4, 6), range(4)):
        layout = wall(random_cells(6, seed, sides), design(sides))
        ground = _Ground(layout, sockets)
        near = union_all(
            [
                Polygon(p.corners).buffer(ground.off, join_style="mitre", mitre_limit=9)
                for p in layout.panels
            ]
        )
        prepare(near)
        nodes = [ground.point(node) for node in range(ground.nx * ground.ny)]
        inside = contains_xy(near, *np.array(nodes).T)
        assert set(np.flatnonzero(inside).tolist()) == ground.shut
        x0, y0, x1, y1 = layout.box
        (low_x, low_y), (high_x, high_y) = ground.point(0), ground.point(ground.nx * ground.ny - 1)
        pad = 2 * layout.panels[0].cell.apothem
        assert low_x <= x0 - pad
        assert low_y <= min(y0, -800.0) - pad
        assert high_x >= max(x1, 900.0) + pad
        assert high_y >= max(y1, 100.0) + pad
