"""Choosing the hangers of one group: what a choice must keep, which is the better, and trying all
of a few.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

from fab.wall.frame import Frame, FrameModel
from fab.wall.problem import SLACK, HangGroup, State, state

TRY_ALL = 12  # free panels up to which every choice is tried


@dataclass(frozen=True)
class Pick:
    """A choice for one group; `least` is a proven lower bound on the number of screws."""

    chosen: tuple[int, ...]
    least: int
    method: str
    broken: tuple[str, ...] = ()
    proven: bool = True  # of a choice that breaks rules: that none keeps them


def frame_faults(model: FrameModel, found: State) -> frozenset[str]:
    """Rules that a choice breaks when the joints give: clips and screws of the wall as a frame of
    panels.
    """
    group, strength = model.group, model.strength
    frame = model.solve(found.chosen)
    broken = set()
    if any(pull > strength.across_n + SLACK for pull in frame.across) or any(
        abs(pull) > strength.along_n + SLACK for pull in frame.along
    ):
        broken.add("joint")
    if any(up < -1e-6 * group.weight for _, up in frame.screws):
        broken.add("uplift")
    if max(soft_uses(group, found, frame)) > 1 + SLACK:
        broken.add("screw-load")
    return frozenset(broken)


def soft_uses(group: HangGroup, found: State, frame: Frame) -> list[float]:
    """Share of its limit that each screw uses when the joints give, factor included; pull as in the
    rigid wall.
    """
    return [
        group.factor
        * (max(math.hypot(*force), uneven) / group.shear_limit + pull / group.pull_limit)
        for force, uneven, pull in zip(frame.screws, found.uneven, found.pulls, strict=True)
    ]


def keeps(
    group: HangGroup, model: FrameModel, chosen: Sequence[int], ignored: frozenset[str]
) -> State | None:
    """The state of a choice that breaks no rule but the ignored ones, as a rigid wall and as a
    frame; None else.
    """
    if not chosen:
        return None
    found = state(group, chosen)
    if set(found.broken) - ignored or frame_faults(model, found) - ignored:
        return None
    return found


def better(group: HangGroup, found: State) -> tuple[float, float, tuple[int, ...]]:
    """Among equal counts: the busiest screw least used, then screws high up, then reading order."""
    height = math.fsum(group.places[k].y for k in found.chosen)
    return (round(found.use, 6), round(-height, 3), found.chosen)


def thinned(
    group: HangGroup, model: FrameModel, chosen: Sequence[int], ignored: frozenset[str]
) -> tuple[int, ...]:
    """The choice without screws that can go, the least used first, while no rule but the ignored
    ones breaks.
    """
    left = list(chosen)
    loads = dict(zip(chosen, state(group, chosen).loads.shear, strict=True))
    for k in sorted(set(chosen) - group.must, key=lambda k: (round(loads[k], 6), k)):
        fewer = [one for one in left if one != k]
        if fewer and keeps(group, model, fewer, ignored) is not None:
            left = fewer
    return tuple(left)


def try_all(
    group: HangGroup, model: FrameModel, open_to: Sequence[int], ignored: frozenset[str]
) -> Pick | None:
    """The best of all choices with the fewest screws."""
    forced = tuple(sorted(group.must))
    free = [k for k in open_to if k not in group.must]
    for size in range(max(len(forced), 1), len(forced) + len(free) + 1):
        states = []
        for extra in combinations(free, size - len(forced)):
            found = state(group, tuple(sorted((*forced, *extra))))
            if not set(found.broken) - ignored:
                states.append(found)
        for found in sorted(states, key=lambda s: better(group, s)):
            if not frame_faults(model, found) - ignored:
                return Pick(found.chosen, size, "exhaustive")
    return None
