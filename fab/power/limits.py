"""The highest brightness of a wired wall before supply, pins or volts say stop."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fab.power.network import Network, NetworkState
from fab.power.ohms import JointOhms

if TYPE_CHECKING:
    import numpy as np

# kept over an LED's least volts where it can be: contacts age (common practice, no source)
MARGIN_V = 0.2
# shares of its own supply that a data input takes for sure as high and as low; from memory
HIGH = 0.7
LOW = 0.3
BISECTIONS = 22  # brightness to 1 / 4 million


@dataclass(frozen=True)
class Limits:
    """Limits to hold: amperes of each inlet, and of each joint by rail, volts of each panel.

    Numpy arrays.
    """

    inlet_a: float
    supply_a: np.ndarray  # per joint: pins times rating
    ground_a: np.ndarray
    least_v: np.ndarray  # per panel
    senders: np.ndarray  # of data over every joint, both ways: the panels that send ...
    readers: np.ndarray  # ... and those that read
    # swing of the data: the controllers' own; None: the rails of the LEDs that send it
    logic_v: float | None = None


def limits_of(
    inlet_a: float,
    joints: Sequence[JointOhms],
    least_v: Sequence[float],
    pairs: Sequence[tuple[int, int]],
    logic_v: float | None = None,
) -> Limits:
    """A wall's limits. `logic_v`: of controllers that talk over joints; None: LED drives LED."""
    import numpy as np

    a, b = (np.array([pair[side] for pair in pairs], dtype=int) for side in (0, 1))

    return Limits(
        inlet_a,
        np.array([j.pin_limit_a * j.supply_pins for j in joints]),
        np.array([j.pin_limit_a * j.ground_pins for j in joints]),
        np.array(least_v, dtype=float),
        np.concatenate([a, b]),
        np.concatenate([b, a]),
        logic_v,
    )


def logic_v(supply_v: np.ndarray, ground_v: np.ndarray, limits: Limits) -> np.ndarray:
    """Margin of a signal beyond the levels that its reader takes for sure, per sender and reader,
    V: the less of high and low.
    """
    import numpy as np

    swing = (
        supply_v - ground_v if limits.logic_v is None else np.full(len(supply_v), limits.logic_v)
    )
    ground, span = ground_v[limits.readers], swing[limits.readers]
    sent = ground_v[limits.senders]
    least: np.ndarray = np.minimum(
        sent + swing[limits.senders] - (ground + HIGH * span), ground + LOW * span - sent
    )
    return least


def strain(state: NetworkState | None, limits: Limits) -> dict[str, float]:
    """Used share of each limit: 1 is the limit; volts and logic count 1 more than they lack."""
    if state is None:
        return {"supply": math.inf, "pins": math.inf, "volts": math.inf, "logic": math.inf}
    import numpy as np

    pins = [np.abs(state.supply_a) / limits.supply_a, np.abs(state.ground_a) / limits.ground_a]
    hottest = max((float(use.max()) for use in pins if len(use)), default=0.0)
    short = float((limits.least_v - (state.supply_v - state.ground_v)).max())  # <= 0 is well
    signal = float(logic_v(state.supply_v, state.ground_v, limits).min(initial=math.inf))
    logic = 1.0 + MARGIN_V - signal if math.isfinite(signal) else 0.0
    supply = float(state.inlet_a.max()) / limits.inlet_a
    return {"supply": supply, "pins": hottest, "volts": 1.0 + short, "logic": logic}


def holds(state: NetworkState | None, limits: Limits, *names: str) -> bool:
    """True when the named limits hold, or all without names; up to a share of 1e-9 above."""
    used = strain(state, limits)
    return all(used[name] <= 1 + 1e-9 for name in names or used)


def brightest(
    network: Network,
    idle_a: np.ndarray,
    full_a: np.ndarray,
    limits: Limits,
    *,
    constant_power: bool,
) -> tuple[float, str]:
    """Highest brightness in 0..1 that holds, and what stops it ("full": nothing)."""
    if constant_power:
        return _searched(network, idle_a, full_a, limits)
    return _lines(network, idle_a, full_a, limits)


def _lines(
    network: Network, idle_a: np.ndarray, full_a: np.ndarray, limits: Limits
) -> tuple[float, str]:
    """Constant currents: flows and drops are linear in brightness, so limits are crossings."""
    import numpy as np

    dark, lit = network.solve(idle_a), network.solve(idle_a + full_a)
    assert dark is not None
    assert lit is not None
    found = {"full": 1.0}
    found["supply"] = _crossing(
        dark.inlet_a, lit.inlet_a, np.full(len(dark.inlet_a), limits.inlet_a)
    )
    pins = [1.0]
    for low, high, most in (
        (dark.supply_a, lit.supply_a, limits.supply_a),
        (dark.ground_a, lit.ground_a, limits.ground_a),
    ):
        pins += [_crossing(low, high, most), _crossing(-low, -high, most)]
    found["pins"] = min(pins)
    found["volts"] = _crossing(
        dark.ground_v - dark.supply_v, lit.ground_v - lit.supply_v, -limits.least_v
    )
    for share in (HIGH, LOW):  # of the two levels each is a straight line over brightness
        lines = []
        for state in (dark, lit):
            swing = state.supply_v - state.ground_v
            if limits.logic_v is not None:
                swing = np.full(len(swing), limits.logic_v)
            level = state.ground_v[limits.readers] + share * swing[limits.readers]
            rail = state.ground_v + swing if share == HIGH else state.ground_v
            lines.append((level - rail[limits.senders]) * (1.0 if share == HIGH else -1.0))
        crossed = _crossing(lines[0], lines[1], np.full(len(lines[0]), -MARGIN_V))
        found["logic"] = min(found.get("logic", 1.0), crossed)
    stop = min(found, key=lambda name: (found[name], name != "full"))
    return max(found[stop], 0.0), stop


def _crossing(low: np.ndarray, high: np.ndarray, most: np.ndarray) -> float:
    """Largest share s in 0..1 with low + s * (high - low) <= `most` everywhere; -1: none."""
    import numpy as np

    if not len(low):
        return 1.0
    if np.any(low > most + 1e-9):
        return -1.0
    rise = high - low
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(rise > 1e-15, (most - low) / rise, np.inf)
    return float(min(max(share.min(), 0.0), 1.0))


def _searched(
    network: Network, idle_a: np.ndarray, full_a: np.ndarray, limits: Limits
) -> tuple[float, str]:
    """Constant power: halve the span."""

    def state(share: float) -> NetworkState | None:
        return network.solve(idle_a + share * full_a, constant_power=True)

    top = state(1.0)
    if holds(top, limits):
        return 1.0, "full"
    if not holds(state(0.0), limits):
        used = strain(state(0.0), limits)
        return 0.0, max(used, key=lambda name: (used[name], name))
    low, high, above = 0.0, 1.0, strain(top, limits)
    for _ in range(BISECTIONS):
        middle = (low + high) / 2
        here = state(middle)
        if holds(here, limits):
            low = middle
        else:
            high, above = middle, strain(here, limits)
    stop = [name for name in ("supply", "pins", "volts", "logic") if above[name] > 1 + 1e-9]
    return low, stop[0] if stop else "volts"
