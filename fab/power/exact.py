"""Zones by integer programme: a column is a connected set of panels, a row a panel.

Choosing columns so that every panel lies in exactly one is set partitioning; connectivity is in the
columns, so no flow or cut constraint is needed and the relaxation is tight. It is exact, and it is
for small walls: the number of connected sets grows quickly. Solver: HiGHS, one thread, fixed seed,
no clock.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from fab import integers
from fab.power.graph import SLACK_A, Graph

# beyond this the heuristic takes over: below it the search takes about a second at most
MOST_COLUMNS = 2_000
# the same for sets without a limit on their load: of those few are left after the first step
MOST_UNCAPPED = 6_000
MOST_PANELS = 64
MOST_NODES = 3_000  # of the search tree: an end without a clock
# zone loads enter the balance as per cent of the wall's load, squared: well above solver tolerances
SHARE = 100.0


class GaveUp(Exception):
    """The solver ended without an answer; the heuristic has to do."""


@dataclass(frozen=True)
class Column:
    """One connected set of panels that could be a zone."""

    panels: tuple[int, ...]
    load_a: float  # at the wanted brightness
    idle_a: float
    full_a: float
    reach: float  # brightness at which it draws the limit
    joints: int  # inside it


Start = Sequence[Column]


@dataclass(frozen=True)
class ZoneInputs:
    """Values that are the same for all columns of the integer programme."""

    panels: int
    load_a: float  # of the whole wall, at the wanted brightness
    idle_a: float
    full_a: float
    limit_a: float


def wall_of(graph: Graph, limit_a: float, brightness: float) -> ZoneInputs:
    """Currents of the whole wall in A: what every candidate zone is weighed against."""
    return ZoneInputs(
        len(graph),
        graph.load(range(len(graph)), brightness),
        math.fsum(graph.idle_a),
        math.fsum(graph.full_a),
        limit_a,
    )


def column_of(graph: Graph, panels: Sequence[int], limit_a: float, brightness: float) -> Column:
    """A set of panels as a column."""
    held = set(panels)
    inside = sum(j in held for i in panels for j in graph.links[i]) // 2
    return Column(
        tuple(sorted(panels)),
        graph.load(panels, brightness),
        math.fsum(graph.idle_a[i] for i in panels),
        math.fsum(graph.full_a[i] for i in panels),
        graph.reach(panels, limit_a),
        inside,
    )


def columns(
    graph: Graph, limit_a: float, brightness: float, *, capped: bool
) -> list[Column] | None:
    """All possible zones: connected, a place for an inlet, controllers within the limit.

    `capped`: also within the limit at `brightness`. None when there are too many connected sets.
    """
    n = len(graph)
    if n > MOST_PANELS:
        return None
    near = [sum(1 << j for j in graph.links[i]) for i in range(n)]
    weigh = [graph.idle_a[i] + (brightness * graph.full_a[i] if capped else 0.0) for i in range(n)]
    usable = sum(1 << i for i in range(n) if graph.usable[i])
    found: list[int] = []
    seen = 0
    for first in range(n):
        # (set, what may join it, what may not, weight); the first panel is the least of its sets
        stack = [
            (1 << first, near[first] >> (first + 1) << (first + 1), (2 << first) - 1, weigh[first])
        ]
        while stack:
            held, front, banned, weight = stack.pop()
            if weight > limit_a + SLACK_A:
                continue
            seen += 1
            if seen > (MOST_COLUMNS if capped else MOST_UNCAPPED):
                return None
            if held & usable:
                found.append(held)
            while front:
                bit = front & -front
                front ^= bit
                banned |= bit
                j = bit.bit_length() - 1
                stack.append((held | bit, (front | near[j]) & ~banned, banned, weight + weigh[j]))
    sets = [tuple(i for i in range(n) if held >> i & 1) for held in sorted(found)]
    return [column_of(graph, panels, limit_a, brightness) for panels in sets]


def fewest(
    made: Sequence[Column], wall: ZoneInputs, start: Start | None, least: int
) -> tuple[Column, ...] | None:
    """The fewest columns that hold every panel once, balanced (see `balanced`); None: no choice.

    `start`: a split within the limit, if one is known; then only fewer zones than it has are looked
    for, from `least`.
    """
    if start is None:
        chosen = choose(wall.panels, made, [1.0] * len(made))
        return balanced(made, wall, chosen) if chosen else None
    for count in range(least, len(start)):
        able = _heavy(made, wall, count, wall.load_a, [column.load_a for column in made])
        chosen = choose(wall.panels, able, [0.0] * len(able), count=count)
        if chosen is not None:
            return balanced(made, wall, chosen)
    return balanced(made, wall, start)


def balanced(made: Sequence[Column], wall: ZoneInputs, start: Start) -> tuple[Column, ...]:
    """As many columns as `start`: least sum of squared loads, then most joints inside zones.

    Whatever is more even than `start` has no zone too far from the mean: if one zone draws x and
    the others share the rest alike, the squares already sum to x^2 + (L - x)^2 / (k - 1). Columns
    outside that window are left out.
    """
    count, mean = len(start), wall.load_a / len(start)
    if count == 1 or mean <= 0:
        return tuple(start)
    scale = (SHARE / wall.load_a) ** 2

    def near(squares: float) -> list[Column]:
        slack = max(squares - wall.load_a * mean, 0.0) * (count - 1) / count
        window = math.sqrt(slack) + 1e-7 * wall.load_a
        return [column for column in made if abs(column.load_a - mean) <= window]

    able = near(math.fsum(column.load_a**2 for column in start))
    first = (
        choose(wall.panels, able, [scale * column.load_a**2 for column in able], count=count)
        or start
    )
    best = math.fsum(column.load_a**2 for column in first)
    able = near(best)
    squares = [scale * column.load_a**2 for column in able]
    joined = [-float(column.joints) for column in able]
    try:
        return choose(
            wall.panels, able, joined, count=count, row=squares, most=scale * best + 1e-4
        ) or tuple(first)
    except GaveUp:
        return tuple(first)  # even all the same, only not the most compact


def brightest(
    made: Sequence[Column], wall: ZoneInputs, count: int | None, most: float, start: Start | None
) -> tuple[Column, ...] | None:
    """The choice of `count` columns, or the fewest, whose dimmest zone can shine brightest.

    `most`: a brightness that no choice can pass; `start`: a split with `count` zones, if one is
    known.
    """
    known = min((column.reach for column in start), default=-1.0) if start else -1.0
    steps = sorted(
        {round(column.reach, 12) for column in made if known + 1e-9 < column.reach <= most + 1e-9}
    )
    best = tuple(start) if start and known >= 0 else None
    floor = known

    def works(step: float) -> bool:
        nonlocal best, floor
        able = [column for column in made if column.reach >= step - 1e-11]
        if count is not None and math.isfinite(step):
            loads = [column.idle_a + step * column.full_a for column in able]
            able = _heavy(able, wall, count, wall.idle_a + step * wall.full_a, loads)
        chosen = choose(wall.panels, able, [0.0] * len(able), count=count)
        if chosen is None:
            return False
        best, floor = chosen, step
        return True

    if steps and not works(steps[-1]):
        low, high = -1, len(steps) - 1  # steps[low] works, steps[high] does not
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (middle, high) if works(steps[middle]) else (low, middle)
    if best is None:
        return None
    able = [column for column in made if column.reach >= floor - 1e-11]
    if count is not None:
        return balanced(able, wall, best)
    return fewest(able, wall, best, 1)


def _heavy(
    made: Sequence[Column], wall: ZoneInputs, count: int, total: float, loads: Sequence[float]
) -> list[Column]:
    """Columns that draw enough: what one zone leaves, the others must be able to take."""
    need = total - (count - 1) * wall.limit_a - 1e-6
    return [column for column, load in zip(made, loads, strict=True) if load >= need]


def choose(
    n: int,
    made: Sequence[Column],
    cost: Sequence[float],
    *,
    count: int | None = None,
    row: Sequence[float] = (),
    most: float = math.inf,
) -> tuple[Column, ...] | None:
    """Set partitioning of least cost, with `count` columns if given; sum of `row` <= `most`.

    None when there is no choice; raises GaveUp when the solver does not say.
    """
    if not made:
        return None
    own: list[dict[int, float]] = [{} for _ in range(n)]
    for k, column in enumerate(made):
        for panel in column.panels:
            own[panel][k] = 1.0
    rows: list[integers.Row] = [(factors, 1.0, 1.0) for factors in own]
    if count is not None:
        rows.append((dict.fromkeys(range(len(made)), 1.0), float(count), float(count)))
    if row:
        rows.append((dict(enumerate(row)), -math.inf, most))
    # without presolve: it looks for dominated columns, finds none, and takes most of the time
    answer = integers.least(
        cost,
        [0.0] * len(made),
        [1.0] * len(made),
        len(made),
        rows,
        gap=1e-7,
        nodes=MOST_NODES,
        presolve=False,
    )
    if answer.impossible:
        return None
    if not answer.best:
        raise GaveUp("the search ended before the result was proven")
    taken = [column for column, share in zip(made, answer.values, strict=True) if share > 0.5]
    if sorted(i for column in taken for i in column.panels) != list(range(n)):
        raise GaveUp("not every panel is in one zone")
    return tuple(sorted(taken, key=lambda column: column.panels))
