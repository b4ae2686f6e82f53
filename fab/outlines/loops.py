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

from fab.errors import refused
from fab.outlines.chains import chains_of, run_from, runs_of, welded
from fab.outlines.contour import Arc, Contour, Line, Outline, Point, Segment
from fab.outlines.facets import facets
from fab.outlines.knots import Knots
from fab.units import JOIN_TOL_MM, fixed

# ends nearer than this belong together: half a usual kerf; drawing programs round to 0.01
JOIN_MM = 0.05
_CHORD_MM = 0.002  # a run of very many short lines may lose corners that matter less than this
_MANY = 5_000  # corners of one loop from which on that is tried
_BLOCK = 100  # loops that are compared at once with all others
MOST_PAIRS = 500_000  # of loops inside each other: a thousand rings in rings have as many
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
    themselves or each other, loops of more than `MOST_CORNERS` corners, and rings in rings of more
    than `MOST_PAIRS` pairs.
    """
    given = list(segments)
    for seg in given:
        if not all(math.isfinite(v) for v in (*seg.start, *seg.end)):
            says = f"a line has an end that is not a number: {seg.start} to {seg.end}."
            raise refused(says, "Export the drawing again.")
    kept = [seg for seg in given if seg.length_mm > JOIN_TOL_MM]
    dust = len(given) - len(kept)
    kept, doubles = _without_doubles(kept, tol_mm)
    # what meets exactly first, so that fine curves keep all their corners
    chains, loops = chains_of(kept)
    knots = Knots(tol_mm)
    ends = [(knots.of(chain[0].start), knots.of(chain[-1].end)) for chain in chains]
    runs, closed = runs_of(ends, chains, knots)
    opens = [
        Open(
            knots.point(a),
            knots.point(b),
            math.fsum(seg.length_mm for i in run for seg in chains[i]),
        )
        for run, a, b in runs
    ]
    loops += [
        welded([run_from(chains[index], ends[index], start) for index, start in walk], knots, walk)
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
        raise refused(says, "Simplify the drawing: a laser follows nothing finer than 0.01 mm.")
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
            raise refused(says, "Move its corners there so that no line crosses another.")
    inside: list[list[int]] = [[] for _ in loops]
    for i, j in sorted(_meeting(shapes)):
        one, other = (i, j) if shapes[i].area < shapes[j].area else (j, i)
        if shapes[other].contains(shapes[one]) or _mostly_inside(shapes[one], shapes[other]):
            inside[one].append(other)
        elif shapes[i].intersection(shapes[j]).area > 1e-6 * min(shapes[i].area, shapes[j].area):
            at = shapes[i].boundary.intersection(shapes[j].boundary).representative_point()
            says = f"two outlines cross at {_place(at.x, at.y)}."
            raise refused(says, "Combine or separate them in the drawing.")
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


def _meeting(shapes: Sequence[Any]) -> list[tuple[int, int]]:
    """Pairs of shapes of which one meets or holds the other; InputError for `MOST_PAIRS` and more.

    In blocks: rings in rings without end have more pairs than a computer has room for.
    """
    import shapely

    tree = shapely.STRtree(shapes)
    pairs: list[tuple[int, int]] = []
    for begin in range(0, len(shapes), _BLOCK):
        found = tree.query(shapes[begin : begin + _BLOCK], predicate="intersects").T
        pairs += [(begin + int(i), int(j)) for i, j in found if begin + i < j]
        if len(pairs) > MOST_PAIRS:
            says = f"more than {MOST_PAIRS:,} pairs of outlines lie inside each other."
            raise refused(says, "Draw fewer rings inside each other.")
    return pairs


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
