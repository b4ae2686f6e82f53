"""The network against closed forms, published lattices, and other libraries."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import networkx as nx
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fab.power.network import Network, NetworkState, WallCircuit

from .walls import design, random_cells, wall


def resistance(nodes: int, edges: Any, a: int, b: int) -> float:
    """Between two nodes of 1 ohm edges: both rails are this graph, one ampere goes there and comes
    back.
    """
    ones = [1.0] * len(edges)
    state = Network(WallCircuit(nodes, edges, ones, ones, [(a, 0.0)], 100.0)).solve(
        [float(k == b) for k in range(nodes)]
    )
    assert state is not None
    assert state.residual_a < 1e-9
    return (100.0 - (state.supply_v[b] - state.ground_v[b])) / 2


def lattice(sides: int, size: int) -> Any:
    """A patch of panels as a graph: hexagons join as a triangular lattice, triangles as a
    honeycomb.
    """
    layout = wall([(a, b) for b in range(size) for a in range(size)], design(sides))
    at = {panel.name: k for k, panel in enumerate(layout.panels)}
    spot = {panel.lattice: k for k, panel in enumerate(layout.panels)}
    return len(at), [(at[joint.a], at[joint.b]) for joint in layout.joints], spot


@pytest.mark.slow
@pytest.mark.parametrize(
    ("sides", "away", "expected"),
    [
        # Atkinson and van Steenwijk, Am. J. Phys. 67 (1999) 486, table I; Cserti, Am. J. Phys. 68
        # (2000) 896
        (4, (1, 0), 1 / 2),
        (4, (1, 1), 2 / math.pi),
        (4, (2, 0), 2 - 4 / math.pi),
        # OEIS A355585, A355587 (triangular lattice)
        (6, (1, 0), 1 / 3),
        (6, (1, 1), 2 * math.sqrt(3) / math.pi - 2 / 3),
        (6, (2, 0), 8 / 3 - 4 * math.sqrt(3) / math.pi),
        # arXiv 1602.06002 (honeycomb: both rational, values from memory there; adjacent is 2 /
        # degree by Foster)
        (3, (1, 0), 2 / 3),
        (3, (2, 0), 1.0),
    ],
)
def test_a_large_patch_comes_near_the_infinite_lattice(
    sides: int, away: Any, expected: Any
) -> None:
    """In the limit: a patch of 51 x 51 is within 0.2 per cent, and a smaller one is further off."""
    errors = []
    for size in (17, 51):
        nodes, edges, spot = lattice(sides, size)
        middle = (size // 2, size // 2)
        there = (middle[0] + away[0], middle[1] + away[1])
        errors.append(abs(resistance(nodes, edges, spot[middle], spot[there]) - expected))
    assert errors[1] < 2e-3 * expected
    assert errors[1] < errors[0]


def test_a_torus_is_exactly_what_symmetry_says() -> None:
    """Edge-transitive and vertex-transitive: adjacent R = (n - 1) / edges (Foster 1949)."""
    size = 12
    node = lambda x, y: (y % size) * size + x % size  # noqa: E731
    square = [
        (node(x, y), node(x + dx, y + dy))
        for x in range(size)
        for y in range(size)
        for dx, dy in ((1, 0), (0, 1))
    ]
    triangular = square + [
        (node(x, y), node(x + 1, y - 1)) for x in range(size) for y in range(size)
    ]
    n = size * size
    assert resistance(n, square, 0, 1) == pytest.approx((n - 1) / (2 * n), abs=1e-9)
    assert resistance(n, triangular, 0, 1) == pytest.approx((n - 1) / (3 * n), abs=1e-9)


@pytest.mark.parametrize("n", [3, 6, 11])
def test_a_ring_is_two_ways_in_parallel(n: int) -> None:
    """k (n - k) / n: two chains side by side."""
    edges = [(k, (k + 1) % n) for k in range(n)]
    for k in range(1, n):
        assert resistance(n, edges, 0, k) == pytest.approx(k * (n - k) / n, abs=1e-12)


@pytest.mark.parametrize("cells", [1, 2, 3, 8])
def test_a_ladder_is_a_quotient_of_fibonacci_numbers(cells: int) -> None:
    """Series 1, shunt 1, n cells: F(2n+1) / F(2n): 2, 5/3, 13/8 (CRAN package ResistorArray,
    man/ladder.Rd).
    """
    fib = [0, 1]
    while len(fib) <= 2 * cells + 1:
        fib.append(fib[-1] + fib[-2])
    ground = cells + 1
    edges = [(k, k + 1) for k in range(cells)] + [(k + 1, ground) for k in range(cells)]
    assert resistance(cells + 2, edges, 0, ground) == pytest.approx(
        fib[2 * cells + 1] / fib[2 * cells], abs=1e-9
    )


@pytest.mark.parametrize(
    ("a", "b", "expected"), [(0, 1, 9 / 20), (1, 2, 11 / 20), (1, 3, 3 / 4), (1, 4, 4 / 5)]
)
def test_seven_panels_like_a_flower(a: int, b: int, expected: float) -> None:
    """Wheel of six spokes: hub to rim, and along the rim.

    Own hand calculation by star and triangle.
    """
    edges = [(0, k) for k in range(1, 7)] + [(k, k % 6 + 1) for k in range(1, 7)]
    assert resistance(7, edges, a, b) == pytest.approx(expected, abs=1e-12)


@settings(max_examples=25, deadline=None)
@given(count=st.integers(2, 14), seed=st.integers(0, 10_000), sides=st.sampled_from([3, 4, 6]))
def test_foster_and_networkx_agree_on_any_wall(count: int, seed: int, sides: int) -> None:
    """Sum over edges of R_eff / r = nodes - 1 (Foster 1949); each R_eff as networkx finds it."""
    layout = wall(random_cells(count, seed, sides), design(sides))
    at = {panel.name: k for k, panel in enumerate(layout.panels)}
    edges = [(at[joint.a], at[joint.b]) for joint in layout.joints]
    graph = nx.Graph(edges)
    found = [resistance(count, edges, a, b) for a, b in edges]
    assert sum(found) == pytest.approx(count - 1, abs=1e-9)
    for (a, b), ohm in zip(edges, found, strict=True):
        assert ohm == pytest.approx(nx.resistance_distance(graph, a, b), abs=1e-9)


def chain(count: int, link: float, feed: float, at: int = 0) -> Network:
    edges = list(pairwise(range(count)))
    share = [0.75 * link] * len(edges), [0.25 * link] * len(edges)
    return Network(WallCircuit(count, edges, *share, [(at, feed)], 5.0))


def lowest(network: Network, amperes: float, constant_power: bool = False) -> float:
    state = network.solve([amperes] * network.n, constant_power=constant_power)
    assert state is not None
    return float((state.supply_v - state.ground_v).min())


def test_a_chain_drops_as_the_sum_says() -> None:
    """r i N (N - 1) / 2 without the feed, r i N (N + 1) / 2 with it; fed in the middle r i h (h +
    1) / 2.
    """
    assert 5 - lowest(chain(10, 0.04, 0.0), 0.3) == pytest.approx(0.54, abs=1e-9)
    assert 5 - lowest(chain(10, 0.04, 0.04), 0.3) == pytest.approx(0.66, abs=1e-9)
    assert 5 - lowest(chain(11, 0.04, 0.0), 0.3) == pytest.approx(0.66, abs=1e-9)
    assert 5 - lowest(chain(11, 0.04, 0.0, at=5), 0.3) == pytest.approx(0.18, abs=1e-9)


def one_load(ohm: float, watts: float) -> NetworkState | None:
    """The state of one panel that takes `watts` behind `ohm` at 5 V; None: there is none."""
    network = Network(WallCircuit(1, [], [], [], [(0, ohm)], 5.0))
    return network.solve([watts / 5.0], constant_power=True)


MOST_V2 = 5.0**2 / 4  # of power times resistance, V^2


@given(ohm=st.floats(0.01, 1.0), share=st.floats(0.0, 0.99))
@settings(max_examples=40, deadline=None)
def test_one_constant_power_load_is_a_quadratic(ohm: float, share: float) -> None:
    """V = E / 2 + sqrt(E^2 / 4 - P R)."""
    state = one_load(ohm, share * MOST_V2 / ohm)
    assert state is not None
    volts = 2.5 + math.sqrt((1 - share) * MOST_V2)
    assert state.supply_v[0] - state.ground_v[0] == pytest.approx(volts, abs=1e-7)
    assert state.residual_a < 1e-9


@given(ohm=st.floats(0.01, 1.0), share=st.floats(1.001, 20.0))
@settings(max_examples=40, deadline=None)
def test_more_power_than_the_wire_can_pass_has_no_steady_state(ohm: float, share: float) -> None:
    """P R over E^2 / 4: the quadratic has no real root."""
    assert one_load(ohm, share * MOST_V2 / ohm) is None


def test_constant_power_loads_draw_their_power_everywhere() -> None:
    network = chain(10, 0.04, 0.04)
    state = network.solve([0.3] * 10, constant_power=True)
    assert state is not None
    assert (state.supply_v - state.ground_v) * state.load_a == pytest.approx([1.5] * 10, abs=1e-9)
    assert state.residual_a < 1e-9
    assert lowest(network, 0.3, True) < lowest(network, 0.3)
    assert network.solve([3.0] * 10, constant_power=True) is None


def test_two_zones_share_their_ground_and_only_that() -> None:
    """Two floating supplies: each gives what its own panels draw, though the grounds are joined."""
    edges = [(0, 1), (1, 2), (2, 3), (0, 3)]
    supply = [0.03, None, 0.03, None]
    state = Network(WallCircuit(4, edges, supply, [0.02] * 4, [(0, 0.1), (3, 0.1)], 5.0)).solve(
        [0.2, 0.3, 0.4, 0.5]
    )
    assert state is not None
    assert state.inlet_a == pytest.approx([0.5, 0.9], abs=1e-12)
    assert list(state.supply_a[[1, 3]]) == [0.0, 0.0]
    assert np.abs(state.ground_a).min() > 1e-3  # part of the return goes round by the other zone


def test_dense_and_sparse_agree(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same circuit by both solvers of linear equations, to 1e-10."""
    layout = wall(random_cells(60, 5))
    at = {panel.name: k for k, panel in enumerate(layout.panels)}
    edges = [(at[joint.a], at[joint.b]) for joint in layout.joints]
    circuit = WallCircuit(
        60, edges, [0.026] * len(edges), [0.016] * len(edges), [(0, 0.15), (40, 0.2)], 5.0
    )
    for constant_power in (False, True):
        volts = []
        for most in (10_000, 0):
            monkeypatch.setattr("fab.power.network.DENSE", most)
            state = Network(circuit).solve([0.05] * 60, constant_power=constant_power)
            assert state is not None
            volts.append(state.supply_v - state.ground_v)
        assert volts[0] == pytest.approx(volts[1], abs=1e-10)
