"""Warnings that stand wherever power is spoken of.

The words are the project's own; sources beside them.
"""

from __future__ import annotations

CAUTIONS: tuple[tuple[str, str], ...] = (
    (
        (
            "Feed the wall only from an isolating safety extra-low voltage supply (SELV) that bears"
            " a safety mark; never from the mains itself, and never two supplies on one zone."
        ),
        "IEC 61140 (ELV: 120 V ripple-free DC at most) and IEC 60598-1 8.2.3, as quoted by others",
    ),
    (
        (
            "Anything on the mains side is work for a licensed electrician; local codes take"
            " precedence over this book."
        ),
        "own rule",
    ),
    (
        (
            "Put the fuse of the list, or a supply that limits its current, at the start of every"
            " inlet's cable: five volts at three amperes still heat a bad joint."
        ),
        "from memory",
    ),
    (
        (
            "Do not cover the panels, and keep them out of sun and away from heaters: the"
            " temperatures are estimates for free air in a still room."
        ),
        "own rule",
    ),
    (
        (
            "Look at the wall during its first hours: if a panel, plug or joint is too hot to"
            " touch, switch off and find the cause."
        ),
        "common practice, no source",
    ),
    (
        (
            "A header between two zones must not have its supply pins. Before you switch on for"
            " the first time, measure: there must be no connection between the supply rails of"
            " two zones."
        ),
        "follows from the wiring list",
    ),
)
HEAT_IS_AN_ESTIMATE = (
    "An estimate: all supply power becomes heat, in still air, with no heat into the wall; single"
    " hot parts are warmer."
)
