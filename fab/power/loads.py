"""Currents of the panels."""

from __future__ import annotations

from collections.abc import Mapping

from fab.errors import Fault, InputError
from fab.layout.model import Layout
from fab.parts.leds import led_grid
from fab.parts.plan import Plan
from fab.power.model import Load

# Current classes of a USB Type-C supply at 5 V: default (USB 2.0, USB 3.x), 1.5 A, 3 A. Source: IEC
# 63002 clause 4.4 as quoted by its public preview; above 5 V or 3 A only by negotiation (IEC
# 62680-1-2).
USB_CLASSES_A = (0.5, 0.9, 1.5, 3.0)


def loads(
    layout: Layout, plans: Mapping[str, Plan], leds: Mapping[str, int] | None = None
) -> tuple[Load, ...]:
    """One load per panel, in the layout's order. `plans` and `leds` by the design's name.

    Blank covers draw nothing. `leds` overrides the number of LEDs on a design's board; left out,
    they are counted on its grid.
    """
    counts = {
        name: len(led_grid(plan)) if leds is None else leds[name] for name, plan in plans.items()
    }
    blank = {name for name, plan in plans.items() if plan.params.board.none}
    faults = [
        Fault(
            "panel.led",
            f'the board of design "{name}" has no LED',
            "Make led.margin or led.pitch smaller.",
        )
        for name in sorted({panel.design for panel in layout.panels})
        if counts[name] < 1 and name not in blank
    ]
    if faults:
        raise InputError(faults)
    found = []
    for panel in layout.panels:
        design = plans[panel.design].params
        many = 0 if panel.design in blank else counts[panel.design]
        idle = 0.0 if panel.design in blank else design.board.controller_a
        found.append(Load(panel.name, many, idle, many * design.led.full_a))
    return tuple(found)


def usb_class(wanted_a: float) -> float | None:
    """The smallest Type-C class that gives `wanted_a`; None above 3 A."""
    return next((step for step in USB_CLASSES_A if step >= wanted_a - 1e-9), None)
