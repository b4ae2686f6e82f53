"""Order and feeding on every small wall: all polyhexes and all polyominoes of up to six cells,
against brute force.

The brute force shares no code with the program: ways by hulls of shapely, every sequence of joining
two pieces, every split into zones. The number of shapes is checked against published counts (OEIS
A000228 and A000105).
"""

from __future__ import annotations

import math
from functools import cache
from typing import Any

import networkx as nx
import pytest
from shapely.geometry import MultiPoint

from fab.decisions import outline
from fab.params.job import Job, LayoutParams, PowerParams
from fab.params.panel import BoardParams, HeaderParams, InletParams, LedParams, PanelParams  # type: ignore[attr-defined]
from fab.params.shop import Shop, Stock
from fab.wall.header_bound import most_headers
from fab.wall.order import pins_reach
from tests.cases import few
from tests.power.walls import splits

STEPS = {
    6: ((1, 0), (0, 1), (-1, 1), (-1, 0), (0, -1), (1, -1)),
    4: ((1, 0), (0, 1), (-1, 0), (0, -1)),
}
LARGE = [pytest.param(k, marks=pytest.mark.slow) for k in (4, 5, 6)]  # a minute and a half
COUNTS = {6: (1, 1, 3, 7, 22, 82), 4: (1, 1, 2, 5, 12, 35)}


def turned(cell: Any, sides: Any) -> Any:
    a, b = cell
    return (-b, a + b) if sides == 6 else (-b, a)


def mirrored(cell: Any, sides: Any) -> Any:
    a, b = cell
    return (b, a) if sides == 6 else (-a, b)


def named(cells: Any, sides: Any) -> Any:
    """One name for a shape in all its turns and mirrors."""
    found = []
    for start in (cells, [mirrored(c, sides) for c in cells]):
        now = list(start)
        for _ in range(sides):
            now = [turned(c, sides) for c in now]
            low = (min(a for a, _ in now), min(b for _, b in now))
            found.append(tuple(sorted((a - low[0], b - low[1]) for a, b in now)))
    return min(found)


@cache
def shapes(sides: Any, count: Any) -> Any:
    if count == 1:
        return (((0, 0),),)
    found = set()
    for cells in shapes(sides, count - 1):
        for a, b in cells:
            for da, db in STEPS[sides]:
                if (a + da, b + db) not in cells:
                    found.add(named([*cells, (a + da, b + db)], sides))
    return tuple(sorted(found))


@pytest.mark.parametrize("sides", [6, 4])
def test_the_number_of_shapes_is_the_published_one(sides: int) -> None:
    assert tuple(len(shapes(sides, n)) for n in range(1, 7)) == COUNTS[sides]


def job(sides: Any, cells: Any, per_zone: Any = 0) -> Any:
    """A wall whose supply feeds `per_zone` panels an inlet; hardly any resistance. 0: as many as
    there are.
    """
    panel = PanelParams(
        sides=sides,
        edge=69.3 if sides == 6 else 100.0,
        header=HeaderParams(pins=5, power_pins=1, ground_pins=2, pin_ohm=1e-6, pin_a=90.0),
        board=BoardParams(power_squares=0.0, controller_a=0.05),
        led=LedParams(least_v=1.0, full_a=1e-4),
        inlet=InletParams(kind="round", room=10.0),
    )
    power = PowerParams(
        supply_a=per_zone * 0.06 if per_zone else 90.0, derate=1.0, brightness=0.1, ambient_c=20.0
    )
    return Job(
        shop=Shop(stock={"opal-3": Stock()}),
        panel=panel,
        layout=LayoutParams(cells=cells),
        power=power,
    )


