"""Zones for walls too large for the integer programme; `bounds` tells how far from the best.

1. Every panel that may carry an inlet starts a unit; the others join the unit beside them that
   draws least (`grow`).
   So each unit, and every union of units, can be fed.
2. Long spanning trees of the units are cut from the leaves up: whenever a subtree draws more than
   an inlet gives, its heaviest branches are cut off. On one tree this gives the fewest parts that
   exist (S. Kundu, J. Misra, "A linear tree partitioning algorithm", SIAM J. Comput. 6, 1977,
   151-154). Also, zones are peeled off one after the other, each starting where the fewest units
   are left beside it. Both are done with single panels too, and that counts where every zone
   happens to have a place for an inlet. The best of all these is kept.
3. Small zones are drained into their neighbours, and loads levelled (`split`).

For a given number of zones see `brighter`.
"""

from __future__ import annotations

import heapq
import math
from collections import deque
from collections.abc import Sequence

from fab.power.bounds import least_zones
from fab.power.graph import SLACK_A, Graph
from fab.power.split import Split


def few_zones(graph: Graph, limit_a: float, brightness: float) -> list[tuple[int, ...]]:
    """Connected zones within the limit at `brightness`, as few as the heuristic finds; balanced.

    Zones stand over the limit only where even one inlet on every usable panel does not help.
    """
    roots = [i for i in range(len(graph)) if graph.usable[i]]
    units = grow(graph, roots, brightness)
    if len(units) < len(graph):
        first = Split(graph, units, limit_a, brightness)
        first.relieve(2 * len(units))
        units = [list(unit) for unit in first.zones()]
    ways = _ways(graph, [[i] for i in range(len(graph))], limit_a, brightness)
    ways = [way for way in ways if all(any(graph.usable[i] for i in zone) for zone in way)]
    if len(units) < len(graph) or not ways:
        ways += _ways(graph, units, limit_a, brightness)
    best = min(ways, key=len)
    split = Split(graph, best, limit_a, brightness)
    _drain(split, least_zones(graph, limit_a, brightness))
    split = Split(graph, split.zones(), limit_a, brightness)
    split.level()
    split.relieve(2 * len(split.members))
    return split.zones()


def grow(graph: Graph, roots: Sequence[int], brightness: float) -> list[list[int]]:
    """One connected set per root; the set that draws least takes the next free panel beside it."""
    zones = [[root] for root in roots]
    of = dict(zip(roots, range(len(roots)), strict=True))
    fronts = [deque(graph.links[root]) for root in roots]
    loads = [graph.idle_a[root] + brightness * graph.full_a[root] for root in roots]
    heap = [(load, z) for z, load in enumerate(loads)]
    heapq.heapify(heap)
    while heap:
        _, z = heapq.heappop(heap)
        while fronts[z]:
            i = fronts[z].popleft()
            if i not in of:
                of[i] = z
                zones[z].append(i)
                fronts[z].extend(graph.links[i])
                loads[z] += graph.idle_a[i] + brightness * graph.full_a[i]
                heapq.heappush(heap, (loads[z], z))
                break
    return zones


def spread(graph: Graph, count: int) -> list[int]:
    """`count` usable panels, each the furthest from those before; groups get shares by load."""
    chosen: list[int] = []
    shares = _shares(graph, count)
    for group, share in zip(graph.groups, shares, strict=True):
        far = dict.fromkeys(group, math.inf)
        able = [i for i in group if graph.usable[i]]
        here = able[0]
        for _ in range(share):
            chosen.append(here)
            far[here], queue = 0.0, deque([here])
            while queue:
                i = queue.popleft()
                for j in graph.links[i]:
                    if far[i] + 1 < far[j]:
                        far[j] = far[i] + 1
                        queue.append(j)
            here = max(able, key=lambda i: (far[i], -i))
    return sorted(chosen)


def _shares(graph: Graph, count: int) -> list[int]:
    """Number of zones for each group: one, and the rest where a zone would draw most."""
    able = [sum(graph.usable[i] for i in group) for group in graph.groups]
    loads = [graph.load(group, 1.0) for group in graph.groups]
    shares = [1] * len(loads)
    heap = [(-load, g) for g, load in enumerate(loads)]
    heapq.heapify(heap)
    for _ in range(count - len(loads)):
        while heap and shares[heap[0][1]] >= able[heap[0][1]]:
            heapq.heappop(heap)
        if not heap:
            break
        _, g = heapq.heappop(heap)
        shares[g] += 1
        heapq.heappush(heap, (-loads[g] / shares[g], g))
    return shares


