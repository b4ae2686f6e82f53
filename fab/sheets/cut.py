"""The passes of the beam on one sheet, in order, with their time.

Order: marks, then everything that lies inside something else (the deepest first: a part in the hole
of another before that hole), then the edges that free parts. Inside each group the way between cuts
is short, and it does not run over what has been cut free where another way exists.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import lru_cache

from fab.outlines.contour import Line, Outline, Point
from fab.outlines.kerf import kerf_compensated
from fab.params.shop import Laser, Stock
from fab.sheets.approach import Approach, led_in, tabbed
from fab.sheets.depth import Loop, depths
from fab.sheets.freed import Freed
from fab.sheets.leftover import rest_lines
from fab.sheets.model import Layup, Piece
from fab.sheets.passes import SURFACE, CutPlan, Operation, Pass
from fab.sheets.shared import shared_trails
from fab.sheets.tour import tour

# places to start a closed cut from: more shorten the travel by less than the width of the beam
_MOST_STARTS = 16


def cut_plan(layup: Layup, pieces: Sequence[Piece], laser: Laser, stock: Stock) -> CutPlan:
    """The order of work of one sheet. Options of the laser: lead-in, tabs, shared lines.

    Shared lines want a nest with gap 0; tabs and shared lines leave no lead-in on the edges they
    concern.
    """
    return _relabelled(_plan(_bare(layup), tuple(pieces), laser, stock), layup)


def _bare(layup: Layup) -> Layup:
    """Copies numbered from 1, so that equal sheets share one plan."""
    return replace(layup, placed=tuple(replace(p, copy=k + 1) for k, p in enumerate(layup.placed)))


def _relabelled(plan: CutPlan, layup: Layup) -> CutPlan:
    names = {f"{p.piece} {k + 1}": f"{p.piece} {p.copy}" for k, p in enumerate(layup.placed)}
    passes = tuple(
        replace(step, owner=", ".join(names.get(name, name) for name in step.owner.split(", ")))
        for step in plan.passes
    )
    return replace(plan, passes=passes)


@lru_cache(maxsize=64)
def _plan(layup: Layup, pieces: tuple[Piece, ...], laser: Laser, stock: Stock) -> CutPlan:
    by_name = {piece.name: piece for piece in pieces}
    cut = {p.piece: kerf_compensated(by_name[p.piece].outline, stock.kerf) for p in layup.placed}
    notes: list[str] = []
    loops = depths(_loops(layup, cut))
    inner = sorted({loop.depth for loop in loops if loop.depth > 0}, reverse=True)
    passes, crossed = _toured(_marks(layup, by_name, "engrave"), (0.0, 0.0))
    more, over = _toured(_marks(layup, by_name, "mark"), passes[-1].end if passes else (0.0, 0.0))
    passes, crossed = [*passes, *more], crossed + over
    approach = Approach(loops, layup.sheet, laser.inlet_lead, laser.tab, stock.kerf)
    for depth in inner:
        steps = [_ways(loop, "inner", approach) for loop in loops if loop.depth == depth]
        more, over = _toured(steps, _last(passes))
        passes, crossed = passes + more, crossed + over
    outer = [loop for loop in loops if loop.depth == 0]
    if laser.common_line:
        trails, saved = shared_trails(outer)
        steps = [_both_ways(Pass("outer", owner, segments)) for owner, segments in trails]
        if saved:
            notes.append(f"{saved:.0f} mm of shared lines: cut once, not twice")
    elif laser.tab > 0:
        steps = [
            _both_ways(Pass("outer", loop.owner, run))
            for loop in outer
            for run in tabbed(loop.contour, laser.tab, stock.kerf)
        ]
        notes.append(f"parts hang on {laser.tab:g} mm tabs: break them off and file the edge")
    else:
        steps = [_ways(loop, "outer", approach) for loop in outer]
    more, over = _toured(steps, _last(passes))
    passes, crossed = passes + more, crossed + over
    if laser.cut_rests:
        steps = [
            _both_ways(Pass("rest", "rest", run)) for run in rest_lines(layup, pieces, laser, stock)
        ]
        more, over = _toured(steps, _last(passes))
        passes, crossed = passes + more, crossed + over
    if approach.short:
        notes.append(
            f"{approach.short} cuts start without a full lead-in of {laser.inlet_lead:g} mm: "
            "too little waste beside them"
        )
    return _summed(passes, crossed, notes, laser, stock)


def _loops(layup: Layup, cut: Mapping[str, Outline]) -> list[Loop]:
    loops = []
    for item in layup.placed:
        outline = item.outline(cut[item.piece])
        owner = f"{item.piece} {item.copy}"
        loops += [Loop(owner, hole, True) for hole in outline.holes]
        loops.append(Loop(owner, outline.edge, False))
    return loops


def _marks(layup: Layup, pieces: Mapping[str, Piece], work: Operation) -> list[list[Pass]]:
    steps = []
    for item in layup.placed:
        piece = pieces[item.piece]
        for mark in piece.marks if work == "mark" else piece.engraved:
            line = tuple(item.point(point) for point in mark)
            step = Pass(work, f"{item.piece} {item.copy}", (), line)
            steps.append([step, Pass(work, step.owner, (), line[::-1])])
    return steps


def _ways(loop: Loop, operation: Operation, approach: Approach) -> list[Pass]:
    """A closed cut may start at any of its corners; where there are very many, at some, straight
    edges first.
    """
    segments = loop.contour.segments
    begins = list(range(len(segments)))
    if len(begins) > _MOST_STARTS:
        begins = [k for k in begins if isinstance(segments[k], Line)] or begins
        begins = begins[:: -(-len(begins) // _MOST_STARTS)]
    ways = [Pass(operation, loop.owner, segments[k:] + segments[:k]) for k in begins]
    return led_in(ways, loop, approach) if approach.lead_mm > 0 else ways


def _both_ways(step: Pass) -> list[Pass]:
    """An open cut may run either way; a closed trail keeps its start."""
    if step.closed:
        return [step]
    return [
        step,
        Pass(step.operation, step.owner, tuple(seg.reversed() for seg in reversed(step.segments))),
    ]


def _last(passes: Sequence[Pass]) -> Point:
    return passes[-1].end if passes else (0.0, 0.0)


def _toured(steps: Sequence[Sequence[Pass]], start: Point) -> tuple[list[Pass], int]:
    """The steps in a short order, and how many ways run over what this order has cut free."""
    stops = [[(way.start, way.end) for way in step] for step in steps]
    freed = Freed([step[0] for step in steps], stops)
    ways = tour(stops, start, freed)
    return [steps[k][door] for k, door in ways], freed.crossed(ways)


def _summed(
    passes: list[Pass], crossed: int, notes: list[str], laser: Laser, stock: Stock
) -> CutPlan:
    cut = math.fsum(step.length_mm for step in passes if step.operation not in SURFACE)
    mark = math.fsum(step.length_mm for step in passes if step.operation in SURFACE)
    at, travel = (0.0, 0.0), 0.0
    for step in passes:
        travel += math.dist(at, step.start)
        at = step.end
    pierces = sum(1 for step in passes if step.operation not in SURFACE)
    seconds = laser.time_factor * (
        cut / stock.cut_mm_s
        + mark / stock.mark_mm_s
        + pierces * stock.pierce_s
        + travel / laser.travel_mm_s
    )
    return CutPlan(tuple(passes), cut, mark, travel, pierces, seconds, crossed, tuple(notes))
