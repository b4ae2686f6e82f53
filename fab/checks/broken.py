"""The rules that a plan breaks."""

from __future__ import annotations

from fab.checks.rules import RULES
from fab.parts.plan import Plan


def faults(plan: Plan) -> frozenset[str]:
    """Ids of the rules that a plan breaks; those that can't be calculated count as broken."""
    broken: set[str] = set()
    for index, rule in enumerate(RULES):
        if not rule.is_kept(plan):
            broken.add(rule.id)
            if rule.gate:
                return frozenset(broken | {later.id for later in RULES[index:]})
    return frozenset(broken)
