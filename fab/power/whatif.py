"""The gain of more or fewer inlets: one row per number of inlets."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from fab.layout.model import Layout
from fab.params.job import PowerParams
from fab.params.panel import PanelParams
from fab.power.model import HeatCap, Wired
from fab.power.problem import Problem
from fab.power.zones import part

MOST_ROWS = 12


@dataclass(frozen=True)
class WhatIf:
    """So many inlets, placed by the program."""

    inlets: int
    possible: float  # brightness; 0 when not even dark panels can be fed
    by: str  # what stops it: "supply", "pins", "volts", "logic", "heat", "full"
    lowest_v: float | None  # at that brightness
    lowest_panel: str
    hottest_pin_a: float | None
    inlet_a: float | None  # through the inlet that gives most


def what_if(
    layout: Layout,
    wired: Wired,
    power: PowerParams,
    designs: Mapping[str, PanelParams],
) -> tuple[WhatIf, ...]:
    """Rows for 1 .. n inlets (from one a group on), the wall's own among them, over its joints.

    Heat limits them as it limits the wall. n is some inlets more than chosen, or where full white
    is reached; large walls get at most `MOST_ROWS` rows.
    """
    if all(designs[panel.design].board.none for panel in layout.panels):
        return ()
    chosen = len(wired.zones)
    free = replace(power, inlet=(), inlets=None, brightness=wired.aim)
    problem = Problem(layout, wired.loads, free, designs, None, wired.links, wired.table.jumpers)
    least, able = len(problem.graph.groups), sum(problem.graph.usable)
    rows = []
    for count in _counts(least, able, chosen):
        rows.append(_row(problem, count, wired.heat))
        if rows[-1].by in ("full", "heat") and count >= chosen:
            break
    return tuple(rows)


def _counts(least: int, able: int, chosen: int) -> list[int]:
    """Numbers of inlets to try, up to a few more than chosen, thinned out for large walls."""
    most = min(able, max(chosen + 2, 2 * chosen if chosen < 6 else chosen * 3 // 2))
    span = list(range(least, most + 1))
    if len(span) > MOST_ROWS:
        ratio = most / least
        span = sorted(
            {round(least * ratio ** (k / (MOST_ROWS - 2))) for k in range(MOST_ROWS - 1)} | {chosen}
        )
    return [count for count in span if count <= able]


def _row(problem: Problem, count: int, heat: HeatCap) -> WhatIf:
    tried = problem.attempt(part(problem.graph, problem.limit_a, problem.brightness, count))
    possible, stop = problem.brightest(tried, heat)
    state = problem.state_at(tried, possible) if possible > 0 else None
    if state is None:
        return WhatIf(count, 0.0, stop, None, "", None, None)
    volts = [float(v) for v in state.supply_v - state.ground_v]
    low = min(range(len(volts)), key=lambda i: (round(volts[i], 9), i))
    pins = [
        max(
            abs(float(state.supply_a[k])) / ohms.supply_pins,
            abs(float(state.ground_a[k])) / ohms.ground_pins,
        )
        for k, ohms in enumerate(problem.ohms)
    ]
    return WhatIf(
        count,
        possible,
        stop,
        volts[low],
        problem.graph.names[low],
        max(pins, default=0.0),
        float(state.inlet_a.max()),
    )
