"""Checks that a board goes in one way only: every other turn, or its back up, meets something."""

from __future__ import annotations

import math
from collections.abc import Iterator

from fab.checks.boardmodel import PRACTICE, Finding, at, no_less
from fab.checks.boardplate import least_gap
from fab.checks.remedy import Turn
from fab.outlines.contour import Point
from fab.parts.board_source import BoardLayout
from fab.parts.oneway import LEAST_MM, PEG_LINES, SHIFT_MM, mark_of, posed, poses
from fab.parts.plan import Plan
from fab.units import fixed


def one_way(plan: Plan, layout: BoardLayout) -> Iterator[Finding]:
    """The pose that comes nearest to fitting, and whether the peg can be printed."""
    meets, name = min(
        (blocked_mm(plan, layout, k, back=back), name) for name, k, back in poses(plan.cell.sides)
    )
    yield Finding(
        "board.one-way",
        no_less(meets, LEAST_MM),
        f"In a wrong position ({name}) the board meets"
        f" {'the peg of its mark' if plan.fixings.mark is not None else 'the base wall'} by"
        f" {fixed(meets)} mm.",
        _moved(plan, layout),
        source=PRACTICE,
    )
    if plan.fixings.mark is not None:
        least = PEG_LINES * plan.printer.extrusion_width
        yield Finding(
            "board.mark-peg",
            no_less(plan.fixings.peg_d, least),
            f"Diameter of the peg of the mark at {at(plan.fixings.mark.at)}:"
            f" {fixed(plan.fixings.peg_d)} mm.",
            "Make that hole of the board larger.",
            (Turn("board.hole", 0.1),),
        )


def blocked_mm(plan: Plan, layout: BoardLayout, edges: int, *, back: bool) -> float:
    """Depth of a board laid another way in the base's wall or the mark's peg, mm."""
    n = plan.cell.sides
    edge = layout.outline.edge
    laid = edge.mirrored().turned(math.pi) if back else edge  # y for -y, as `posed` lays the holes
    laid = laid.turned(2 * math.pi * edges / n)
    out = -least_gap(plan.rings.base_inner, laid)[0]
    if plan.fixings.mark is None:
        return out
    peg, radius = plan.fixings.mark.at, plan.fixings.peg_d / 2
    meets = min(
        math.dist(posed(hole.at, n, edges, back=back), peg) + radius - hole.width / 2
        for hole in layout.holes
    )
    return max(out, meets)


def _moved(plan: Plan, layout: BoardLayout) -> str:
    """A hole that would make the board fit one way only when it is moved a little; tried."""
    holes: list[Point] = [hole.at for hole in layout.holes]
    for k, (x, y) in enumerate(holes):
        far = math.hypot(x, y)
        if far < SHIFT_MM:
            continue
        there = (x + y / far * SHIFT_MM, y - x / far * SHIFT_MM)
        found = mark_of([*holes[:k], there, *holes[k + 1 :]], plan.cell.sides)
        if found is not None and found.apart_mm - plan.fit("mark") >= LEAST_MM:
            return (
                f"Move the mounting hole at {at((x, y))} to {at(there)}: a peg of the base then"
                " goes through it."
            )
    return "Give the board three mounting holes or more, one of them out of line."
