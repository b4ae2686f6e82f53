"""Zones by integer programme: every connected set of panels that could be a zone is a column, each panel is a row.

Choosing columns so that every panel lies in exactly one is set partitioning; connectivity is in the columns, so no
flow or cut constraint is needed and the relaxation is tight. It is exact, and it is for small walls: the number of
connected sets grows quickly. Solver: HiGHS, one thread, fixed seed, no clock.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from fab.power.graph import SLACK_A, Graph

MOST_COLUMNS = 1_500  # beyond this the heuristic takes over: below it the search takes about a second at most
MOST_UNCAPPED = 4_000  # the same for sets without a limit on their load: of those few are left after the first step
MOST_PANELS = 64
MOST_NODES = 3_000  # of the search tree: an end without a clock
SHARE = 100.0  # zone loads enter the balance as per cent of the wall's load, squared: well above solver tolerances


class GaveUp(Exception):
    """The solver ended without an answer; the heuristic has to do."""


@dataclass(frozen=True)
class Column:
    """One connected set of panels that could be a zone."""

    panels: tuple[int, ...]
    load_a: float  # at the wanted brightness
    reach: float  # brightness at which it draws the limit
    joints: int  # inside it


def columns(graph: Graph, limit_a: float, brightness: float, capped: bool) -> list[Column] | None:
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
        stack = [(1 << first, near[first] >> (first + 1) << (first + 1), (2 << first) - 1, weigh[first])]
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
    made = []
    for held in sorted(found):
        panels = tuple(i for i in range(n) if held >> i & 1)
        inside = sum((near[i] & held).bit_count() for i in panels) // 2
        made.append(Column(panels, graph.load(panels, brightness), graph.reach(panels, limit_a), inside))
    return made


def fewest(n: int, made: Sequence[Column]) -> tuple[Column, ...] | None:
    """The fewest columns that hold every panel once, balanced (see `balanced`); None when there is no such choice."""
    chosen = _choose(n, made, [1.0] * len(made))
    return balanced(n, made, len(chosen)) if chosen else None


def balanced(n: int, made: Sequence[Column], count: int) -> tuple[Column, ...] | None:
    """`count` columns that hold every panel once: least sum of squared loads, then most joints inside zones."""
    total = count * max(column.load_a for column in made) or 1.0  # only a scale
    squares = [(SHARE * column.load_a / total) ** 2 for column in made]
    first = _choose(n, made, squares, count=count)
    if first is None:
        return None
    best = math.fsum(squares[made.index(column)] for column in first)
    joined = [-float(column.joints) for column in made]
    try:
        return _choose(n, made, joined, count=count, row=squares, most=best + 1e-4) or first
    except GaveUp:
        return first  # even all the same, only not the most compact


def brightest(n: int, made: Sequence[Column], count: int | None, most: float = math.inf) -> tuple[Column, ...] | None:
    """The choice (of `count` columns, or of as few as do it) whose dimmest zone can shine brightest.

    `most`: a brightness that no choice can pass, when one is known.
    """
    steps = sorted({round(column.reach, 12) for column in made if column.reach <= most + 1e-9})
    kept: list[Column] = []

    def works(step: int) -> bool:
        nonlocal kept
        able = [column for column in made if column.reach >= steps[step] - 1e-11]
        if _choose(n, able, [0.0] * len(able), count=count) is None:
            return False
        kept = able
        return True

    if not steps:
        return None
    if not works(len(steps) - 1):
        low, high = -1, len(steps) - 1  # steps[low] works, steps[high] does not
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (middle, high) if works(middle) else (low, middle)
        if low < 0:
            return None
    return balanced(n, kept, count) if count is not None else fewest(n, kept)


def _choose(
    n: int, made: Sequence[Column], cost: Sequence[float], *, count: int | None = None,
    row: Sequence[float] = (), most: float = math.inf,
) -> tuple[Column, ...] | None:  # fmt: skip
    """Set partitioning: least cost, with `count` columns when given, and sum of `row` at most `most`.

    None when there is no choice; raises GaveUp when the solver does not say.
    """
    import highspy
    import numpy as np

    if not made:
        return None
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = len(made), n + (count is not None) + bool(row)
    lp.col_cost_ = np.array(cost, dtype=float)
    lp.col_lower_ = np.zeros(len(made))
    lp.col_upper_ = np.ones(len(made))
    lower, upper = [1.0] * n, [1.0] * n
    if count is not None:
        lower.append(float(count))
        upper.append(float(count))
    if row:
        lower.append(-highspy.kHighsInf)
        upper.append(most)
    lp.row_lower_, lp.row_upper_ = np.array(lower), np.array(upper)
    starts = [0]
    index: list[int] = []
    value: list[float] = []
    for k, column in enumerate(made):
        index += column.panels
        value += [1.0] * len(column.panels)
        if count is not None:
            index.append(n)
            value.append(1.0)
        if row:
            index.append(n + (count is not None))
            value.append(row[k])
        starts.append(len(index))
    lp.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    lp.a_matrix_.start_ = np.array(starts)
    lp.a_matrix_.index_ = np.array(index)
    lp.a_matrix_.value_ = np.array(value)
    lp.integrality_ = [highspy.HighsVarType.kInteger] * len(made)
    # the plain binding: the wrapper class writes a banner to the terminal before it can be told to be silent
    solver = getattr(highspy, "_Highs", highspy.Highs)()
    for option, setting in (
        ("output_flag", False),
        ("threads", 1),
        ("random_seed", 0),
        ("presolve", "off"),  # it looks for dominated columns, finds none, and takes most of the time
        ("mip_max_nodes", MOST_NODES),
        ("mip_rel_gap", 0.0),
        ("mip_abs_gap", 1e-7),
    ):
        solver.setOptionValue(option, setting)
    solver.passModel(lp)
    solver.run()
    status = solver.getModelStatus()
    if status == highspy.HighsModelStatus.kInfeasible:
        return None
    if status != highspy.HighsModelStatus.kOptimal:
        raise GaveUp(str(status))
    taken = [column for column, share in zip(made, solver.getSolution().col_value, strict=True) if share > 0.5]
    if sorted(i for column in taken for i in column.panels) != list(range(n)):
        raise GaveUp("not every panel is in one zone")
    return tuple(sorted(taken, key=lambda column: column.panels))
