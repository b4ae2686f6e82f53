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
        "our words",
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
        "our words",
    ),
    (
        (
            "Look at the wall during its first hours: a panel, plug or joint that is too warm to"
            " keep a finger on means switch off and find out why."
        ),
        "common practice, no source",
    ),
    (
        (
            "Between zones the supply pins must be out of the header. Measure before the first"
            " switching on: no connection between the supply rails of two zones."
        ),
        "follows from the wiring list",
    ),
)
HEAT_IS_AN_ESTIMATE = (
    "An estimate: all supply power taken as heat, still air, no heat into the wall; single hot"
    " parts are warmer."
)
