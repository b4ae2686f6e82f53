"""The highest brightness that holds: closed forms by hand, and halving as a second way."""

from __future__ import annotations

import random
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fab.power.limits import HIGH, LOW, MARGIN_V, Limits, brightest, limits_of, strain
from fab.power.network import Network, WallCircuit
from fab.power.ohms import JointOhms
from fab.power.whatif import MOST_ROWS, _counts


def drawn(dice: random.Random) -> tuple[Network, Any, Any, Limits]:
    """A tree of panels with one inlet. Two times in three only one limit is near, else all are."""
    near = dice.choice(("supply", "pins", "volts", "logic", *["all"] * 2))

    def limit(name: str, tight: tuple[float, float], loose: float) -> float:
        return dice.uniform(*tight) if near in (name, "all") else loose

    count = dice.randrange(2, 6)
    joints = [(dice.randrange(k), k) for k in range(1, count)]
    ohms = [
        JointOhms(
            dice.uniform(0.02, 0.2),
            dice.uniform(0.02, 0.2),
            dice.choice((1, 2)),
            dice.choice((1, 2)),
            limit("pins", (0.3, 3.0), 99.0),
        )
        for _ in joints
    ]
    network = Network(
        WallCircuit(
            count,
            joints,
            [joint.supply_ohm for joint in ohms],
            [joint.ground_ohm for joint in ohms],
            [(dice.randrange(count), dice.uniform(0.05, 0.3))],
            5.0,
        )
    )
    limits = limits_of(
        limit("supply", (0.5, 6.0), 99.0),
        ohms,
        [limit("volts", (3.0, 4.8), 0.0) for _ in range(count)],
        joints,
        dice.choice((None, limit("logic", (0.7, 4.0), 20.0))),
    )
    idle = np.array([dice.uniform(0.01, 0.1) for _ in range(count)])
    return network, idle, np.array([dice.uniform(0.1, 1.5) for _ in range(count)]), limits


@given(seed=st.integers(0, 100_000), constant_power=st.sampled_from([False, False, False, True]))
@settings(max_examples=900, deadline=None)
def test_the_brightest_is_where_halving_finds_the_first_limit(
    seed: int, constant_power: bool
) -> None:
    """Each limit's use is asked for of the whole network, at one brightness after the other."""
    network, idle, full, limits = drawn(random.Random(seed))

    def used(share: float) -> dict[str, float]:
        return strain(network.solve(idle + share * full, constant_power=constant_power), limits)

    def over(share: float) -> set[str]:
        return {name for name, use in used(share).items() if use > 1 + 1e-9}

    found, stop = brightest(network, idle, full, limits, constant_power=constant_power)
    if over(0.0):
        assert found == 0.0
        assert stop in over(0.0)
        return
    low, high = 0.0, 1.0
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (low, middle) if over(middle) else (middle, high)
    assert found == pytest.approx(1.0 if not over(1.0) else low, abs=1e-6)
    if stop == "full":
        assert not over(1.0)
    else:
        assert stop in over(min(found + 1e-5, 1.0)) or used(1.0)[stop] == pytest.approx(1.0)


def test_levels_stop_the_brightness_where_their_reserve_is_used_up() -> None:
    """Two panels, LEDs that drive LEDs, the inlet at A. With the drop d of each rail from A to B,
    A sends its high d over that of B and reads B's low d over its own ground: B takes 0.7 of
    5 - e - 2 d over d, A takes 0.3 of 5 - e, e the entry's drop. By hand.
    """
    ohms = [JointOhms(0.5, 0.5, 4, 4, 9.0)]
    network = Network(WallCircuit(2, [(0, 1)], [0.5], [0.5], [(0, 0.0)], 5.0))
    limits = limits_of(99.0, ohms, [0.0, 0.0], [(0, 1)])
    idle, full = np.array([0.0, 0.1]), np.array([0.0, 3.0])
    found, stop = brightest(network, idle, full, limits, constant_power=False)
    assert stop == "logic"
    drop = (idle[1] + found * full[1]) * 0.5
    high = (5.0 - drop) - HIGH * 5.0  # B's high, read by A
    low = LOW * 5.0 - drop  # B's low, read by A
    assert min(high, low) == pytest.approx(MARGIN_V, abs=1e-9)


@given(st.integers(1, 5), st.integers(0, 40), st.integers(0, 200))
@settings(max_examples=600)
def test_numbers_of_inlets_that_are_tried(least: int, more: int, rest: int) -> None:
    """From the fewest on, in order, the chosen one among them, no more than there are places: two
    more than chosen at least, and not many rows.
    """
    chosen, able = least + more, least + more + rest
    found = _counts(least, able, chosen)
    assert found == sorted(set(found))
    assert found[0] == least
    assert chosen in found
    assert found[-1] <= able
    assert found[-1] >= min(able, chosen + 2)
    assert len(found) <= MOST_ROWS
    if len(found) > 2 and found[-1] - least >= MOST_ROWS:  # then even steps by ratio
        assert max(b / a for a, b in pairwise(found)) <= max(
            2.0, 1.3 * (found[-1] / least) ** (1 / (MOST_ROWS - 2))
        )
    else:
        assert found == list(range(least, found[-1] + 1))