def _trees(units: int) -> int:
    """Number of spanning trees to try: many for small walls, one for huge ones."""
    return max(1, min(6, 3000 // max(units, 1)))


def _ways(
    graph: Graph, units: Sequence[Sequence[int]], limit_a: float, brightness: float
) -> list[list[list[int]]]:
    """Splits into unions of units, each within the limit where its units are."""
    links = _unit_links(graph, units)
    loads = [graph.load(unit, brightness) for unit in units]
    ways = [_peel(links, loads, limit_a)]
    ways += [_cut_trees(links, loads, limit_a, start) for start in range(_trees(len(units)))]
    return [[sorted(i for u in zone for i in units[u]) for zone in way] for way in ways]


def _unit_links(graph: Graph, units: Sequence[Sequence[int]]) -> list[list[int]]:
    of = {i: u for u, unit in enumerate(units) for i in unit}
    return [
        sorted({of[j] for i in unit for j in graph.links[i]} - {u}) for u, unit in enumerate(units)
    ]


def _peel(
    links: Sequence[Sequence[int]], loads: Sequence[float], limit_a: float
) -> list[list[int]]:
    """Step 2, peeling: sets of units."""
    free = [True] * len(links)
    left = [len(others) for others in links]
    heap = [(left[u], u) for u in range(len(links))]
    heapq.heapify(heap)
    zones = []

    def take(u: int) -> None:
        free[u] = False
        for v in links[u]:
            left[v] -= 1
            if free[v]:
                heapq.heappush(heap, (left[v], v))

    while heap:
        known, start = heapq.heappop(heap)
        if not free[start] or known != left[start]:
            continue
        zone, total = [start], loads[start]
        take(start)
        beside = {v for v in links[start] if free[v]}
        while beside:
            fitting = [v for v in beside if total + loads[v] <= limit_a + SLACK_A]
            if not fitting:
                break
            u = min(fitting, key=lambda v: (left[v], v))
            zone.append(u)
            total += loads[u]
            take(u)
            beside.discard(u)
            beside |= {v for v in links[u] if free[v]}
        zones.append(zone)
    return zones


def _cut_trees(
    links: Sequence[Sequence[int]], loads: Sequence[float], limit_a: float, start: int
) -> list[list[int]]:
    """Step 2, trees: a depth-first tree a group from the `start`-th best root, cut into sets."""
    seen = [False] * len(links)
    roots = sorted(range(len(links)), key=lambda u: (len(links[u]), u))
    roots = roots[start:] + roots[:start]
    zones: list[list[int]] = []
    for root in roots:
        if seen[root]:
            continue
        order, parent = _deep_first(links, root, seen)
        held = {u: [u] for u in order}
        rest: dict[int, float] = {}
        children: dict[int, list[int]] = {u: [] for u in order}
        for u in reversed(order):
            branches = sorted(children[u], key=lambda c: (rest[c], c))
            total = loads[u] + math.fsum(rest[c] for c in branches)
            while branches and total > limit_a + SLACK_A:
                cut = branches.pop()
                total -= rest[cut]
                zones.append(held[cut])
            rest[u] = total
            for c in branches:
                held[u] += held[c]
            above = parent[u]
            if above is None:
                zones.append(held[u])
            else:
                children[above].append(u)
    return zones


def _deep_first(
    links: Sequence[Sequence[int]], root: int, seen: list[bool]
) -> tuple[list[int], dict[int, int | None]]:
    """Depth-first order and parents; fewest free neighbours first, so that trees grow long."""
    order: list[int] = []
    parent: dict[int, int | None] = {root: None}
    seen[root] = True
    stack = [root]
    order.append(root)
    while stack:
        here = stack[-1]
        free = [j for j in links[here] if not seen[j]]
        if not free:
            stack.pop()
            continue
        there = min(free, key=lambda j: (sum(not seen[k] for k in links[j]), j))
        seen[there] = True
        parent[there] = here
        order.append(there)
        stack.append(there)
    return order, parent


def _drain(split: Split, least: int) -> None:
    """Step 3: empty the lightest zones into their neighbours while fewer zones can still exist."""
    alive = len(split.members)
    order = sorted(range(len(split.members)), key=lambda z: (split.load(z), z))
    for z in order[: max(20, len(order) // 4)]:
        if alive <= least:
            return
        before = list(split.of)
        while split.members[z] and split.pass_on(z, split.brightness, drain=True):
            pass
        if split.members[z]:
            for i, zone in enumerate(before):
                if split.of[i] != zone:
                    split.move(i, zone)
        else:
            alive -= 1
