"""Segments that meet, as chains; chains that belong together, as open runs and closed walks."""

from __future__ import annotations

import math
from collections.abc import Sequence

from fab.outlines.contour import Arc, Line, Point, Segment
from fab.outlines.knots import Knots
from fab.units import JOIN_TOL_MM

Chain = list[Segment]
Walk = list[tuple[int, int]]  # (chain, knot it is entered from)
Ends = list[tuple[int, int]]


def chains_of(segments: Sequence[Segment]) -> tuple[list[Chain], list[Chain]]:
    """Segments that meet exactly, two by two, as chains; and those chains that close."""
    knots = Knots(JOIN_TOL_MM)
    ends = [(knots.of(seg.start), knots.of(seg.end)) for seg in segments]
    at: dict[int, list[int]] = {}
    for index, (a, b) in enumerate(ends):
        at.setdefault(a, []).append(index)
        at.setdefault(b, []).append(index)
    used = [False] * len(segments)
    chains: list[Chain] = []
    loops: list[Chain] = []

    def follow(index: int, knot: int) -> tuple[Chain, int]:
        """From `knot` along segment `index` until a knot where not exactly two meet, or until it
        closes.
        """
        chain, first = Chain(), knot
        while True:
            used[index] = True
            seg, there = segments[index], _far(ends[index], knot)
            chain.append(_set(seg, ends[index], knot, knots))
            following = [k for k in at[there] if not used[k]]
            if there == first or len(at[there]) != 2 or len(following) != 1:
                return chain, there
            index, knot = following[0], there

    for knot in sorted(k for k, lines in at.items() if len(lines) != 2):
        for index in at[knot]:
            if not used[index]:
                chains.append(follow(index, knot)[0])
    for index in range(len(segments)):
        if not used[index]:
            loops.append(follow(index, ends[index][0])[0])
    return chains, loops


def run_from(chain: Chain, pair: tuple[int, int], start: int) -> Chain:
    """The chain, run from knot `start`."""
    return chain if pair[0] == start else [seg.reversed() for seg in reversed(chain)]


def welded(parts: Sequence[Chain], knots: Knots, walk: Walk) -> Chain:
    """Chains whose ends belong together, with those ends put on their knots."""
    loop = Chain()
    for k, (part, (_, knot)) in enumerate(zip(parts, walk, strict=True)):
        begin, end = knots.point(knot), knots.point(walk[(k + 1) % len(walk)][1])
        for place, seg in enumerate(part):
            here = begin if place == 0 else (loop[-1].end if loop else seg.start)
            there = end if place == len(part) - 1 else seg.end
            if math.dist(here, there) > JOIN_TOL_MM:
                moved = here != seg.start or there != seg.end
                loop.append(
                    seg
                    if not moved
                    else (
                        Line(here, there)
                        if isinstance(seg, Line)
                        else _through(here, there, seg.sweep_rad)
                    )
                )
            elif isinstance(seg, Arc) and abs(seg.sweep_rad) > 3.0:
                loop.append(seg)
    return loop


def runs_of(
    ends: Ends, chains: Sequence[Chain], knots: Knots
) -> tuple[list[tuple[list[int], int, int]], list[Walk]]:
    """Open runs (chains, first knot, last knot) and closed walks.

    Runs that end in nothing are taken away first. What is left closes; where more than two lines
    meet, the walk turns left as sharply as it can, so that loops which touch at a corner stay
    apart.
    """
    at: dict[int, set[int]] = {}
    closed: list[Walk] = []
    for index, (a, b) in enumerate(ends):
        if a == b:
            closed.append([(index, a)])
            continue
        at.setdefault(a, set()).add(index)
        at.setdefault(b, set()).add(index)
    opens: list[tuple[list[int], int, int]] = []
    for first in sorted(k for k, lines in at.items() if len(lines) == 1):
        knot, run = first, list[int]()
        while len(at[knot]) == 1:
            index = next(iter(at[knot]))
            a, b = ends[index]
            at[a].discard(index)
            at[b].discard(index)
            run.append(index)
            knot = b if knot == a else a
        if run:
            opens.append((run, first, knot))
    for first in sorted(at):
        while at[first]:
            walk = _walk(first, at, ends, chains, knots)
            last = _far(ends[walk[-1][0]], walk[-1][1])
            if last == first:
                closed += _simple(walk, ends)
            else:
                opens.append(([index for index, _ in walk], first, last))
    return opens, closed


def _far(pair: tuple[int, int], knot: int) -> int:
    return pair[1] if knot == pair[0] else pair[0]


def _walk(
    first: int, at: dict[int, set[int]], ends: Ends, chains: Sequence[Chain], knots: Knots
) -> Walk:
    knot, back, walk = first, None, Walk()
    while at[knot] and not (walk and knot == first):
        here = knots.point(knot)
        index = min(
            at[knot], key=lambda k: (_bend(here, back, _beside(chains[k], ends[k], knot)), k)
        )
        at[ends[index][0]].discard(index)
        at[ends[index][1]].discard(index)
        walk.append((index, knot))
        knot = _far(ends[index], knot)
        back = _beside(chains[index], ends[index], knot)
    return walk


def _beside(chain: Chain, pair: tuple[int, int], knot: int) -> Point:
    """A point of the chain close to the end that lies on `knot`."""
    seg = chain[0] if pair[0] == knot else chain[-1].reversed()
    return seg.at(0.1) if isinstance(seg, Arc) else seg.end


def _bend(here: Point, back: Point | None, ahead: Point) -> float:
    """Angle that a branch bends to the right of the sharpest left turn, in (0, 2 pi]."""
    if back is None:
        return 0.0
    came = math.atan2(back[1] - here[1], back[0] - here[0])
    return (came - math.atan2(ahead[1] - here[1], ahead[0] - here[0])) % (
        2 * math.pi
    ) or 2 * math.pi


def _simple(walk: Walk, ends: Ends) -> list[Walk]:
    """A closed walk cut where it meets itself."""
    found: list[Walk] = []
    stack: Walk = []
    place: dict[int, int] = {}
    for index, knot in walk:
        place[knot] = len(stack)
        stack.append((index, knot))
        there = _far(ends[index], knot)
        if there in place:
            begin = place[there]
            found.append(stack[begin:])
            for _, gone in stack[begin:]:
                del place[gone]
            del stack[begin:]
    return found


def _set(seg: Segment, pair: tuple[int, int], start: int, knots: Knots) -> Segment:
    """The segment run from knot `start`, its ends put on the knots; an arc keeps its belly."""
    here, there = knots.point(start), knots.point(_far(pair, start))
    if isinstance(seg, Line):
        return Line(here, there)
    arc = seg if pair[0] == start else seg.reversed()
    if pair[0] == pair[1]:
        return arc
    return _through(here, there, arc.sweep_rad)


def _through(start: Point, end: Point, sweep_rad: float) -> Segment:
    """The arc from `start` to `end` with this sweep."""
    (ax, ay), (bx, by) = start, end
    if abs(sweep_rad) < 1e-6:
        return Line(start, end)
    # from the chord's middle to the centre, in chords, to the left
    rise = 1 / math.tan(sweep_rad / 2) / 2
    return Arc(
        start, ((ax + bx) / 2 - (by - ay) * rise, (ay + by) / 2 + (bx - ax) * rise), sweep_rad
    )
