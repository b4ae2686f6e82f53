"""Shared cut lines: where the straight edges of two parts lie on each other, the beam goes once.

Edges are split at every end that falls on them and each stretch is kept once. The stretches and the
arcs form a graph; it is cut in the fewest trails (half its odd knots each begin or end one), so
with the fewest piercings.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from fab.outlines.contour import Arc, Line, Point, Segment
from fab.outlines.knots import Knots
from fab.sheets.depth import Loop

SAME_MM = 2e-3  # lines nearer than this are one cut; a tenth of what the beam's width varies by


def shared_trails(loops: Sequence[Loop]) -> tuple[list[tuple[str, tuple[Segment, ...]]], float]:
    """Trails (owners, segments) that cut every edge of `loops` once, and the length saved, mm."""
    lines = [
        (seg, loop.owner)
        for loop in loops
        for seg in loop.contour.segments
        if isinstance(seg, Line)
    ]
    arcs = [
        (seg, loop.owner) for loop in loops for seg in loop.contour.segments if isinstance(seg, Arc)
    ]
    stretches = _merged(lines)
    saved = math.fsum(seg.length_mm for seg, _ in lines) - math.fsum(
        seg.length_mm for seg, _ in stretches
    )
    edges: list[tuple[Segment, frozenset[str]]] = [
        *stretches,
        *((arc, frozenset({owner})) for arc, owner in arcs),
    ]
    return _trails(edges), saved


def _merged(lines: Sequence[tuple[Line, str]]) -> list[tuple[Line, frozenset[str]]]:
    """Stretches of straight line, each once, with all who own it."""
    carriers: dict[tuple[int, int, int], list[tuple[float, float, Line, str]]] = {}
    for seg, owner in lines:
        angle = math.atan2(seg.end[1] - seg.start[1], seg.end[0] - seg.start[0]) % math.pi
        if math.pi - angle < 1e-7:
            angle = 0.0
        ux, uy = math.cos(angle), math.sin(angle)
        off = -seg.start[0] * uy + seg.start[1] * ux
        a, b = (p[0] * ux + p[1] * uy for p in (seg.start, seg.end))
        key = _carrier(carriers, round(angle * 1e5), off)
        carriers.setdefault(key, []).append((min(a, b), max(a, b), seg, owner))
    found: list[tuple[Line, frozenset[str]]] = []
    for items in carriers.values():
        found += _stretches(items)
    return found


def _carrier(
    carriers: dict[tuple[int, int, int], list[tuple[float, float, Line, str]]],
    angle: int,
    off: float,
) -> tuple[int, int, int]:
    """The known carrier line within SAME_MM of this one, or a new key."""
    cell = math.floor(off / SAME_MM)
    for near in (cell, cell - 1, cell + 1):
        for turn in (angle, angle - 1, angle + 1):
            if (turn, near, 0) in carriers:
                return (turn, near, 0)
    return (angle, cell, 0)


def _stretches(items: list[tuple[float, float, Line, str]]) -> list[tuple[Line, frozenset[str]]]:
    """Lines on one carrier, split at all ends, each stretch once."""
    reference = items[0][2]
    angle = (
        math.atan2(reference.end[1] - reference.start[1], reference.end[0] - reference.start[0])
        % math.pi
    )
    if math.pi - angle < 1e-7:
        angle = 0.0
    ux, uy = math.cos(angle), math.sin(angle)
    ends: list[tuple[float, Point]] = []
    for low, high, seg, _ in items:
        first, last = (
            (seg.start, seg.end)
            if seg.start[0] * ux + seg.start[1] * uy <= seg.end[0] * ux + seg.end[1] * uy
            else (seg.end, seg.start)
        )
        ends += [(low, first), (high, last)]
    ends.sort()
    cuts: list[tuple[float, Point]] = []
    for at, point in ends:
        if not cuts or at - cuts[-1][0] > SAME_MM:
            cuts.append((at, point))
    found = []
    for (low, a), (high, b) in pairwise(cuts):
        middle = (low + high) / 2
        owners = frozenset(owner for begin, end, _, owner in items if begin < middle < end)
        if owners:
            found.append((Line(a, b), owners))
    return found


def _trails(
    edges: Sequence[tuple[Segment, frozenset[str]]],
) -> list[tuple[str, tuple[Segment, ...]]]:
    """The fewest trails that use every edge once (Hierholzer, odd knots paired by bridges that are
    not cut).
    """
    knots = Knots(SAME_MM)
    ends = [(knots.of(seg.start), knots.of(seg.end)) for seg, _ in edges]
    links: dict[int, list[tuple[int, int]]] = {}
    for index, (a, b) in enumerate(ends):
        links.setdefault(a, []).append((index, b))
        links.setdefault(b, []).append((index, a))
    groups = _groups(links)
    found: list[tuple[str, tuple[Segment, ...]]] = []
    for group in groups:
        odd = [k for k in group if len(links[k]) % 2]
        bridge = len(edges)
        for a, b in _paired(odd, knots.points):
            links[a].append((bridge, b))
            links[b].append((bridge, a))
            bridge += 1
        for run in _split(_circuit(group[0] if not odd else odd[0], links), len(edges)):
            segments, owners = [], set[str]()
            for index, start in run:
                seg, who = edges[index]
                segments.append(seg if ends[index][0] == start else seg.reversed())
                owners |= who
            found.append(
                (", ".join(sorted(owners)), _joined(segments, knots.points, [s for _, s in run]))
            )
        for k in group:
            links[k] = [link for link in links[k] if link[0] < len(edges)]
    return found


def _groups(links: dict[int, list[tuple[int, int]]]) -> list[list[int]]:
    """Knots that hang together."""
    seen: set[int] = set()
    groups = []
    for first in sorted(links):
        if first in seen:
            continue
        group, todo = [], [first]
        seen.add(first)
        while todo:
            k = todo.pop()
            group.append(k)
            for _, other in links[k]:
                if other not in seen:
                    seen.add(other)
                    todo.append(other)
        groups.append(sorted(group))
    return groups


def _paired(odd: list[int], points: Sequence[Point]) -> list[tuple[int, int]]:
    """Odd knots in pairs, near ones together."""
    rest, pairs = sorted(odd, key=lambda k: points[k]), []
    while rest:
        a = rest.pop(0)
        b = min(rest, key=lambda k: (math.dist(points[a], points[k]), k))
        rest.remove(b)
        pairs.append((a, b))
    return pairs


def _circuit(start: int, links: dict[int, list[tuple[int, int]]]) -> list[tuple[int, int]]:
    """A closed walk over every link once, as (edge, knot it starts from)."""
    todo = {k: sorted(v, reverse=True) for k, v in links.items()}
    used: set[int] = set()
    stack: list[tuple[int, int, int]] = [(start, -1, -1)]
    walk: list[tuple[int, int]] = []
    while stack:
        knot, edge, came = stack[-1]
        while todo[knot] and todo[knot][-1][0] in used:
            todo[knot].pop()
        if todo[knot]:
            index, other = todo[knot].pop()
            used.add(index)
            stack.append((other, index, knot))
        else:
            stack.pop()
            if edge >= 0:
                walk.append((edge, came))
    return walk[::-1]


def _split(walk: list[tuple[int, int]], real: int) -> list[list[tuple[int, int]]]:
    """The walk cut at its bridges (edges numbered from `real` on)."""
    bridges = [k for k, (edge, _) in enumerate(walk) if edge >= real]
    if not bridges:
        return [walk] if walk else []
    turned = walk[bridges[0] + 1 :] + walk[: bridges[0] + 1]
    runs: list[list[tuple[int, int]]] = [[]]
    for edge, start in turned:
        if edge >= real:
            runs.append([])
        else:
            runs[-1].append((edge, start))
    return [run for run in runs if run]


def _joined(
    segments: Sequence[Segment], points: Sequence[Point], starts: Sequence[int]
) -> tuple[Segment, ...]:
    """Segments made to meet exactly: lines are drawn between the ends of what stands beside
    them.
    """
    out = list(segments)
    for k, seg in enumerate(out):
        if not isinstance(seg, Line):
            continue
        before = out[k - 1] if k else None
        after = out[k + 1] if k + 1 < len(out) else None
        begin = before.end if before is not None else seg.start
        finish = after.start if isinstance(after, Arc) else seg.end
        out[k] = Line(begin, finish)
    return tuple(out)
