"""A rule of the table of plan checks: a room in millimetres, measured from the plan alone, and how
much is needed.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from fab.checks.model import Bound, Verdict, judge
from fab.checks.remedy import SILENT, SIZE, Turn, remedy
from fab.params.designs import called, is_main
from fab.parts.given import has_own_board
from fab.parts.plan import Plan

PRACTICE = "common practice, no source"
Measure = Callable[[Plan], tuple[float, float]]
LARGER = Turn(SIZE, 1.0)
DEEPER = Turn("depth", 0.5)
HIGHER = Turn("board.height", 0.1)


@dataclass(frozen=True)
class Rule:
    """Passes when measured >= limit (`most`: <= limit).

    `says` is a label: a colon, the figure and its limit follow.
    """

    id: str
    says: str
    measure: Measure  # plan -> (measured, limit)
    turns: tuple[Turn, ...]
    when: Callable[[Plan], bool] = lambda plan: True
    gate: bool = False
    most: bool = False
    bare: bool = False  # the sentence stands without its figures
    unit: str = "mm"
    source: str = ""
    part: str = ""  # the part that the verdict is about; left out: the whole design

    def bound(self, plan: Plan) -> Bound:
        """Return figure and limit of a plan; one that fails where they can't be calculated."""
        try:
            measured, limit = self.measure(plan)
        except SILENT:
            measured, limit = (1.0, 0.0) if self.most else (-1.0, 0.0)
        return Bound(measured, limit, self.unit, self.most)

    def is_kept(self, plan: Plan) -> bool:
        """True when a plan keeps this rule, or need not."""
        return not self.when(plan) or self.bound(plan).holds


def judged(
    design: str,
    plan: Plan,
    rule: Rule,
    faults: Callable[[Plan], frozenset[str]],
    named: Mapping[str, Sequence[Turn]] | None = None,
) -> Verdict:
    """Return the verdict on one rule, its remedy found by trying.

    `faults` and `named`: what else fails for a plan, and what to turn for it (`remedy`).
    """
    bound, cure = rule.bound(plan), ""
    if not bound.holds:
        cure = remedy(design, plan, rule.turns, faults, rule.id, rule.is_kept, named)
    subject = rule.part or called(design)
    if rule.part and not is_main(design):
        subject = f"{rule.part} of {design}"
    says = rule.says if rule.bare else bound.sentence(rule.says)
    return judge(rule.id, subject, bound, says, remedy=cure, source=rule.source)


def has_usb(plan: Plan) -> bool:
    """The inlet is a USB Type-C receptacle."""
    return plan.params.inlet.kind == "usb-c"


def is_screwed(plan: Plan) -> bool:
    """Screws hold the shell."""
    return plan.params.shell.fixing == "screw"


def is_snapped(plan: Plan) -> bool:
    """Snaps hold the shell."""
    return plan.params.shell.fixing == "snap"


def is_pressed(plan: Plan) -> bool:
    """Edges can be pressed."""
    return plan.params.switch.on


def is_drawn(plan: Plan) -> bool:
    """The board is drawn here; `board.*` looks at one that was given."""
    return not has_own_board(plan.params) and not plan.params.board.none


def has_vents(plan: Plan) -> bool:
    """The floor has air slots."""
    return plan.params.base.vents


def on_feet(plan: Plan) -> bool:
    """The bases stand on feet."""
    return plan.params.base.feet > 0
