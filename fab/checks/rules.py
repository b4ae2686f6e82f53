"""The table of plan checks: what must hold between the values of a design so that its parts can be
built at all.

Every rule measures a room in millimetres from the plan alone (no CAD kernel) and says how much is
needed. A gate stands before what can't be calculated without it. Order: outline, edge, heights,
fixings, bought parts, feet, print.
"""

from __future__ import annotations

from fab.checks.rule import Rule
from fab.checks.rules_bought import BOUGHT, FEET
from fab.checks.rules_edge import EDGE, OUTLINE
from fab.checks.rules_inside import FIXINGS, HEIGHTS
from fab.checks.rules_print import PRINT

RULES: tuple[Rule, ...] = (*OUTLINE, *EDGE, *HEIGHTS, *FIXINGS, *BOUGHT, *FEET, *PRINT)
