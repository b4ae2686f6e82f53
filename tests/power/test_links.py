"""Jumpers: fewest inlets, then fewest jumpers, over any set of headers; resistances by a second
calculation.
"""

from __future__ import annotations

import itertools
import math
import random
from collections.abc import Iterable
from dataclasses import replace
from typing import Any

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fab.power.links import Links, Pole, every_header, fewest_links
from fab.power.ohms import joint_ohms
from fab.power.wire import wire

from .walls import NINE, asking, design, loads, no_loss, random_cells, second_opinion, splits, wall

POLE = Pole(0.05, 2.0)


def some_links(layout: Any, seed: Any, share: Any = 0.5, every: Any = False) -> Any:
    dice = random.Random(seed)
    whole = every_header(layout).mates
    mates = {k: mate for k, mate in whole.items() if dice.random() < share}
    rest = frozenset(whole) if every else frozenset(whole) - set(mates)
    return Links(mates, rest, {("panel", "panel"): POLE}, every)


def graph_of(layout: Any, joints: Any) -> Any:
    graph = nx.Graph([(layout.joints[k].a, layout.joints[k].b) for k in joints])
    graph.add_nodes_from(layout.by_name)
    return graph


@settings(max_examples=60, deadline=None)
@given(
    count=st.integers(2, 7),
    seed=st.integers(0, 100_000),
    sides=st.sampled_from([4, 6]),
    per_zone=st.integers(2, 5),
    share=st.sampled_from([0.3, 0.6, 0.9]),
)
def test_fewest_inlets_then_fewest_jumpers(
    count: int, seed: int, sides: int, per_zone: int, share: float
) -> None:
    """Headers that connect the wall or not; every split into zones is tried by brute force."""
    panel = no_loss(sides)
    layout = wall(random_cells(count, seed, sides), panel)
    links = some_links(layout, seed, share)
    power = asking(supply_a=(per_zone + 0.5) * (0.08 + 0.3 * 1.332), derate=1.0, cable_mm=0.0)
    wired = wire(layout, loads(layout, 37, panel), power, {"panel": panel}, links=links)
    whole, mated = graph_of(layout, range(len(layout.joints))), graph_of(layout, links.mates)
    able = {edge.panel for edge in layout.open_edges}
    good = [
        split
        for split in splits(list(layout.by_name))
        if all(
            len(zone) <= per_zone and zone & able and nx.is_connected(whole.subgraph(zone))
            for zone in split
        )
    ]
    fewest = min(map(len, good))
    assert len(wired.zones) == fewest
    assert nx.is_connected(graph_of(layout, wired.table.joined))
    assert set(wired.table.headers) == set(links.mates)
    if not nx.is_connected(mated):
        return  # then the jumpers between zones count as well, and are not proven fewest
    least = min(
        sum(nx.number_connected_components(mated.subgraph(zone)) - 1 for zone in split)
        for split in good
        if len(split) == fewest
    )
    assert len(wired.table.jumpers) == least


def test_a_header_missing_where_a_zone_needs_it_is_a_jumper() -> None:
    """Four in a row, one inlet for all: the middle joint, which nothing mates, gets the one
    jumper.
    """
    panel = design()
    layout = wall([(q, 0) for q in range(4)], panel)
    mates = {k: mate for k, mate in every_header(layout).mates.items() if k != 1}
    links = Links(mates, frozenset({1}), {("panel", "panel"): POLE})
    power = asking(brightness=0.05)
    wired = wire(layout, loads(layout), power, {"panel": panel}, links=links)
    assert [row.kind for row in wired.table.rows] == ["header", "jumper", "header"]
    assert wired.table.rows[1].supply
    assert wired.table.jumper_edges == {"B": (0,), "C": (3,)}
    never = wire(
        layout, loads(layout), power, {"panel": panel}, links=replace(links, jumpable=frozenset())
    )
    assert never.table.without == (1,)
    assert len(never.zones) == 2


def test_a_header_is_mated_by_the_second_panel_that_moves_to_the_first() -> None:
    layout = wall(NINE, turn_deg=17.0)
    mates = every_header(layout).mates
    assert sorted(mates) == list(range(len(layout.joints)))
    for k, mate in mates.items():
        a, b = layout.by_name[layout.joints[k].a], layout.by_name[layout.joints[k].b]
        assert mate.moves == b.name
        there = math.degrees(math.atan2(a.y - b.y, a.x - b.x)) % 360.0
        assert 0 <= mate.heading_deg < 360
        assert mate.heading_deg == pytest.approx(there)


@given(st.integers(2, 9), st.integers(0, 100_000), st.booleans())
@settings(max_examples=60)
def test_fewest_links_make_one_piece_of_each_zone_and_then_of_all(
    count: int, seed: int, zoned: bool
) -> None:
    """networkx: pieces of each zone less those that could be joined, then the same of the whole."""
    dice = random.Random(seed)
    pairs = dict(enumerate(itertools.combinations(range(count), 2)))
    pairs = {k: pair for k, pair in pairs.items() if dice.random() < 0.5}
    there = {k for k in pairs if dice.random() < 0.3}
    able = [k for k in pairs if k not in there and dice.random() < 0.7]
    zone_of = [dice.randrange(2) for _ in range(count)] if zoned else None
    chosen = fewest_links(count, pairs, there, able, zone_of)
    assert set(chosen) <= set(able)

    def pieces(joints: Iterable[int], inside: bool) -> int:
        graph = nx.Graph()
        graph.add_nodes_from(range(count))
        graph.add_edges_from(
            pairs[k]
            for k in joints
            if not inside or zone_of is None or len({zone_of[i] for i in pairs[k]}) == 1
        )
        return int(nx.number_connected_components(graph))

    for inside in (True, False):
        assert pieces([*there, *chosen], inside) == pieces([*there, *able], inside)
    within = pieces(there, True) - pieces([*there, *chosen], True)
    then = pieces([*there, *chosen[:within]], False) - pieces([*there, *able], False)
    assert len(chosen) == within + then


def test_a_jumper_everywhere_carries_all() -> None:
    """Every joint a jumper; volts as a second calculation finds them with the poles' resistance in
    place of the pins'.
    """
    panel = design()
    layout = wall(NINE, panel)
    links = some_links(layout, 1, every=True)
    power = asking()
    wired = wire(layout, loads(layout), power, {"panel": panel}, links=links)
    assert wired.table.jumpers == tuple(range(len(layout.joints)))
    assert wired.table.headers == ()
    as_pins = replace(panel, header=replace(panel.header, pin_ohm=POLE.ohm))
    rows = [
        {
            "number": row.joint + 1,
            "a": layout.joints[row.joint].a,
            "b": layout.joints[row.joint].b,
            "kind": "header" if row.supply else "header without supply",
        }
        for row in wired.table.rows
    ]
    volts, _, _ = second_opinion(layout, wired, power, as_pins, rows)
    assert wired.volts == pytest.approx(volts, abs=1e-9)


def test_a_poor_pole_limits_the_brightness() -> None:
    panel = design()
    layout = wall([(q, 0) for q in range(5)], panel)
    weak = Links({}, frozenset(range(4)), {("panel", "panel"): Pole(0.05, 0.7)}, True)
    one = asking(inlet=("A",), brightness=None, supply_a=9.0)
    wired = wire(layout, loads(layout), one, {"panel": panel}, links=weak)
    assert wired.possible_by == "pins"
    assert wired.hottest.pin_a <= 0.7
    assert wired.hottest.pin_limit_a == 0.7
    assert joint_ohms(panel, panel, Pole(0.05, 0.7)).pin_limit_a == 0.7
