"""Checks that what was put together face down survives the lift, as the wall room works it out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from fab.checks.model import Verdict, at_least, at_most, judge
from fab.layout.model import Layout
from fab.units import fixed
from fab.wall.carrier import BOARD_T, carrier
from fab.wall.lifting import LiftPlan

SOURCE = (
    "elementary statics of the worst straight line of joints; clip bars and header pins in bending,"
    " safety factor 2 (common practice, no source); brass from memory"
)
# one of two people lifts this at arm's length with care; common practice, no source
PERSON_G = 12_500.0


@dataclass(frozen=True)
class _Line:
    measured: float
    limit: float
    unit: str
    says: str


def lift_checks(layout: Layout, made: Sequence[LiftPlan]) -> list[Verdict]:
    """Verdicts `hang.lift`, one a piece: by hands, the load of its worst line of joints against
    what that line bears; on a carrying board, what two people carry, and that blocks hold the piece
    from below.
    """
    found: list[Verdict] = []
    for one in made:
        found += _on_board(layout, one) if one.board else [_by_hands(layout, one)]
    return found


def _by_hands(layout: Layout, one: LiftPlan) -> Verdict:
    hold, names = one.hold, one.lift.panels
    line = _worst(one)
    if not hold.joints:
        says = f"Panel {names[0]} has no joint that the lift could strain."
    else:
        joint = layout.joints[hold.joints[0]]
        says = (
            f"{line.says} at the line of joints through {joint.a}-{joint.b}, hands under"
            f" {', '.join(hold.hands)}: {fixed(line.measured, 1)} {line.unit} (maximum"
            f" {fixed(line.limit, 1)} {line.unit}, safety factor 2)."
        )
    return judge(
        "hang.lift",
        f"piece {names[0]}",
        at_most(line.measured, line.limit, line.unit),
        says,
        remedy=(
            'Set hang.lift = "board": the piece goes up on a carrying board, which'
            " wall/carrier-*.svg draws."
        ),
        source=SOURCE,
    )


def _worst(one: LiftPlan) -> _Line:
    """The moment or the shear, whichever uses more of what is borne."""
    hold = one.hold
    if not hold.joints:
        return _Line(0.0, 0.0, "N mm", "Bending moment")
    bending = hold.moment_nmm / hold.bears_nmm if hold.bears_nmm > 0 else math.inf
    shearing = hold.shear_n / hold.holds_n if hold.holds_n > 0 else math.inf
    if bending >= shearing:
        return _Line(hold.moment_nmm, hold.bears_nmm, "N mm", "Bending moment")
    return _Line(hold.shear_n, hold.holds_n, "N", "Load on the hooks of the clips")


def _on_board(layout: Layout, one: LiftPlan) -> list[Verdict]:
    names = one.lift.panels
    board = carrier(layout, names)
    wide, high = board.size
    grams = one.lift.grams + board.grams
    line = _worst(one)
    why = (
        f"Lifted by hand, its joints would carry {fixed(line.measured, 0)} {line.unit} (maximum"
        f" {fixed(line.limit, 0)} {line.unit}). "
        if one.hold.use > 1
        else ""
    )
    says = (
        f"{why}The piece goes up on a carrying board of {fixed(wide, 0)} x {fixed(high, 0)} x"
        f" {fixed(BOARD_T, 0)} mm: {fixed(grams / 1000, 1)} kg for two people (maximum"
        f" {fixed(2 * PERSON_G / 1000, 0)} kg)."
    )
    return [
        judge(
            "hang.lift",
            f"piece {names[0]}",
            at_most(grams / 1000, 2 * PERSON_G / 1000, "kg"),
            says,
            remedy="Lift with more people: one for each 12 kg.",
            source="common practice, no source",
            otherwise="warn",
        ),
        judge(
            "hang.lift",
            f"board of piece {names[0]}",
            at_least(board.steady_mm, 0.0),
            f"The middle of piece {names[0]} lies {fixed(board.steady_mm, 0)} mm inside the outer"
            f" ledge blocks of its carrying board. Ledge blocks in all: {len(board.blocks)}.",
            remedy="Hold the lower rim with two more hands until the piece hangs.",
            source="common practice, no source",
            otherwise="warn",
        ),
    ]
