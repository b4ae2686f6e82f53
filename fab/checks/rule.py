"""A rule of the table of plan checks: a room in millimetres, measured from the plan alone, and how
much is needed.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from fab.checks.remedy import SIZE, Turn
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
