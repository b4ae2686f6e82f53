"""A jumper measured on the solids of both panels: room, way in, flush with the wall, length."""

from __future__ import annotations

import math
from collections.abc import Sequence

from fab.checks import gaps
from fab.checks.model import Verdict, at_least, at_most, judge
from fab.checks.vertical import TOUCH_MM, Solid2, above
from fab.parts.jumpersizes import WIRE_AIR, wire_length
from fab.parts.placed import Named
from fab.parts.plan import Plan
from fab.solids import kernel
from fab.solids.cuts import cut_at
from fab.units import fixed

WITHIN = 0.01  # mm: measured against stated
WAYS = ((1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0))
BESIDE = (
    "base",
    "board screw",
    "shell screw",
    "clip",
)  # none of these may come near plug or wires
FAULT = "This is an internal error or comes from a changed part: please report it."


def jumper(plan_a: Plan, plan_b: Plan, parts: Sequence[Named], subject: str) -> list[Verdict]:
    """Return the verdicts `fit.jumper-*` of one joint; `parts` as `jumper_parts` places them,
    whoever placed them.
    """
    found = []
    for side, plan in (("A", plan_a), ("B", plan_b)):
        where = f"{subject}, side {side}"
        base, row = _named(parts, f"{side} base", "base"), _named(parts, side, "pin row")
        plug, wires = _named(parts, side, "jumper plug"), _named(parts, side, "wire")
        found += _way_in(plan, base, plug, where)
        found.append(_flush(wires, where))
        found.append(_wires_free(parts, wires, where))
        found.append(_row_free(parts, row, side, where))
        found += _tails(parts, side, where)
        found.append(_under_board(parts, plug, side, where))
    found.append(_length(plan_a, plan_b, parts, subject))
    return found


def _way_in(plan: Plan, base: Named, plug: Named, where: str) -> list[Verdict]:
    """The plug goes through the opening, from the wall to its row, with room on all four sides."""
    deep, at = above(Solid2(base.mesh), Solid2(plug.mesh))
    foot = plug.mesh.box[0][2]
    floor = (plan.params.jumper.wire_d + 2 * WIRE_AIR + plan.floor.top_z) / 2
    shadow, hole = cut_at(plug.mesh, foot + 0.1), cut_at(base.mesh, floor)
    left = min(gaps.travel(shadow, hole, way) for way in WAYS)
    air = plan.params.jumper.air
    place = (
        f" at x {fixed(at[0], 1)}, y {fixed(at[1], 1)}, z {fixed(at[2], 1)}"
        if deep > TOUCH_MM
        else ""
    )
    return [
        judge(
            "fit.jumper-way",
            where,
            at_most(deep, TOUCH_MM),
            "Overlap of the base with the path of the plug, from the wall to its pin row:"
            f" {fixed(deep, 2)} mm{place}.",
            remedy=FAULT,
        ),
        judge(
            "fit.jumper-air",
            where,
            at_least(min(left, 99.0), air, tolerance=WITHIN),
            f"Gap between plug and opening: {fixed(min(left, 99.0), 2)} mm (minimum {fixed(air, 2)}"
            " mm).",
            remedy=FAULT,
        ),
    ]


def _flush(wires: Named, where: str) -> Verdict:
    low = wires.mesh.box[0][2]
    return judge(
        "fit.jumper-flush",
        where,
        at_least(low, WIRE_AIR / 2),
        f"Depth of the wires under the wall face: {fixed(low, 2)} mm (minimum"
        f" {fixed(WIRE_AIR / 2, 2)} mm).",
        remedy=(
            "Make the channel deeper: set panel.base.floor larger and panel.jumper.wire_d to your"
            " wire."
        ),
        source="a wire that stands out holds the panel off the wall",
    )


def _wires_free(parts: Sequence[Named], wires: Named, where: str) -> Verdict:
    """Nearest of bases, clips and screws to the wires."""
    others = [one for one in parts if one.part in BESIDE]
    left, name = min((kernel.distance_mm(wires.solid, one.solid), one.name) for one in others)
    return judge(
        "fit.jumper-wires",
        where,
        at_least(left, WIRE_AIR / 2),
        f"Gap between the wires and {name}: {fixed(left, 2)} mm (minimum {fixed(WIRE_AIR / 2, 2)}"
        " mm).",
        remedy=FAULT,
    )


def _row_free(parts: Sequence[Named], row: Named, side: str, where: str) -> Verdict:
    """The row beside sockets and tall parts of its own board."""
    others = [one for one in parts if one.name.startswith(side) and one.part in ("socket", "tall")]
    left, name = min(
        ((kernel.distance_mm(row.solid, one.solid), one.name) for one in others),
        default=(99.0, "none"),
    )
    return judge(
        "fit.jumper-socket",
        where,
        at_least(left, 0.2),
        f"Gap between the pin row and {name}: {fixed(left, 2)} mm (minimum 0.2 mm).",
        remedy=FAULT,
    )


def _tails(parts: Sequence[Named], side: str, where: str) -> list[Verdict]:
    """The tails on the board's face beside the LEDs."""
    tails = [one for one in parts if one.name.startswith(side) and one.part == "tail"]
    lit = [one for one in parts if one.name.startswith(side) and one.part == "led"]
    if not tails or not lit:
        return []
    left = kernel.distance_mm(tails[0].solid, lit[0].solid)
    return [
        judge(
            "fit.jumper-tails",
            where,
            at_least(left, 0.3),
            f"Gap between the tails of the pin row and the LEDs: {fixed(left, 2)} mm (minimum 0.3"
            " mm).",
            remedy="Change panel.led.pitch or panel.led.margin.",
        )
    ]


def _under_board(parts: Sequence[Named], plug: Named, side: str, where: str) -> Verdict:
    """A plug that is pushed home ends under the board and within the base's back."""
    board = _named(parts, f"{side} board", "board")
    top, foot = board.mesh.box[0][2] - plug.mesh.box[1][2], plug.mesh.box[0][2]
    left = min(top, foot)
    return judge(
        "fit.jumper-stack",
        where,
        at_least(left, 0.2),
        f"The plug ends {fixed(top, 2)} mm under the board and {fixed(foot, 2)} mm over the wall"
        " face (minimum 0.2 mm).",
        remedy="Set panel.board.height larger, or use a lower stack (panel.jumper.stack).",
    )


def _length(plan_a: Plan, plan_b: Plan, parts: Sequence[Named], subject: str) -> Verdict:
    """Length of the wires in place, by their volume, against the length to be made."""
    jumper = plan_a.params.jumper
    volume = sum(kernel.volume(one.solid) for one in parts if one.part == "wire")
    lies = volume / (plan_a.params.header.pins * math.pi * jumper.wire_d**2 / 4)
    made = wire_length(plan_a, plan_b)
    return judge(
        "fit.jumper-lies",
        subject,
        at_most(abs(lies - made), jumper.slack),
        f"Length of the wires in their channel: {fixed(lies, 1)} mm; length to cut:"
        f" {fixed(made, 1)} mm.",
        remedy=FAULT,
    )


def _named(parts: Sequence[Named], start: str, part: str) -> Named:
    return next(one for one in parts if one.part == part and one.name.startswith(start))
