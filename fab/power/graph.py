"""The wall as a graph of panels with loads: what the zoning works on.

Panels are numbers here, 0 .. n-1.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

from fab.layout.model import Layout
from fab.power.model import Load

SLACK_A = 1e-9  # a zone may stand this far over its limit: rounding of sums


@dataclass(frozen=True)
class Graph:
    """Panels, what they draw, who is joined to whom, and who may carry an inlet."""

    names: tuple[str, ...]
    idle_a: tuple[float, ...]
    full_a: tuple[float, ...]
    links: tuple[tuple[int, ...], ...]
    usable: tuple[bool, ...]

    def __len__(self) -> int:
        return len(self.names)

    @cached_property
    def groups(self) -> tuple[tuple[int, ...], ...]:
        """Panels that hang together, each group in order."""
        return tuple(pieces(self, range(len(self))))

    @cached_property
    def depth(self) -> int:
        """Joints from the panel furthest from all inlets' panels to the nearest of those."""
        far = -1
        front = {i for i in range(len(self)) if self.usable[i]}
        seen = set(front)
        while front:
            far += 1
            front = {j for i in front for j in self.links[i]} - seen
            seen |= front
        return max(far, 0)

    def load(self, panels: Iterable[int], brightness: float) -> float:
        """Current that these panels draw together at a brightness of 0 to 1, A."""
        return math.fsum(self.idle_a[i] + brightness * self.full_a[i] for i in panels)

    def reach(self, panels: Collection[int], limit_a: float) -> float:
        """Brightness at which these panels draw `limit_a`; -1 when controllers alone draw more."""
        idle = math.fsum(self.idle_a[i] for i in panels)
        full = math.fsum(self.full_a[i] for i in panels)
        if idle > limit_a + SLACK_A:
            return -1.0
        return (limit_a - idle) / full if full > 0 else math.inf

    def part(self, panels: Sequence[int]) -> Graph:
        """The graph of some panels alone, renumbered in the given order."""
        at = {i: k for k, i in enumerate(panels)}
        return Graph(
            tuple(self.names[i] for i in panels),
            tuple(self.idle_a[i] for i in panels),
            tuple(self.full_a[i] for i in panels),
            tuple(tuple(at[j] for j in self.links[i] if j in at) for i in panels),
            tuple(self.usable[i] for i in panels),
        )


def graph_of(
    layout: Layout, loads: Sequence[Load], usable: Collection[str], pairs: Sequence[tuple[int, int]]
) -> Graph:
    """A layout as a graph over joints of two boards; `usable` may carry an inlet."""
    at = {panel.name: k for k, panel in enumerate(layout.panels)}
    links: list[list[int]] = [[] for _ in layout.panels]
    for a, b in pairs:
        links[a].append(b)
        links[b].append(a)
    return Graph(
        tuple(at),
        tuple(load.idle_a for load in loads),
        tuple(load.full_a for load in loads),
        tuple(tuple(sorted(others)) for others in links),
        tuple(name in usable for name in at),
    )


def pieces(graph: Graph, panels: Iterable[int]) -> list[tuple[int, ...]]:
    """The connected pieces that some panels fall into, by their first panel."""
    left = set(panels)
    found = []
    for first in sorted(left):
        if first not in left:
            continue
        left.discard(first)
        piece, stack = [first], [first]
        while stack:
            for j in graph.links[stack.pop()]:
                if j in left:
                    left.discard(j)
                    piece.append(j)
                    stack.append(j)
        found.append(tuple(sorted(piece)))
    return found


def holds_without(graph: Graph, zone: set[int], panel: int) -> bool:
    """True when a zone without one panel stays connected and keeps a place for an inlet."""
    if len(zone) < 2:
        return False
    if graph.usable[panel] and not any(graph.usable[i] for i in zone if i != panel):
        return False
    near = [j for j in graph.links[panel] if j in zone]
    if len(near) < 2:
        return True
    want, seen, stack = set(near[1:]), {near[0], panel}, [near[0]]
    while stack and want:
        for j in graph.links[stack.pop()]:
            if j in zone and j not in seen:
                seen.add(j)
                want.discard(j)
                stack.append(j)
    return not want
