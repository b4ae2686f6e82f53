"""The rules that a plan breaks."""

from __future__ import annotations

from fab.checks.rule import Rule
from fab.checks.rules import RULES
from fab.errors import PanejigError
from fab.parts.plan import Plan

# what a plan that can't be calculated raises
SILENT = (PanejigError, ValueError, ZeroDivisionError)


def faults(plan: Plan) -> frozenset[str]:
    """Ids of the rules that a plan breaks; those that can't be calculated count as broken."""
    broken: set[str] = set()
    for index, rule in enumerate(RULES):
        if rule.when(plan) and not holds(plan, rule):
            broken.add(rule.id)
            if rule.gate:
                return frozenset(broken | {later.id for later in RULES[index:]})
    return frozenset(broken)


def holds(plan: Plan, rule: Rule) -> bool:
    """True when a plan keeps a rule; False where it can't be calculated."""
    try:
        return enough(rule, *rule.measure(plan))
    except SILENT:
        return False


def enough(rule: Rule, measured: float, limit: float) -> bool:
    """True when a figure keeps its limit."""
    # NaN is never enough
    return measured <= limit + 1e-9 if rule.most else measured >= limit - 1e-9
