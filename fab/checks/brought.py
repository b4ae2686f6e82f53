"""Parts that a user adds: a board of their own, openings and additions.

One way into those checks.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from fab.checks.board import board_checks
from fab.checks.model import Verdict
from fab.checks.openings import opening_checks
from fab.layout.model import BaseKind
from fab.parts.given import base_is_worked, shell_is_worked
from fab.parts.plan import Plan

GATES = ("board.closed", "openings.shape")  # what no solid can be made of


def brought_checks(
    design: str,
    plan: Plan,
    kinds: Sequence[BaseKind] = (),
    faults: Callable[[Plan], frozenset[str]] = lambda plan: frozenset(),
) -> tuple[Verdict, ...]:
    """Verdicts `board.*` and `openings.*` of one design.

    `faults` tells what else fails for a plan.
    """
    inlets = sorted({kind.steps for kind in kinds if kind.inlet})  # its own edge 0, mounted round
    return (*board_checks(design, plan, inlets, faults), *opening_checks(design, plan, kinds))


def unbuildable(design: str, plan: Plan) -> tuple[Verdict, ...]:
    """Those of the verdicts without which no solid can be made, when they fail."""
    if not (
        plan.params.board.outline or base_is_worked(plan.params) or shell_is_worked(plan.params)
    ):
        return ()
    return tuple(v for v in brought_checks(design, plan) if v.id in GATES and v.verdict == "fail")
