"""Walls for the tests, and reckonings that share no code with the room."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from functools import lru_cache
from typing import Any

import numpy as np

from fab.layout.find import find_layout
from fab.layout.model import Layout
from fab.params.job import LayoutParams, PowerParams
from fab.params.panel import BoardParams, HeaderParams, InletParams, LedParams, PanelParams  # type: ignore[attr-defined]
from fab.parts.plan import cell_of
from fab.power.graph import Graph
from fab.power.links import every_header
from fab.power.model import Load, Wired
from fab.power.problem import Problem

MATES = HeaderParams(pins=5, power_pins=1, ground_pins=2)
STEPS = {
    6: ((1, 0), (0, 1), (-1, 1), (-1, 0), (0, -1), (1, -1)),
    4: ((1, 0), (0, 1), (-1, 0), (0, -1)),
}
NINE = ((0, 0), (1, 0), (2, 0), (3, 0), (0, 1), (1, 1), (2, 1), (-1, 2), (0, 2))
FLOWER = ((0, 0), *STEPS[6])


def asking(**changes: Any) -> PowerParams:
    """A supply, and three tenths of full white where nothing else is asked for."""
    return PowerParams(**{"brightness": 0.3, **changes})


def problem_of(
    layout: Layout, many: Sequence[Load], power: PowerParams, panel: PanelParams
) -> Problem:
    """A wall of one design whose joints all carry headers, to be split by the test."""
    return Problem(layout, many, power, {"panel": panel}, None, every_header(layout))


def design(sides: int = 6, **changes: Any) -> PanelParams:
    """A panel whose pins mate; 150 mm from flat to flat."""
    return PanelParams(
        sides=sides, across_flats=150.0, header=changes.pop("header", MATES), **changes
    )


def no_loss(sides: int = 6) -> PanelParams:
    """Hardly any resistance and pins that bear all: the supply alone is the limit."""
    return design(
        sides,
        header=HeaderParams(pins=5, power_pins=1, ground_pins=2, pin_ohm=1e-6, pin_a=50.0),
        board=BoardParams(power_squares=0.0),
        led=LedParams(least_v=1.0),
        inlet=InletParams(kind="round"),
    )


def wall(
    cells: Sequence[tuple[int, int]], panel: PanelParams | None = None, **params: Any
) -> Layout:
    made = panel or design()
    return find_layout(LayoutParams(cells=tuple(cells), **params), lambda _: cell_of(made))


def loads(
    layout: Layout, leds: int | Sequence[int] = 37, panel: PanelParams | None = None
) -> tuple[Load, ...]:
    made = panel or design()
    many = [leds] * len(layout.panels) if isinstance(leds, int) else list(leds)
    return tuple(
        Load(p.name, n, made.board.controller_a, n * made.led.full_a)
        for p, n in zip(layout.panels, many, strict=True)
    )


def random_cells(count: int, seed: int, sides: int = 6) -> list[tuple[int, int]]:
    """A random heap of cells in one piece."""
    dice = random.Random(seed)
    cells = [(0, 0)]
    while len(cells) < count:
        a, b = dice.choice(cells)
        upright = ((1, 0), (-1, 0), (0, -1 if (a + b) % 2 == 0 else 1))
        steps = upright if sides == 3 else STEPS[sides]
        da, db = dice.choice(steps)
        if (a + da, b + db) not in cells:
            cells.append((a + da, b + db))
    return sorted(cells)


def random_graph(count: int, seed: int, sides: int = 6, blocked: float = 0.0) -> Graph:
    """Panels with loads of several sizes; a share of them can't carry an inlet, one at
    least can.
    """
    dice = random.Random(seed)
    layout = wall(random_cells(count, seed, sides), design(sides))
    at = {p.name: k for k, p in enumerate(layout.panels)}
    links = [sorted(at[name] for _, name, _ in layout.neighbours[p.name]) for p in layout.panels]
    usable = [dice.random() >= blocked for _ in at]
    usable[dice.randrange(count)] = True
    full = [dice.choice((0.8, 1.332, 1.332, 1.8)) for _ in at]
    return Graph(tuple(at), (0.08,) * count, tuple(full), tuple(map(tuple, links)), tuple(usable))


def splits(names: Any) -> Any:
    """Every way to split a list into sets."""
    if not names:
        yield []
        return
    first, *rest = names
    for split in splits(rest):
        yield [{first}, *split]
        for k in range(len(split)):
            yield [*split[:k], {first, *split[k]}, *split[k + 1 :]]


class BruteForce:
    """All splits of a small graph into connected zones with a place for an inlet, by halving sets.

    No code shared.
    """

    def __init__(self, graph: Graph, limit: float) -> None:
        self.graph, self.limit, self.n = graph, limit, len(graph)

    def possible(self, mask: int) -> bool:
        members = [i for i in range(self.n) if mask >> i & 1]
        if not any(self.graph.usable[i] for i in members):
            return False
        seen, queue = {members[0]}, [members[0]]
        for i in queue:
            for j in self.graph.links[i]:
                if mask >> j & 1 and j not in seen:
                    seen.add(j)
                    queue.append(j)
        return len(seen) == len(members)

    def load(self, mask: int, brightness: float) -> float:
        return sum(
            self.graph.idle_a[i] + brightness * self.graph.full_a[i]
            for i in range(self.n)
            if mask >> i & 1
        )

    def reach(self, mask: int) -> float:
        idle = self.load(mask, 0.0)
        return (self.limit - idle) / (self.load(mask, 1.0) - idle)

    def subsets(self, mask: int) -> Any:
        """Subsets that hold the lowest panel of `mask`."""
        low = mask & -mask
        rest = mask ^ low
        sub = rest
        while True:
            yield sub | low
            if sub == 0:
                return
            sub = (sub - 1) & rest

    def fewest(self, brightness: float) -> float:
        able = lru_cache(None)(
            lambda m: self.possible(m) and self.load(m, brightness) <= self.limit + 1e-9
        )

        @lru_cache(None)
        def need(mask: int) -> float:
            if mask == 0:
                return 0
            return min(
                (1 + need(mask ^ sub) for sub in self.subsets(mask) if able(sub)), default=math.inf
            )

        return need((1 << self.n) - 1)

    def brightest(self, count: int) -> float:
        able = lru_cache(None)(self.possible)

        @lru_cache(None)
        def best(mask: int, left: int) -> float:
            if mask == 0:
                return math.inf if left == 0 else -math.inf
            if left == 0:
                return -math.inf
            return max(
                (
                    min(self.reach(sub), best(mask ^ sub, left - 1))
                    for sub in self.subsets(mask)
                    if able(sub)
                ),
                default=-math.inf,
            )

        return best((1 << self.n) - 1, count)


def second_opinion(
    layout: Layout,
    wired: Wired,
    power: PowerParams,
    panel: PanelParams,
    rows: Sequence[dict[str, Any]],
) -> tuple[dict[str, float], dict[tuple[int, str], float], list[float]]:
    """Volts of every panel, amperes of every joint by rail, and of every inlet, for constant
    currents.

    From the joint list alone, with least squares on Kirchhoff's and Ohm's laws written branch by
    branch: unknowns are all node volts and all branch currents. Nothing of the room's matrix is
    used.
    """
    names = [p.name for p in layout.panels]
    at = {name: k for k, name in enumerate(names)}
    n = len(names)
    copper = 1.7241e-8 / (panel.board.copper_um * 1e-6) * panel.board.power_squares
    ohm = {
        "supply": panel.header.pin_ohm / panel.header.power_pins + 2 * copper,
        "ground": panel.header.pin_ohm / panel.header.ground_pins + 2 * copper,
    }
    branches = []  # (label, from node, to node, ohm, emf)
    for row in rows:
        if row["kind"] == "none":
            continue
        a, b = at[row["a"]], at[row["b"]]
        if row["kind"] == "header":
            branches.append(((row["number"], "supply"), a, b, ohm["supply"], 0.0))
        branches.append(((row["number"], "ground"), n + a, n + b, ohm["ground"], 0.0))
    entry = power.cable_mm / 1000 * power.cable_ohm_per_m + 2 * copper
    for zone in wired.zones:
        k = at[zone.inlet_panel]
        branches.append(((zone.index, "inlet"), n + k, k, entry, power.supply_v))
    m = len(branches)
    matrix, right = np.zeros((2 * n + m + 1, 2 * n + m)), np.zeros(2 * n + m + 1)
    for j, (_, start, end, ohms, emf) in enumerate(branches):
        matrix[start, 2 * n + j] -= 1  # current leaves the start ...
        matrix[end, 2 * n + j] += 1  # ... and reaches the end
        matrix[2 * n + j, [start, end, 2 * n + j]] = (1, -1, -ohms)  # v_start + emf - R i = v_end
        right[2 * n + j] = -emf
    for k, load in enumerate(wired.loads):
        current = load.idle_a + wired.brightness * load.full_a
        right[k], right[n + k] = current, -current
    matrix[-1, n] = 1.0  # one ground at 0 V
    found = np.linalg.lstsq(matrix, right, rcond=None)[0]
    assert np.abs(matrix @ found - right).max() < 1e-8
    volts = {name: float(found[k] - found[n + k]) for name, k in at.items()}
    flows = {label: float(found[2 * n + j]) for j, (label, *_) in enumerate(branches)}
    return (
        volts,
        {label: flow for label, flow in flows.items() if label[1] != "inlet"},
        [flows[zone.index, "inlet"] for zone in wired.zones],
    )
