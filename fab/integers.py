"""The one place that talks to the solver of integer programmes (HiGHS): one thread, a fixed seed, a
fixed amount of work in place of a clock, so that runs are alike.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

MOST_KEPT = 64
# factors of the unknowns, least and most of their sum
Row = tuple[Mapping[int, float], float, float]


@dataclass(frozen=True)
class Solution:
    """The state that the solver ended in."""

    values: tuple[float, ...]  # of the unknowns; empty when it found none
    bound: float  # no choice costs less
    best: bool  # proven best, within the gap
    impossible: bool  # proven that there is none


def least(
    cost: Sequence[float],
    low: Sequence[float],
    high: Sequence[float],
    whole: int,
    rows: Sequence[Row],
    *,
    gap: float,
    nodes: int,
    presolve: bool = True,
    seconds: float = math.inf,
) -> Solution:
    """min cost x with low <= x <= high and the rows; the first `whole` unknowns are integers.

    `gap`: how far from the bound, in units of cost, is good enough; `nodes`: of the search tree at
    most; `seconds`: for a caller whose answer hangs on the clock anyway. The last answers are kept:
    whoever watches a job asks the same again after each save.
    """
    rows_ = tuple((tuple(row[0].items()), row[1], row[2]) for row in rows)
    asked = (tuple(cost), tuple(low), tuple(high), whole, rows_, gap, nodes, presolve)
    if seconds < math.inf:
        return _least(*asked, seconds)
    return _kept(*asked)


def _least(
    cost: Sequence[float],
    low: Sequence[float],
    high: Sequence[float],
    whole: int,
    rows: Sequence[tuple[tuple[tuple[int, float], ...], float, float]],
    gap: float,
    nodes: int,
    presolve: bool,
    seconds: float = math.inf,
) -> Solution:
    import highspy
    import numpy as np

    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = len(cost), len(rows)
    lp.col_cost_, lp.col_lower_, lp.col_upper_ = (
        np.array(values, dtype=float) for values in (cost, low, high)
    )
    lp.row_lower_ = np.array(
        [row[1] if math.isfinite(row[1]) else -highspy.kHighsInf for row in rows]
    )
    lp.row_upper_ = np.array(
        [row[2] if math.isfinite(row[2]) else highspy.kHighsInf for row in rows]
    )
    starts: list[int] = [0]
    index: list[int] = []
    value: list[float] = []
    for factors, _, _ in rows:
        index += [place for place, _ in factors]
        value += [factor for _, factor in factors]
        starts.append(len(index))
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_, lp.a_matrix_.index_ = np.array(starts), np.array(index)
    lp.a_matrix_.value_ = np.array(value, dtype=float)
    kind = highspy.HighsVarType
    lp.integrality_ = [kind.kInteger] * whole + [kind.kContinuous] * (len(cost) - whole)
    # the plain binding: the class around it writes a banner to the terminal before it can be told
    # to be silent
    solver: Any = getattr(highspy, "_Highs", highspy.Highs)()
    for option, setting in (
        ("output_flag", False),
        ("threads", 1),
        ("parallel", "off"),
        ("random_seed", 1),
        ("mip_max_nodes", nodes),
        ("mip_rel_gap", 0.0),
        ("mip_abs_gap", gap),
        ("presolve", "choose" if presolve else "off"),
        ("time_limit", min(seconds, highspy.kHighsInf)),
    ):
        solver.setOptionValue(option, setting)
    solver.passModel(lp)
    solver.run()
    status, info = solver.getModelStatus(), solver.getInfo()
    found = info.primal_solution_status == 2  # a point that keeps all rows
    return Solution(
        tuple(solver.getSolution().col_value) if found else (),
        float(info.mip_dual_bound),
        status == highspy.HighsModelStatus.kOptimal,
        status == highspy.HighsModelStatus.kInfeasible,
    )


_kept = lru_cache(MOST_KEPT)(_least)
