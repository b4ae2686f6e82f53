"""A given number of zones, as bright as the heuristics find.

1. Zones grow from places far apart, and pass panels on (`heuristic.grow`, `split`).
2. Turned round: how bright may a wall be that is fed by so few zones? The heuristic for the fewest
   zones is asked for
   brighter and brighter walls while it needs no more zones than given; where it needs fewer, zones
   are halved.

The brighter one of both is kept. How often the second is asked depends on the number of panels
alone, not on a clock.
"""

from __future__ import annotations

from collections.abc import Sequence

from fab.power.bounds import most_brightness
from fab.power.graph import SLACK_A, Graph
from fab.power.heuristic import few_zones, grow, spread
from fab.power.split import EPS, Split

EFFORT = 3_000  # panels looked at by all tries together
MOST_TRIES = 12

Zones = list[tuple[int, ...]]


def bright_zones(graph: Graph, limit_a: float, brightness: float, count: int) -> Zones:
    """`count` connected zones whose dimmest can shine as brightly as the heuristics find.

    `count` lies between the number of groups and the number of usable panels.
    """
    split = Split(graph, grow(graph, spread(graph, count), brightness), limit_a, brightness)
    split.level()
    split.relieve(4 * count + 20)
    best = split.zones()
    low, high = _reach(graph, limit_a, best), most_brightness(graph, limit_a, count)
    aim = high
    for _ in range(min(MOST_TRIES, EFFORT // len(graph))):
        if low < 0 or high - low < 1e-6:
            break
        found = _as_bright(graph, limit_a, aim, count)
        reach = -1.0 if found is None else _reach(graph, limit_a, found)
        if found is not None and reach > low + EPS:
            best, low = found, reach
        else:
            high = aim
        aim = (low + high) / 2
    return best


def _reach(graph: Graph, limit_a: float, zones: Sequence[Sequence[int]]) -> float:
    return min(graph.reach(zone, limit_a) for zone in zones)


def _as_bright(graph: Graph, limit_a: float, brightness: float, count: int) -> Zones | None:
    """`count` zones within the limit at a brightness; None when the heuristic finds none."""
    zones = few_zones(graph, limit_a, brightness)
    if len(zones) > count or any(
        graph.load(zone, brightness) > limit_a + SLACK_A for zone in zones
    ):
        return None
    return _halved(graph, zones, count)


def _halved(graph: Graph, zones: Zones, count: int) -> Zones:
    """As many zones as asked for: the largest are cut in two, as evenly as a tree allows."""
    done: Zones = []
    left = sorted(zones, key=lambda zone: (len(zone), zone))
    while left and len(left) + len(done) < count:
        zone = left.pop()
        if sum(graph.usable[i] for i in zone) < 2:
            done.append(zone)
            continue
        left = sorted([*left, *_cut(graph, zone)], key=lambda part: (len(part), part))
    return sorted([*left, *done])


def _cut(graph: Graph, zone: Sequence[int]) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Both sides of the tree edge that parts the zone most evenly, each with a place for an inlet.

    There is one: on the tree's way between two places for inlets every edge has one on each side.
    """
    inside, order, parent = set(zone), [zone[0]], {zone[0]: zone[0]}
    for i in order:
        for j in graph.links[i]:
            if j in inside and j not in parent:
                parent[j] = i
                order.append(j)
    below: dict[int, list[int]] = {i: [i] for i in order}
    for i in reversed(order[1:]):
        below[parent[i]] += below[i]
    able = sum(graph.usable[i] for i in zone)
    fit = [i for i in order[1:] if 0 < sum(graph.usable[j] for j in below[i]) < able]
    root = min(fit, key=lambda i: (abs(2 * len(below[i]) - len(zone)), i))
    side = set(below[root])
    return tuple(sorted(side)), tuple(sorted(inside - side))
