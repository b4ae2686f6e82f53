"""Checks that a board fits its panel, from the plan alone; every fault with place and amount."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from fab.checks import boardparts, boardplate, boardtall, oneway
from fab.checks.boardmodel import Finding, no_less
from fab.checks.model import Verdict, at_most, judge
from fab.checks.remedy import in_full, remedy
from fab.errors import BrokenGeometry, InputError
from fab.params.designs import called
from fab.parts.board_source import board_layout
from fab.parts.plan import Plan


def board_checks(
    design: str,
    plan: Plan,
    inlets: Sequence[int] = (),
    others: Callable[[Plan], frozenset[str]] = lambda plan: frozenset(),
) -> tuple[Verdict, ...]:
    """Verdicts `board.*` of one design; none for a blank cover.

    `inlets`: edges of the panel at which a base of this design has one. `others` tells the ids of
    other checks that fail for a plan: a remedy must not bring a new one.
    """
    if plan.params.board.none:
        return ()
    subject = called(design)
    verdicts = []
    for found in findings(plan, inlets):
        cure = ""
        if not found.bound.holds:
            cure = remedy(
                design, plan, found.turns, lambda p: others(p) | board_faults(p, inlets), found.id
            )
            cure = " ".join(part for part in (cure, found.hint) if part)
        verdicts.append(
            judge(found.id, subject, found.bound, found.says, remedy=cure, source=found.source)
        )
    notes = plan.params.board.notes
    if notes:
        says = f"The board's files were repaired on import: {'; '.join(notes[:5])}."
        cure = (
            f"Check board/outline.dxf, or repair {in_full(design, 'board.file', plan)} where it"
            " was drawn."
        )
        verdicts.append(
            judge(
                "board.cleaned",
                subject,
                at_most(len(notes), 0, ""),
                says,
                remedy=cure,
                otherwise="warn",
            )
        )
    return tuple(verdicts)


def board_faults(plan: Plan, inlets: Sequence[int] = ()) -> frozenset[str]:
    """Ids of what fails."""
    if plan.params.board.none:
        return frozenset()
    return frozenset(found.id for found in findings(plan, inlets) if not found.bound.holds)


def findings(plan: Plan, inlets: Sequence[int] = ()) -> list[Finding]:
    """Everything measured on a board, in a fixed order."""
    try:
        layout = board_layout(plan)
        assert layout is not None
    except InputError as error:
        says = " ".join(f"{fault.says} {fault.works}" for fault in error.faults)
        return [Finding("board.leds-room", no_less(0, 1, ""), says)]
    except BrokenGeometry as error:
        return [
            Finding(
                "board.closed",
                no_less(0, 1, ""),
                f"The board's outline cannot be used: {error}.",
                "Repair the file.",
            )
        ]
    found = [boardplate.simple(plan, layout)]
    if found[0].bound.holds:
        found += [
            boardplate.outline(plan, layout),
            *boardplate.mounting(plan, layout),
            *oneway.one_way(plan, layout),
        ]
        found += [
            *boardparts.sockets(plan, layout),
            *boardparts.leds_of(plan, layout),
            *boardparts.switches(plan, layout),
        ]
        found += [*boardtall.posts_at_inlets(plan, inlets), *boardtall.tall(plan, layout, inlets)]
    return found
