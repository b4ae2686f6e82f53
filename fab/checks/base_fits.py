"""The fits in which the kinds of base differ: inlet, hanger, and the peg of the mark, measured."""

from __future__ import annotations

import math
from collections.abc import Sequence

from fab.checks import gaps
from fab.checks.fit_stated import as_stated, the_part
from fab.checks.model import Verdict, at_least, judge
from fab.outlines.contour import turn
from fab.parts.placed import Named
from fab.parts.plan import Plan
from fab.solids.cuts import cut_at
from fab.units import fixed


def of_base(plan: Plan, parts: Sequence[Named], subject: str) -> list[Verdict]:
    """The fits in which the kinds of base differ: inlet, hanger, and the peg of the mark."""
    found = []
    for one in parts:
        if one.part == "board" and plan.fixings.mark is not None:
            found.append(_mark(plan, parts, one, subject))
        if one.part == "inlet board":
            found.append(_inlet(plan, parts, one, subject))
        if one.part == "wall screw":
            found += _hanger(plan, parts, one, subject)
    return found


def _inlet(plan: Plan, parts: Sequence[Named], board: Named, subject: str) -> Verdict:
    z = (board.mesh.box[0][2] + board.mesh.box[1][2]) / 2
    a, b = cut_at(board.mesh, z), cut_at(the_part(parts, "base").mesh, z)
    readings = [
        ("sideways", gaps.travel(a, b, (0.0, 1.0))),
        ("sideways, the other way", gaps.travel(a, b, (0.0, -1.0))),
        ("inwards", gaps.travel(a, b, (-1.0, 0.0))),
    ]
    return as_stated(
        "fit.inlet", subject, readings, plan.fit("inlet"), "the inlet's board in its cradle"
    )


def _hanger(plan: Plan, parts: Sequence[Named], screw: Named, subject: str) -> list[Verdict]:
    """Shank in the slot, and the head over it."""
    import numpy as np

    z = plan.floor.top_z * 0.5
    a, b = cut_at(screw.mesh, z), cut_at(the_part(parts, "base").mesh, z)
    middle = a.segments.reshape(-1, 2).mean(axis=0)
    way = (
        next(iter(one.mesh.vertices[:, :2].mean(axis=0) for one in parts if one.part == "way"))
        - middle
    )
    down = way / np.linalg.norm(way)  # from the rest to the entry
    readings = [
        ("upwards", gaps.travel(a, b, (-down[0], -down[1]))),
        ("sideways", gaps.travel(a, b, (-down[1], down[0]))),
        ("sideways, the other way", gaps.travel(a, b, (down[1], -down[0]))),
    ]
    head = plan.params.hanger.head_d / 2 - (
        plan.params.hanger.screw_d / 2 + max(value for _, value in readings)
    )
    return [
        as_stated(
            "fit.hanger",
            subject,
            readings,
            plan.fit("hanger"),
            "the wall screw's shank in its slot",
        ),
        judge(
            "fit.hanger-holds",
            subject,
            at_least(head, 1.0),
            f"Overlap of the screw's head with the floor around the slot's end: {fixed(head, 2)}"
            " mm.",
            remedy="Use a screw with a larger head, and set panel.hanger.head_d to it.",
            source="a head that slips through lets the panel fall",
        ),
    ]


def _mark(plan: Plan, parts: Sequence[Named], board: Named, subject: str) -> Verdict:
    """The peg of the mark in its hole of the board, wherever the base was mounted to."""
    assert plan.fixings.mark is not None
    z, side = (
        (plan.heights.board_z + plan.heights.board_top_z) / 2,
        plan.fixings.peg_d / 2 + plan.fit("mark") + 0.3,
    )
    whole, drilled = cut_at(the_part(parts, "base").mesh, z), cut_at(board.mesh, z)
    readings = [("in all directions, because there is no peg", math.inf)]
    for k in range(plan.cell.sides):
        x, y = turn(plan.fixings.mark.at, -2 * math.pi * k / plan.cell.sides)
        box = ((x - side, y - side), (x + side, y + side))
        peg, hole = gaps.cropped(whole, *box), gaps.cropped(drilled, *box)
        if len(peg.segments):
            ways = {
                "to the right": (1.0, 0.0),
                "up": (0.0, 1.0),
                "to the left": (-1.0, 0.0),
                "down": (0.0, -1.0),
            }
            readings = [(name, gaps.travel(peg, hole, way)) for name, way in ways.items()]
            break
    return as_stated(
        "fit.mark",
        subject,
        readings,
        plan.fit("mark"),
        "the peg of the mark in its hole of the board",
    )
