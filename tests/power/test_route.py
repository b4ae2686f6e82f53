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

from fab.power.chains import few_chains
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
    chains, at_least = cover(count, sorted(pairs))
    assert len(chains) == at_least
    assert sorted(i for chain in chains for i in chain) == list(range(count))
    for chain in chains:
        assert all((min(a, b), max(a, b)) in pairs for a, b in itertools.pairwise(chain))
    assert len(chains) == fewest(count, pairs)


@given(st.integers(1, 6), st.integers(0, 100_000))
@settings(max_examples=60)
def test_the_search_alone_covers_all_points_and_its_bound_is_none(count: int, seed: int) -> None:
    """Brute force: never fewer than there must be, and one more at the most on so few points."""
    dice = random.Random(seed)
    pairs = {(a, b) for a in range(count) for b in range(a + 1, count) if dice.random() < 0.4}
    chains = few_chains(count, sorted(pairs), 1)
    assert sorted(i for chain in chains for i in chain) == list(range(count))
    for chain in chains:
        assert all((min(a, b), max(a, b)) in pairs for a, b in itertools.pairwise(chain))
    assert fewest(count, pairs) <= len(chains) <= fewest(count, pairs) + 1


@pytest.mark.parametrize(("wide", "high"), [(15, 14), (20, 16)])
def test_a_large_block_is_visited_without_a_wire(wide: int, high: int) -> None:
    """A way row by row, to and fro, needs none: so a wire would be one too many."""
    graph = nx.convert_node_labels_to_integers(
        nx.triangular_lattice_graph(high, 2 * wide), ordering="sorted"
    )
    chains, at_least = cover(len(graph), sorted(tuple(sorted(edge)) for edge in graph.edges))
    assert len(chains) == at_least == 1


def test_a_large_tree_needs_as_many_as_its_leaves_tell() -> None:
    """The greedy rule from the leaves up is exact on trees: S. E. Goodman, S. T. Hedetniemi, On the
    Hamiltonian completion problem (1974), from memory.
    """
    tree = nx.random_labeled_tree(300, seed=4)
    chains, at_least = cover(300, sorted(tuple(sorted(edge)) for edge in tree.edges))
    assert at_least == by_the_tree(tree)
    assert at_least <= len(chains) <= at_least + 1


def by_the_tree(tree: nx.Graph) -> int:
    """Fewest chains of a tree, from the leaves up: a point takes one or two free ends below it."""
    free: dict[int, int] = {}
    joined = 0
    for point in nx.dfs_postorder_nodes(tree, 0):
        below = [one for one in tree[point] if free.get(one)]
        joined += min(len(below), 2)
        free[point] = len(below) < 2
    return len(tree) - joined


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