@cache
def mated_sets(sides: Any, cells: Any) -> Any:
    """Every set of joints that some sequence of pushes can mate.

    Pieces that nothing frees are laid in, and mate none.
    """
    known = outline(job(sides, cells))
    layout, reach = known.layout, pins_reach(known.plans["panel"])
    names = [panel.name for panel in layout.panels]
    by_name = {panel.name: panel for panel in layout.panels}

    @cache
    def blocked(m: Any, s: Any, heading: Any) -> Any:
        angle = math.radians(heading)
        back = (-reach * math.cos(angle), -reach * math.sin(angle))
        moving, still = by_name[m].corners, by_name[s].corners
        swept = MultiPoint([*moving, *((x + back[0], y + back[1]) for x, y in moving)]).convex_hull
        return swept.intersection(MultiPoint(still).convex_hull).area > 0.5

    @cache
    def ways(a: Any, b: Any) -> Any:
        """What a push of a against b can mate, and nothing."""
        facing: dict[Any, Any] = {}
        for k, joint in enumerate(layout.joints):
            for x, y, normal in (
                (joint.a, joint.b, joint.normal_deg),
                (joint.b, joint.a, joint.normal_deg + 180.0),
            ):
                if x in a and y in b:
                    facing.setdefault(round(normal % 360.0, 3) % 360.0, set()).add(k)
        if not facing:
            return None
        free = [
            frozenset(some)
            for heading, some in facing.items()
            if not any(blocked(m, s, heading) for m in a for s in b)
        ]
        return frozenset([frozenset(), *free])

    @cache
    def best(piece: Any) -> Any:
        """All sets that can be mated inside a piece, by its last joining of two parts."""
        if len(piece) == 1:
            return frozenset([frozenset()])
        first, *others = sorted(piece)
        found = set()
        for bits in range(1 << len(others)):
            a = frozenset([first, *(name for k, name in enumerate(others) if bits >> k & 1)])
            b = piece - a
            if not b:
                continue
            inner_a, inner_b = best(a), best(b)
            last = ways(a, b)
            if last is None or not inner_a or not inner_b:
                continue
            found |= {x | y | z for x in inner_a for y in inner_b for z in last}
        return frozenset(s for s in found if not any(s < t for t in found))

    return best(frozenset(names))


def parts_of(names: Any, layout: Any, joints: Any) -> Any:
    graph = nx.Graph([(layout.joints[k].a, layout.joints[k].b) for k in joints])
    graph.add_nodes_from(names)
    return graph


@pytest.mark.parametrize("sides", [6, 4])
@pytest.mark.parametrize("count", [2, 3, *LARGE])
def test_order_joins_all_and_mates_the_most(sides: int, count: int) -> None:
    for cells in shapes(sides, count):
        known = outline(job(sides, cells))
        layout, table = known.layout, known.wired.table
        every = mated_sets(sides, cells)
        names = list(layout.by_name)
        best = min(
            (nx.number_connected_components(parts_of(names, layout, some)) - 1, -len(some))
            for some in every
        )
        assert frozenset(table.headers) in every, cells
        assert (len(table.jumpers), -len(table.headers)) == best, cells
        assert nx.is_connected(parts_of(names, layout, table.joined))
        assert known.assembly.proven
        assert best[1] >= -most_headers(layout), cells


@pytest.mark.parametrize("sides", [6, 4])
@pytest.mark.parametrize("per_zone", few([2, 3, 4], 0))
@pytest.mark.parametrize("count", [3, *LARGE])
def test_fewest_inlets_then_fewest_jumpers(sides: int, count: int, per_zone: int) -> None:
    """Every split into zones over every set of headers that can be mated: none needs fewer of
    either.
    """
    for cells in shapes(sides, count):
        known = outline(job(sides, cells, per_zone))
        layout, wired = known.layout, known.wired
        names = list(layout.by_name)
        able = {edge.panel for edge in layout.open_edges}
        whole = parts_of(names, layout, range(len(layout.joints)))
        every = mated_sets(sides, cells)
        good = [
            split
            for split in splits(names)
            if all(
                len(zone) <= per_zone and zone & able and nx.is_connected(whole.subgraph(zone))
                for zone in split
            )
        ]
        fewest = min(map(len, good))
        assert len(wired.zones) == fewest, cells
        least = math.inf
        for some in every:
            graph = parts_of(names, layout, some)
            for split in good:
                if len(split) > fewest:
                    continue
                inside = sum(
                    nx.number_connected_components(graph.subgraph(zone)) - 1 for zone in split
                )
                merged = graph.copy()
                for zone in split:
                    nx.add_path(merged, sorted(zone))
                least = min(least, inside + nx.number_connected_components(merged) - 1)
            if not least:
                break
        assert len(wired.table.jumpers) == least, (cells, per_zone)
        supplied = parts_of(names, layout, [row.joint for row in wired.table.rows if row.supply])
        assert {frozenset(part) for part in nx.connected_components(supplied)} == {
            frozenset(zone.panels) for zone in wired.zones
        }
