"""Proven bounds of any split: fewest zones for a brightness, brightness of a number of zones."""

from __future__ import annotations

import math

from fab.power.graph import SLACK_A, Graph


def least_zones(graph: Graph, limit_a: float, brightness: float) -> int:
    """No split with fewer zones keeps every zone within `limit_a`.

    Per group of panels the larger of: its load over the limit; and for every load w, the number of
    panels that draw w or more over how many of those one inlet can feed.
    """
    total = 0
    for group in graph.groups:
        loads = sorted(
            (graph.idle_a[i] + brightness * graph.full_a[i] for i in group), reverse=True
        )
        need = max(1, math.ceil(math.fsum(loads) / (limit_a + SLACK_A) - 1e-9))
        for k, load in enumerate(loads):
            if k + 1 < len(loads) and loads[k + 1] == load:
                continue
            together = math.floor((limit_a + SLACK_A) / load) if load > 0 else len(loads)
            need = max(need, math.ceil((k + 1) / max(together, 1)))
        total += need
    return total


def most_brightness(graph: Graph, limit_a: float, zones: int) -> float:
    """Brightness that no split into `zones` zones can beat, by the supply; may be over 1.

    Some zone has at least n / zones panels, and some zone reaches from the innermost panel to one
    with room for an inlet; at best those are the panels that draw least.
    """
    n = len(graph)
    if zones < 1:
        return -1.0
    held = max(math.ceil(n / zones), graph.depth + 1)
    idle = math.fsum(sorted(graph.idle_a)[:held])
    full = math.fsum(sorted(graph.full_a)[:held])
    by_count = _reach(idle, full, limit_a)
    by_total = _reach(math.fsum(graph.idle_a), math.fsum(graph.full_a), zones * limit_a)
    return min(by_count, by_total)


def _reach(idle: float, full: float, limit_a: float) -> float:
    if idle > limit_a + SLACK_A:
        return -1.0
    return (limit_a - idle) / full if full > 0 else math.inf
