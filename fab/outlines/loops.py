"""Loose lines and arcs, as drawing programs leave them, joined to outlines.

knot    ends of segments that lie nearer to each other than the tolerance: one point
double  a segment that lies on another; kept once
open    a run of segments that does not close
loop    a closed run; loops inside loops are holes by turns (an edge, its holes, parts inside those
        holes, ...)
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from fab.errors import Fault, InputError
from fab.outlines.contour import Arc, Contour, Line, Outline, Point, Segment
from fab.outlines.facets import facets
from fab.outlines.knots import Knots
from fab.units import JOIN_TOL_MM, fixed

# ends nearer than this belong together: half a usual kerf; drawing programs round to 0.01
JOIN_MM = 0.05
_CHORD_MM = 0.002  # a run of very many short lines may lose corners that matter less than this
_MANY = 5_000  # corners of one loop from which on that is tried
MOST_CORNERS = 100_000  # of one loop; more can't be offset and cut in reasonable time


@dataclass(frozen=True)
class Open:
    """A run that does not close: from where to where, and how long it is."""

    start: Point
    end: Point
    length_mm: float

    def __str__(self) -> str:
        gap = math.dist(self.start, self.end)
        return (
            f"an open line of {fixed(self.length_mm, 2)} mm from ({fixed(self.start[0], 2)},"
            f" {fixed(self.start[1], 2)}) to ({fixed(self.end[0], 2)}, {fixed(self.end[1], 2)}),"
            f" {fixed(gap, 3)} mm apart"
        )


@dataclass(frozen=True)
class Joined:
    """The closed loops found in loose lines, and what was left over or repaired."""

    outlines: tuple[Outline, ...]  # from lower left to upper right
    opens: tuple[Open, ...]
    doubles: tuple[Point, ...]  # middles of the segments that were dropped
    dust: int  # segments without length, dropped
    notes: tuple[str, ...] = ()


def join(segments: Iterable[Segment], tol_mm: float = JOIN_MM) -> Joined:
    """Outlines with holes from loose segments in any order and direction.

    Ends within `tol_mm` are made one. Doubles are dropped and told, open runs are told with their
    place and left out. Raises InputError for coordinates that are not finite, loops that cross
    themselves or each other, and loops of more than `MOST_CORNERS` corners.
    """
    given = list(segments)
    for seg in given:
        if not all(math.isfinite(v) for v in (*seg.start, *seg.end)):
            says = f"a line has an end that is not a number: {seg.start} to {seg.end}."
            raise InputError([Fault("", "", says, "Export the drawing again.")])
    kept = [seg for seg in given if seg.length_mm > JOIN_TOL_MM]
    dust = len(given) - len(kept)
    kept, doubles = _without_doubles(kept, tol_mm)
    # what meets exactly first, so that fine curves keep all their corners
    chains, loops = _chains(kept)
    knots = Knots(tol_mm)
    ends = [(knots.of(chain[0].start), knots.of(chain[-1].end)) for chain in chains]
    runs, closed = _runs(ends, chains, knots)
    opens = [
        Open(
            knots.point(a),
            knots.point(b),
            math.fsum(seg.length_mm for i in run for seg in chains[i]),
        )
        for run, a, b in runs
    ]
    loops += [
        _welded(
            [_run_from(chains[index], ends[index], start) for index, start in walk], knots, walk
        )
        for walk in closed
    ]
    found = [_loop(loop) for loop in loops if _may_enclose(loop)]
    made = [one for one in found if one is not None]
    notes = [note for _, note in made if note]
    if flat := len(loops) - len(made):
        notes.append(f"{flat} loop{'s' * (flat > 1)} without area dropped")
    opens.sort(key=lambda run: (run.start, run.end))
    return Joined(
        _nested([loop for loop, _ in made]), tuple(opens), tuple(doubles), dust, tuple(notes)
    )


Chain = list[Segment]
Walk = list[tuple[int, int]]  # (chain, knot it is entered from)


def _chains(segments: Sequence[Segment]) -> tuple[list[Chain], list[Chain]]:
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


def _run_from(chain: Chain, pair: tuple[int, int], start: int) -> Chain:
    """The chain, run from knot `start`."""
    return chain if pair[0] == start else [seg.reversed() for seg in reversed(chain)]


def _welded(parts: Sequence[Chain], knots: Knots, walk: Walk) -> Chain:
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


Ends = list[tuple[int, int]]


def _without_doubles(segments: list[Segment], tol_mm: float) -> tuple[list[Segment], list[Point]]:
    """One of all segments with the same ends and the same belly within the tolerance; the middles
    of the others.
    """
    coarse, fine = Knots(tol_mm), Knots(JOIN_TOL_MM)
    seen: dict[tuple[int, int, bool], list[float]] = {}
    kept: list[Segment] = []
    dropped: list[Point] = []
    for seg in segments:
        a, b = coarse.of(seg.start), coarse.of(seg.end)
        short = a == b
        if short:  # finer than the tolerance: only what is exactly the same is a double
            a, b = fine.of(seg.start), fine.of(seg.end)
        key, sign = ((a, b, short), 1.0) if a <= b else ((b, a, short), -1.0)
        belly = seg.bulge * sign if isinstance(seg, Arc) else 0.0
        if any(abs(belly - other) < 1e-3 for other in seen.get(key, ())):
            dropped.append(_middle(seg))
            continue
        seen.setdefault(key, []).append(belly)
        kept.append(seg)
    return kept, dropped


def _middle(seg: Segment) -> Point:
    if isinstance(seg, Arc):
        return seg.at(0.5)
    return ((seg.start[0] + seg.end[0]) / 2, (seg.start[1] + seg.end[1]) / 2)


def _runs(
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


def _may_enclose(segments: Sequence[Segment]) -> bool:
    """True when a closed run is more than a way there and back."""
    return len(segments) > 2 or (
        len(segments) == 2 and any(isinstance(seg, Arc) for seg in segments)
    )


def _loop(segments: Sequence[Segment]) -> tuple[Contour, str] | None:
    """A contour; one of very many short lines with fewer, and a note that says so.

    None when nothing is left of it.
    """
    note = ""
    if len(segments) > _MANY and all(isinstance(seg, Line) for seg in segments):
        import shapely

        ring = shapely.LinearRing([seg.start for seg in segments]).simplify(_CHORD_MM)
        corners = [(float(x), float(y)) for x, y in list(ring.coords)[:-1]]
        if len(corners) < 3:
            return None
        note = (
            f"a loop of {len(segments)} lines was reduced to {len(corners)} within {_CHORD_MM:g} mm"
        )
        segments = [Line(a, b) for a, b in zip(corners, (*corners[1:], corners[0]), strict=True)]
    if len(segments) > MOST_CORNERS:
        x, y = segments[0].start
        says = (
            f"a loop at {_place(x, y)} has {len(segments):,} corners; {MOST_CORNERS:,} can be cut."
        )
        raise InputError(
            [
                Fault(
                    "",
                    "",
                    says,
                    "Simplify the drawing: a laser follows nothing finer than 0.01 mm.",
                )
            ]
        )
    return Contour(tuple(segments)), note


def _nested(loops: Sequence[Contour]) -> tuple[Outline, ...]:
    """Loops sorted into edges and holes."""
    if not loops:
        return ()
    import shapely

    shapes = [shapely.polygons(facets(loop, outside=loop.area_mm2 > 0)) for loop in loops]
    for loop, shape in zip(loops, shapes, strict=True):
        if not shape.is_valid:
            says = (
                f"a loop whose box begins at {_place(*loop.box[:2])} crosses"
                f" itself{_crossing(shape)}."
            )
            raise InputError(
                [Fault("", "", says, "Move its corners there so that no line crosses another.")]
            )
    tree = shapely.STRtree(shapes)
    inside: list[list[int]] = [[] for _ in loops]
    for i, j in sorted(
        (int(i), int(j)) for i, j in tree.query(shapes, predicate="intersects").T if i < j
    ):
        one, other = (i, j) if shapes[i].area < shapes[j].area else (j, i)
        if shapes[other].contains(shapes[one]) or _mostly_inside(shapes[one], shapes[other]):
            inside[one].append(other)
        elif shapes[i].intersection(shapes[j]).area > 1e-6 * min(shapes[i].area, shapes[j].area):
            at = shapes[i].boundary.intersection(shapes[j].boundary).representative_point()
            says = f"two outlines cross at {_place(at.x, at.y)}."
            raise InputError([Fault("", "", says, "Combine or separate them in the drawing.")])
    holes: list[list[Contour]] = [[] for _ in loops]
    for j, around in enumerate(inside):
        for k in around:
            if len(around) == len(inside[k]) + 1:
                holes[k].append(loops[j])
    outlines = [
        Outline(loop, tuple(sorted(holes[k], key=lambda hole: hole.box)))
        for k, loop in enumerate(loops)
        if len(inside[k]) % 2 == 0
    ]
    return tuple(
        sorted(outlines, key=lambda outline: (outline.box[1], outline.box[0], outline.box))
    )


def _mostly_inside(small: Any, large: Any) -> bool:
    """Inside but for the facets of curves that touch."""
    return bool(small.intersection(large).area > (1 - 1e-4) * small.area)


def _place(x: float, y: float) -> str:
    return f"({fixed(x, 2)}, {fixed(y, 2)}) mm"


def _crossing(shape: Any) -> str:
    """The place where a ring is not simple, as the library names it: a word, then [x y]."""
    import shapely

    found = re.search(r"\[(\S+) (\S+)\]", shapely.is_valid_reason(shape))
    return f" at {_place(float(found[1]), float(found[2]))}" if found else ""
