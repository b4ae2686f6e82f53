"""The hangers of one group by an integer programme, solved by HiGHS.

Unknowns: z_i = 1 where a screw is, F_i its load. The programme holds

    reach        sum of z over each panel's ball >= 1
    two, centre  sum z >= 2, one screw left and one right of the centre of mass with margin
    loads        0 <= F_i <= cap_i z_i,  sum F_i = W,  sum F_i (x_i - x_c) = 0

where cap_i is the shear at which a screw with its own panel's lever is used up. It does not hold
that all screws give alike, nor the joints: so it is easier than the task and its bound is true.
What it finds is reckoned in full; a choice that fails is forbidden and it is asked again. Among
equal counts it likes screws that are spread over the wall and whose mean is under the weight,
because those carry alike.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from fab import integers
from fab.integers import Row
from fab.wall.frame import FrameModel
from fab.wall.model import CENTRE_MARGIN_MM
from fab.wall.pick import Pick, keeps
from fab.wall.problem import HangGroup
from fab.wall.search import by_search, spread_order

ROUNDS = 6  # choices that may fail the rules which the programme does not know
# branch-and-bound nodes per question: a fixed amount of work, not a time, so runs are alike
NODES = 400
SOFT = 0.4  # all soft wishes together weigh less than this; a screw weighs 1


def by_programme(
    group: HangGroup, model: FrameModel, open_to: Sequence[int], ignored: frozenset[str]
) -> tuple[Pick | None, bool]:
    """Fewest screws by the programme, proven where `least` equals the count; else the search,
    against its bound. Without any, whether it is proven that there is none.
    """
    table = _Table(group, open_to, ignored)
    least = 1
    cuts: list[Row] = []
    for _ in range(ROUNDS):
        answer = table.solve(cuts)
        if answer is None:
            if not cuts:
                return None, table.impossible
            break
        chosen, bound = answer
        least = max(least, bound)
        if len(chosen) > least:
            break
        if keeps(group, model, chosen, ignored) is not None:
            return Pick(chosen, least, "programme"), True
        picked = set(chosen)
        signs = {j: -1.0 if k in picked else 1.0 for j, k in enumerate(table.open_to)}
        cuts.append((signs, 1.0 - len(picked), math.inf))
    found = by_search(group, model, open_to, ignored, least)
    return (Pick(found.chosen, max(least, found.least), "search") if found else None), False


class _Table:
    """The programme of one group as columns (z, then F, then two of the mean) and rows."""

    def __init__(self, group: HangGroup, open_to: Sequence[int], ignored: frozenset[str]) -> None:
        self.group, self.open_to, self.ignored = group, tuple(open_to), ignored
        self.rows = self._rows()
        self.impossible = False  # proven by the last question
        order = spread_order(group, (), self.open_to)
        self.rank = {k: step / len(order) for step, k in enumerate(order)}

    def _rows(self) -> list[Row]:
        group, n = self.group, len(self.open_to)
        column = {k: j for j, k in enumerate(self.open_to)}
        x_c = group.centre[0]
        half = max(*(abs(place.x - x_c) for place in group.places), 1.0)
        self.arms = [(group.places[k].x - x_c) / half for k in self.open_to]
        rows: list[Row] = []
        balls = {frozenset(column[k] for k in ball if k in column) for ball in group.balls}
        least = [ball for ball in balls if not any(other < ball for other in balls)]
        if "reach" not in self.ignored:
            rows += [
                (dict.fromkeys(sorted(ball), 1.0), 1.0, math.inf)
                for ball in sorted(least, key=sorted)
            ]
        if "two" not in self.ignored and len(group.names) > 1:
            rows.append((dict.fromkeys(range(n), 1.0), 2.0, math.inf))
        if "centre" not in self.ignored and not group.upright and len(group.names) > 1:
            off = CENTRE_MARGIN_MM / half
            rows.append(({j: 1.0 for j in range(n) if self.arms[j] <= -off}, 1.0, math.inf))
            rows.append(({j: 1.0 for j in range(n) if self.arms[j] >= off}, 1.0, math.inf))
        if "screw-load" not in self.ignored and group.weight > 0:
            for j, k in enumerate(self.open_to):
                rows.append(({j: -group.cap(k) / group.weight, n + j: 1.0}, -math.inf, 0.0))
            rows.append(({n + j: 1.0 for j in range(n)}, 1.0, 1.0))
            if not group.upright:
                rows.append(({n + j: self.arms[j] for j in range(n)}, 0.0, 0.0))
        for sign in (-1.0, 1.0):
            rows.append(
                ({**{j: sign * self.arms[j] for j in range(n)}, 2 * n: -1.0}, -math.inf, 0.0)
            )
        return rows

    def solve(
        self, cuts: Sequence[Row], exactly: int | None = None
    ) -> tuple[tuple[int, ...], int] | None:
        """The best choice and the proven least count; None when there is none (or none in the work
        allowed).
        """
        group, n = self.group, len(self.open_to)
        soft = SOFT / 2 / (n + 1)
        cost = (
            [1.0 + soft * self.rank[k] for k in self.open_to]
            + [0.0] * n
            + [1.0 if exactly else soft]
        )
        low = [
            (
                1.0
                if k in group.must or (k in group.own_screw and "reach" not in self.ignored)
                else 0.0
            )
            for k in self.open_to
        ]
        rows = [*self.rows, *cuts]
        if exactly is not None:
            rows.append((dict.fromkeys(range(n), 1.0), float(exactly), float(exactly)))
        high = [1.0] * n + [1.0] * n + [float(n)]
        answer = integers.least(
            cost,
            [*low, *[0.0] * (n + 1)],
            high,
            n,
            rows,
            gap=0.49 if exactly is None else 1e-4,
            nodes=NODES,
        )
        self.impossible = answer.impossible
        if not answer.values:
            return None
        values, bound = answer.values, answer.bound
        chosen = tuple(k for j, k in enumerate(self.open_to) if values[j] > 0.5)
        return chosen, max(math.ceil(bound - SOFT - 1e-6), 1) if exactly is None else len(chosen)
