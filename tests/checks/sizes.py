"""Sizes, shapes, walls, gaps, sheets and nozzles that the default design must bear, and random ones
of them.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import product
from typing import Any

from fab.params.panel import PanelParams, ShellParams
from fab.params.shop import Printer, Shop, Stock
from fab.parts.plan import Plan
from fab.parts.planning import plan

RANGES = {6: ("across_flats", 80, 300), 4: ("edge", 60, 250), 3: ("edge", 90, 300)}
LINE_MM = {0.4: 0.45, 0.6: 0.65}
LAYER_MM = {0.4: 0.2, 0.6: 0.3}
GAPS, LINES, SHEETS = (0.0, 0.4, 1.0, 2.0, 3.0), (2, 3, 4, 5), (2.0, 3.0, 4.0, 5.0)
STEPS = 12  # sizes of each shape in the grid


@dataclass(frozen=True)
class Size:
    """One point of the grid.

    A bed that holds it is there: what the bed allows is another question.
    """

    sides: int
    size: float
    nozzle: float
    gap: float
    lines: int
    sheet: float

    @property
    def shop(self) -> Shop:
        printer = Printer(
            nozzle=self.nozzle,
            extrusion_width=LINE_MM[self.nozzle],
            layer=LAYER_MM[self.nozzle],
            bed=(600.0, 600.0),
        )
        return Shop(printer=printer, stock={"opal-3": Stock(thickness=self.sheet)})

    @property
    def design(self) -> PanelParams:
        wall = round(self.lines * LINE_MM[self.nozzle], 4)
        key = RANGES[self.sides][0]
        sized = PanelParams(sides=self.sides, gap=self.gap, shell=ShellParams(wall=wall))
        size: dict[str, Any] = {key: self.size}
        return replace(sized, **size)

    @property
    def plan(self) -> Plan:
        return plan(self.design, self.shop)


def grid(steps: int = STEPS) -> Iterator[Size]:
    """Every combination, sizes closer together where panels are small."""
    for sides, (_, low, high) in RANGES.items():
        sizes = [low + (high - low) * (k / (steps - 1)) ** 2 for k in range(steps)]
        for size, nozzle, gap, lines, sheet in product(sizes, LINE_MM, GAPS, LINES, SHEETS):
            yield Size(sides, round(size, 1), nozzle, gap, lines, sheet)


def drawn(count: int, seed: int = 17) -> Iterator[Size]:
    """Random points of the ranges, the same on every machine."""
    dice = random.Random(seed)
    for _ in range(count):
        sides = dice.choice(sorted(RANGES))
        _, low, high = RANGES[sides]
        size = round(low + (high - low) * dice.random() ** 2, 1)
        nozzle, gap = dice.choice(sorted(LINE_MM)), round(dice.uniform(0, 3), 2)
        yield Size(sides, size, nozzle, gap, dice.choice(LINES), dice.choice(SHEETS))
