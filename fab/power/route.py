"""The way of the data line through all boards, and the wires that it needs where no joint leads on.

    control = "each"   a controller in every panel: the line starts and ends on each board
    control = "one"    one controller: the line leaves a board through a joint, visits every board
    once,
                       and takes an extra wire where no joint leads to a board that it has not
                       visited

Fewest extra wires = fewest ways that share no board and cover all of them, less one. A search finds
few (`chains.py`). A choice of joints with at most two at each board and no closed ring is such a
cover; the integer programme takes as many joints as it can, which no way can beat, and is told of
each ring that it closes until it has none or the search has reached its bound. That is exact. On a
large wall it is asked once: `at_least` tells the bound, and the way may need more wires than that.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from fab.integers import Row, least
from fab.layout.groups import Parts
from fab.layout.joint_table import JointTable
from fab.layout.model import Layout
from fab.power.chains import few_chains

ROUNDS, NODES = 80, 2_000  # how often rings are told; nodes of each search tree
MOST_EXACT = 80  # panels above which no ring is told
Pair = tuple[int, int]


@dataclass(frozen=True)
class Hop:
    """One step of the data line from panel to panel."""

    sender: str
    reader: str
    joint: int | None  # index into the layout's joints; None: an extra wire
    length_mm: float  # of the wire, straight from middle to middle; 0 through a joint
    ground: bool  # the wire must bring ground too: nothing else joins the two boards' ground


@dataclass(frozen=True)
class DataRoute:
    """The order in which the LEDs of a wall are counted, and how data gets from board to board."""

    control: str  # "each" or "one"
    order: tuple[str, ...]  # panels with a board; in reading order with a controller in each
    hops: tuple[Hop, ...]  # none with a controller in each
    at_least: int  # extra wires that no way does without

    @property
    def proven(self) -> bool:
        """True when no route needs fewer extra wires."""
        return len(self.wires) <= self.at_least

    @property
    def wires(self) -> tuple[Hop, ...]:
        """The hops that need an extra wire."""
        return tuple(hop for hop in self.hops if hop.joint is None)


def data_route(layout: Layout, table: JointTable, blank: Sequence[str], control: str) -> DataRoute:
    """Return the data line's way over joints of two boards; blank covers have none."""
    names = [panel.name for panel in layout.panels if panel.name not in set(blank)]
    if control == "each" or not names:
        return DataRoute(control, tuple(names), (), 0)
    at = {name: k for k, name in enumerate(names)}
    joint_of: dict[Pair, int] = {}
    for k in table.joined:
        joint = layout.joints[k]
        a, b = sorted((at[joint.a], at[joint.b]))
        joint_of.setdefault((a, b), k)
    chains, fewest = cover(len(names), sorted(joint_of))
    middles = [(layout.by_name[name].x, layout.by_name[name].y) for name in names]
    line = chained(chains, middles)
    grounded = Parts(len(names))
    for a, b in joint_of:
        grounded.join(a, b)
    hops = []
    for a, b in pairwise(line):
        known = joint_of.get((min(a, b), max(a, b)))
        far = 0.0 if known is not None else math.dist(middles[a], middles[b])
        hops.append(Hop(names[a], names[b], known, far, grounded.join(a, b)))
    return DataRoute(control, tuple(names[k] for k in line), tuple(hops), fewest - 1)


