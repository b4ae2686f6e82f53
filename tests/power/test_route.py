"""The way of the data line: against brute force over all orders, and networkx for what is
joined.
"""

from __future__ import annotations

import itertools
import random
from typing import Any

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fab.power.route import cover, data_route, hop_levels
from fab.power.wire import wire

from .walls import NINE, asking, design, loads, random_cells, wall


def fewest(count: int, pairs: set[tuple[int, int]]) -> int:
    """Chains that cover all points, by every order of them."""
    best = count
    for order in itertools.permutations(range(count)):
        if order[0] > order[-1]:
            continue
        best = min(
            best, 1 + sum((min(a, b), max(a, b)) not in pairs for a, b in itertools.pairwise(order))
        )
    return best


@given(st.integers(1, 6), st.integers(0, 100_000))
@settings(max_examples=60)
def test_no_order_needs_fewer_chains(count: int, seed: int) -> None:
    dice = random.Random(seed)
    pairs = {(a, b) for a in range(count) for b in range(a + 1, count) if dice.random() < 0.4}
    chains, proven = cover(count, sorted(pairs))
    assert proven
    assert sorted(i for chain in chains for i in chain) == list(range(count))
    for chain in chains:
        assert all((min(a, b), max(a, b)) in pairs for a, b in itertools.pairwise(chain))
    assert len(chains) == fewest(count, pairs)


@pytest.mark.parametrize(
    ("cells", "wires"),
    [
        (((0, 0), (1, 0), (2, 0)), 0),
        (
            ((0, 0), (1, 0), (-1, 1), (0, -1)),
            1,
        ),  # a star of three arms: every second arm needs a wire
        (NINE, None),
    ],
)
def test_a_wall_is_visited_panel_by_panel(cells: Any, wires: float | None) -> None:
    layout = wall(cells)
    power = asking(control="one")
    wired = wire(layout, loads(layout), power, {"panel": design()})
    route = data_route(layout, wired.table, wired.blank, "one")
    assert sorted(route.order) == sorted(panel.name for panel in layout.panels)
    assert len(route.hops) == len(layout.panels) - 1
    for hop, (a, b) in zip(route.hops, itertools.pairwise(route.order), strict=True):
        assert (hop.sender, hop.reader) == (a, b)
        if hop.joint is not None:
            joint = layout.joints[hop.joint]
            assert {joint.a, joint.b} == {a, b}
    if wires is not None:
        assert len(route.wires) == wires
        assert route.proven
    spare = hop_levels(route, wired.volts, wired.ground_v, 0.7, 0.3)
    assert len(spare) == len(route.hops)
    assert all(value > 0 for _, value in spare)


def test_a_wire_brings_ground_only_where_nothing_else_does() -> None:
    """Two groups that do not touch: one wire with ground; networkx tells what hangs together by
    joints.
    """
    layout = wall(((0, 0), (1, 0), (5, 0), (6, 0)), groups="separate")
    wired = wire(layout, loads(layout), asking(), {"panel": design()})
    route = data_route(layout, wired.table, (), "one")
    graph = nx.Graph()
    graph.add_nodes_from(route.order)
    graph.add_edges_from((layout.joints[k].a, layout.joints[k].b) for k in wired.table.joined)
    (only,) = route.wires
    assert only.ground
    assert not nx.has_path(graph, only.sender, only.reader)


def test_a_large_wall_is_covered_too() -> None:
    layout = wall(random_cells(60, 7))
    wired = wire(layout, loads(layout, 5), asking(brightness=0.05), {"panel": design()})
    route = data_route(layout, wired.table, (), "one")
    assert sorted(route.order) == sorted(panel.name for panel in layout.panels)
    assert sum(hop.length_mm > 0 for hop in route.hops) == len(route.wires)


def test_with_a_controller_in_each_the_order_is_that_of_reading() -> None:
    layout = wall(NINE)
    wired = wire(layout, loads(layout), asking(), {"panel": design()})
    route = data_route(layout, wired.table, (), "each")
    assert route.order == tuple(panel.name for panel in layout.panels)
    assert not route.hops
