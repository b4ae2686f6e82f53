"""Inlets and jumpers that need the same place in the floor of a base."""

from __future__ import annotations

from collections.abc import Sequence

from fab.checks.model import Verdict, at_most, judge


def inlet_jumper_check(clash: Sequence[str]) -> list[Verdict]:
    """Verdict `fit.inlet-jumper` on feet: panels whose inlet is at an edge with a jumper."""
    says = (
        "Panels whose inlet and jumper need the same place in the floor:"
        f" {', '.join(clash) or 'none'}."
    )
    cure = "In power.inlet, name panels that have an open edge without a jumper opening."
    return [
        judge(
            "fit.inlet-jumper", "wall", at_most(float(len(clash)), 0.0, "panels"), says, remedy=cure
        )
    ]