def cover(count: int, pairs: Sequence[Pair]) -> tuple[list[list[int]], int]:
    """Return chains of 0 .. count - 1 along `pairs`, each visited once, and their least number."""
    if not pairs:
        return [[i] for i in range(count)], count
    rows: list[Row] = []
    for i in range(count):
        factors = {k: 1.0 for k, pair in enumerate(pairs) if i in pair}
        if len(factors) > 2:
            rows.append((factors, 0.0, 2.0))
    best: list[list[int]] | None = None
    fewest = 1
    for _ in range(ROUNDS if count <= MOST_EXACT else 1):
        ones = [1.0] * len(pairs)
        answer = least(
            [-1.0] * len(pairs), [0.0] * len(pairs), ones, len(pairs), rows, gap=0.0, nodes=NODES
        )
        if math.isfinite(answer.bound):
            fewest = max(fewest, count + math.ceil(answer.bound - 1e-6))
        best = few_chains(count, pairs, fewest) if best is None else best
        if len(best) <= fewest or not answer.values:
            break
        chosen = [pair for pair, value in zip(pairs, answer.values, strict=True) if value > 0.5]
        rings = _rings(count, chosen)
        if not rings:
            found = _chains(count, chosen)
            best = min(best, found, key=len)
            break
        for ring in rings:
            inside = set(ring)
            factors = {k: 1.0 for k, (a, b) in enumerate(pairs) if a in inside and b in inside}
            rows.append((factors, 0.0, len(ring) - 1.0))
    assert best is not None
    return best, fewest


def _beside(count: int, chosen: Sequence[Pair]) -> list[list[int]]:
    beside: list[list[int]] = [[] for _ in range(count)]
    for a, b in chosen:
        beside[a].append(b)
        beside[b].append(a)
    return beside


def _chains(count: int, chosen: Sequence[Pair]) -> list[list[int]]:
    """The chains of a choice without rings, each from its lower end, in the order of these."""
    beside, seen, found = _beside(count, chosen), [False] * count, []
    for i in range(count):
        if not seen[i] and len(beside[i]) <= 1:
            found.append(_walked(beside, seen, i))
    return found


def _walked(beside: Sequence[Sequence[int]], seen: list[bool], start: int) -> list[int]:
    """The points from one on, each beside the last and not `seen` before; they are seen then."""
    line = [start]
    seen[start] = True
    while onward := [j for j in beside[line[-1]] if not seen[j]]:
        line.append(onward[0])
        seen[onward[0]] = True
    return line


def _rings(count: int, chosen: Sequence[Pair]) -> list[list[int]]:
    """The closed rings of a choice with at most two pairs at each point."""
    beside, seen, rings = _beside(count, chosen), [False] * count, []
    for chain in _chains(count, chosen):
        for i in chain:
            seen[i] = True
    for i in range(count):
        if not seen[i] and beside[i]:
            rings.append(_walked(beside, seen, i))
    return rings


def chained(chains: Sequence[Sequence[int]], places: Sequence[tuple[float, float]]) -> list[int]:
    """Return all chains as one line, nearest free end next, from the best start."""
    if not chains:
        return []
    best: tuple[float, list[int]] | None = None
    starts = [(k, back) for k in range(len(chains)) for back in (False, True)]
    for first, flipped in starts[:64]:  # more starts than these are not tried
        line = list(reversed(chains[first])) if flipped else list(chains[first])
        left = [k for k in range(len(chains)) if k != first]
        far = 0.0
        while left:
            ends = [
                (math.dist(places[line[-1]], places[chains[k][end]]), k, end)
                for k in left
                for end in (0, -1)
            ]
            gap, k, end = min(ends, key=lambda item: (round(item[0], 6), item[1], -item[2]))
            line += chains[k] if end == 0 else list(reversed(chains[k]))
            far += gap
            left.remove(k)
        if best is None or far < best[0] - 1e-6:
            best = (far, line)
    assert best is not None
    return best[1]


def hop_levels(
    route: DataRoute,
    volts: Mapping[str, float],
    ground_v: Mapping[str, float],
    high: float,
    low: float,
) -> list[tuple[Hop, float]]:
    """Return each hop with its signal's reserve, V: sent and read at the two panels' rails."""
    found = []
    for hop in route.hops:
        ground, span = ground_v[hop.reader], volts[hop.reader]
        rail = ground_v[hop.sender] + volts[hop.sender]
        spare = min(rail - (ground + high * span), ground + low * span - ground_v[hop.sender])
        found.append((hop, spare))
    return found
