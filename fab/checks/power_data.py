"""Checks of data between panels: levels at each joint, pins that mate, parts that it reaches."""

from __future__ import annotations

import math
from collections.abc import Iterator

from fab.checks.model import Verdict, at_least, at_most, judge
from fab.layout.groups import connected
from fab.layout.model import Layout
from fab.params.designs import table_of
from fab.params.panel import HeaderParams
from fab.power.fed_wall import FedWall
from fab.power.limits import HIGH, LOW, MARGIN_V
from fab.power.model import Wired
from fab.power.pins import nearest_order, pin_order, stray_pins
from fab.power.remedies import cures
from fab.units import fixed


def logic(wall: FedWall) -> Iterator[Verdict]:
    """Data across every joint, both ways.

    Controllers talk at their own level; with one controller, LEDs send at their rails and read
    against theirs.
    """
    wired, power = wall.wired, wall.power
    worst, where, own = math.inf, "", power.logic_v if power.control == "each" else None
    for joint in (wall.layout.joints[k] for k in wired.table.joined):
        for sender, receiver in ((joint.a, joint.b), (joint.b, joint.a)):
            ground, span = wired.ground_v[receiver], wired.volts[receiver] if own is None else own
            sent = wired.ground_v[sender] + (wired.volts[sender] if own is None else own)
            high = sent - (ground + HIGH * span)
            low = ground + LOW * span - wired.ground_v[sender]
            if min(high, low) < worst - 1e-9:
                worst, where = min(high, low), f"{sender} to {receiver}"
    if not where:
        return
    yield judge(
        "power.logic",
        f"joint {where}",
        at_least(worst, MARGIN_V, "V"),
        (
            "Data that a panel sends at its own supply voltage"
            if own is None
            else f"Data of {fixed(own)} V between controllers"
        )
        + " is read by its neighbour with this margin.",
        remedy=cures(wall, "logic") if worst < MARGIN_V else "",
        source=(
            "input levels 0.7 and 0.3 of the supply, usual for LEDs and controllers, from memory;"
            " margin: practice"
        ),
    )


def pin_order_verdict(name: str, header: HeaderParams) -> Verdict:
    """The order of the pins, which must mate when any edge meets any other."""
    order, near = pin_order(header), nearest_order(header)
    key = table_of(name)
    remedy = ""
    if order is None and near is not None:
        remedy = (
            f"Set {key}.header.pins = {near[0]}, {key}.header.power_pins = {near[1]} and "
            f"{key}.header.ground_pins = {near[2]}."
        )
    if order is not None:
        says = f"Edges mate either way round: {', '.join(order)}."
    elif stray_pins(header):
        says = (
            "Pin k meets pin n + 1 - k of the neighbour: some pin would meet a pin of another"
            " kind, perhaps supply on ground."
        )
    else:
        says = "Supply and ground pins leave no pin for data."
    return judge(
        "power.pin-order",
        f"header of {key}",
        at_most(max(stray_pins(header), 0 if order else 1), 0, "pins"),
        says,
        remedy=remedy,
        source="the edge is mirror-symmetric, see fab/power/pins.py",
    )


def data_reach(wired: Wired, layout: Layout) -> Iterator[Verdict]:
    """Data from panel to panel, where blank covers or joints without a header stand between."""
    fed = list(wired.volts)
    parts = connected(fed, [(layout.joints[k].a, layout.joints[k].b) for k in wired.table.joined])
    if not wired.blank and len(parts) == len(layout.groups):
        return
    wanted = sum(any(name in wired.volts for name in group) for group in layout.groups)
    yield judge(
        "power.data-reach",
        "the wall",
        at_most(len(parts), wanted, "parts"),
        "Data does not pass a blank cover, nor a joint without header or jumper: each part of the"
        " wall needs its own data line.",
        remedy=(
            f"Lay the panels so that a chain of boards joins them, or bring data to {parts[-1][0]}"
            " too."
        ),
        source="a blank cover has no sockets",
        otherwise="warn",
    )
