"""The hangers of a very large group by a search: cover greedily, add where it is overloaded, take
away what is spare.

The lower bound that its gap is told against is the larger of two: weight over what one screw may
carry, and the number of panels found no two of which one screw could reach.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Collection, Mapping, Sequence

from fab.wall.frame import FrameModel
from fab.wall.model import CENTRE_MARGIN_MM
from fab.wall.pick import Pick, frame_faults, keeps, soft_uses
from fab.wall.problem import HangGroup, state

PRUNED = 40  # screws that are tried without, at the end
MOVES = 12  # moves of one screw before more screws are allowed ...
MANY = 500  # ... up to this many panels; beyond, none: each move costs one solution of the frame


def by_search(
    group: HangGroup,
    model: FrameModel,
    open_to: Sequence[int],
    ignored: frozenset[str],
    least: int = 1,
) -> Pick | None:
    """A choice that keeps every rule but the ignored ones, and a true lower bound; None when adding
    screws ends.

    `least`: a lower bound that is known already.
    """
    allowed = set(open_to)
    start = set(group.must) | (set(group.own_screw) if "reach" not in ignored else set())
    if not start <= allowed:
        return None
    chosen = _covered(group, start, allowed, reach="reach" not in ignored)
    if chosen is None:
        return None
    least = max(least, lower_bound(group, allowed, ignored))
    chosen = _both_sides(group, chosen, allowed)
    chosen = (
        set(spread_order(group, sorted(chosen), allowed, least)) if len(chosen) < least else chosen
    )
    moves, most = 0, MOVES if len(group.names) <= MANY else 0
    while True:
        broken, uses = _faults(group, model, chosen, ignored)
        if not broken:
            break
        moved = (
            _moved(group, chosen, start, allowed, uses)
            if broken == {"screw-load"} and moves < most
            else None
        )
        moves += 1
        if moved is None:
            moved = chosen | _helpers(group, model, tuple(sorted(chosen)), allowed, broken, uses)
            moves = 0
        if moved == chosen:
            return None
        chosen = moved
    if len(chosen) > least:
        chosen = _pruned(group, model, chosen, start, least, ignored)
    return Pick(tuple(sorted(chosen)), least, "search")


def _faults(
    group: HangGroup, model: FrameModel, chosen: set[int], ignored: frozenset[str]
) -> tuple[set[str], dict[int, float]]:
    """Rules broken, and how far each screw is used; 1 is all."""
    order = tuple(sorted(chosen))
    found = state(group, order)
    broken = set(found.broken) - ignored
    if broken & {"two", "centre"}:
        return broken, {}
    uses = soft_uses(group, found, model.solve(order))
    broken |= set(frame_faults(model, found)) - ignored
    return broken, dict(zip(order, uses, strict=True))


def _moved(
    group: HangGroup, chosen: set[int], kept: set[int], allowed: set[int], uses: Mapping[int, float]
) -> set[int] | None:
    """The least used spare screw beside the most used one; None when none can leave its place."""
    busy = max(sorted(chosen), key=lambda k: round(uses[k], 9))
    near = sorted(
        {n for k in (busy, *group.links[busy]) for n in group.links[k]} & allowed - chosen
    )
    if not near:
        return None
    for idle in sorted(chosen - kept - {busy}, key=lambda k: (round(uses[k], 9), k)):
        rest = chosen - {idle}
        if all(rest.intersection(group.balls[k]) for k in group.balls[idle]):
            steps = steps_to(group, rest)
            return rest | {max(near, key=lambda k: (steps[k], -k))}
    return None


def lower_bound(group: HangGroup, allowed: set[int], ignored: frozenset[str]) -> int:
    """A number of screws that no choice can go under."""
    least = min(2, len(group.names)) if "two" not in ignored else 1
    if "screw-load" not in ignored and group.weight > 0:
        most = max((group.cap(k) for k in allowed), default=0.0)
        if most > 0:
            least = max(least, math.ceil(group.weight / most - 1e-9))
    if "reach" not in ignored:
        least = max(least, len(group.own_screw | group.must), _apart(group, allowed))
    return least


def _apart(group: HangGroup, allowed: set[int]) -> int:
    """Panels, taken one by one from the rim inwards, no two of which one allowed screw reaches."""
    taken: set[int] = set()
    count = 0
    for k in sorted(range(len(group.names)), key=lambda k: (len(group.balls[k]), k)):
        ball = allowed.intersection(group.balls[k])
        if not taken.intersection(ball):
            taken |= ball
            count += 1
    return count


def _covered(
    group: HangGroup, start: set[int], allowed: set[int], *, reach: bool
) -> set[int] | None:
    """Screws until every panel has one near enough; the one that reaches most new panels first."""
    chosen = set(start)
    if not reach:
        return chosen or {max(allowed)} if allowed else None
    open_panels = {k for k in range(len(group.names)) if not chosen.intersection(group.balls[k])}
    heap = [
        (-len(group.balls[k]), -round(group.places[k].y, 3), k) for k in sorted(allowed - chosen)
    ]
    heapq.heapify(heap)
    while open_panels and heap:
        gain, height, k = heapq.heappop(heap)
        now = len(open_panels.intersection(group.balls[k]))  # reach is mutual
        if now != -gain:
            if now:
                heapq.heappush(heap, (-now, height, k))
            continue
        chosen.add(k)
        open_panels.difference_update(group.balls[k])
    return None if open_panels else chosen


def _both_sides(group: HangGroup, chosen: set[int], allowed: set[int]) -> set[int]:
    if len(group.names) == 1 or group.upright:
        return chosen
    x_c = group.centre[0]
    for side in (-1, 1):
        if not any(side * (group.places[k].x - x_c) >= CENTRE_MARGIN_MM for k in chosen):
            there = [k for k in allowed if side * (group.places[k].x - x_c) >= CENTRE_MARGIN_MM]
            if there:
                chosen = chosen | {
                    max(there, key=lambda k: (side * group.places[k].x, group.places[k].y, -k))
                }
    return chosen


def spread_order(
    group: HangGroup, chosen: Sequence[int], allowed: Collection[int], most: int | None = None
) -> list[int]:
    """`chosen` and then allowed places, always the one furthest from all before, counted in joints;
    `most` in all.
    """
    order = list(chosen)
    steps = steps_to(group, set(order))
    heap = [(-steps[k], -round(group.places[k].y, 3), k) for k in sorted(set(allowed) - set(order))]
    heapq.heapify(heap)
    while heap and (most is None or len(order) < most):
        step, height, k = heapq.heappop(heap)
        if steps[k] != -step:
            heapq.heappush(heap, (-steps[k], height, k))
            continue
        order.append(k)
        _spread(group, steps, [k])
    return order


def steps_to(group: HangGroup, chosen: Collection[int]) -> list[int]:
    """Joints between each panel and the nearest chosen one."""
    steps = [len(group.names)] * len(group.names)
    _spread(group, steps, sorted(chosen))
    return steps


def _spread(group: HangGroup, steps: list[int], sources: Sequence[int]) -> None:
    edge = list(sources)
    for k in edge:
        steps[k] = 0
    while edge:
        following = []
        for k in edge:
            for n in group.links[k]:
                if steps[k] + 1 < steps[n]:
                    steps[n] = steps[k] + 1
                    following.append(n)
        edge = following


def _helpers(
    group: HangGroup,
    model: FrameModel,
    order: Sequence[int],
    allowed: set[int],
    broken: set[str],
    uses: Mapping[int, float],
) -> set[int]:
    """Places to add: beside overloaded joints and screws, else where no screw is near."""
    free = allowed - set(order)
    if not free:
        return set()
    busy: list[tuple[int, ...]] = []
    if "joint" in broken:
        frame, strength = model.solve(order), model.strength
        for clip, across, along in zip(model.clips, frame.across, frame.along, strict=True):
            if across > strength.across_n or abs(along) > strength.along_n:
                busy.append((clip.a, clip.b))
    elif uses:
        most = sorted(order, key=lambda k: (-round(uses[k], 9), k))
        busy = [(k,) for k in most[: max(1, len(order) // 60)] if uses[k] > 1]
    found: set[int] = set()
    steps = steps_to(group, set(order))
    for spot in busy:
        near = {*spot, *(n for k in spot for n in group.links[k])} & free
        if near and not found & near:
            found.add(max(sorted(near), key=lambda k: (steps[k], -k)))
    if found:
        return found
    return {max(sorted(free), key=lambda k: (steps[k], round(group.places[k].y, 3), -k))}


def _pruned(
    group: HangGroup,
    model: FrameModel,
    chosen: set[int],
    kept: set[int],
    least: int,
    ignored: frozenset[str],
) -> set[int]:
    """Without the screws that can go, the least used first."""
    chosen = set(chosen)
    uses = _faults(group, model, chosen, ignored)[1]
    for k in sorted(chosen - kept, key=lambda k: (round(uses.get(k, 0.0), 6), k))[:PRUNED]:
        if len(chosen) <= least:
            break
        if keeps(group, model, tuple(sorted(chosen - {k})), ignored) is not None:
            chosen.discard(k)
    return chosen
