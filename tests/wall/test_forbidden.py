"""Hangers where places are forbidden: zones against brute force, studs against every place that a
keyhole could have. The brute force shares no code with the choice: shapely says what a zone
covers, `walls.allowed` keeps the rules.
"""

from __future__ import annotations

import math
import random
import re
from functools import cache
from itertools import combinations
from typing import Any

import pytest
from shapely.geometry import Point, Polygon

from fab.errors import InputError
from fab.params.job import HangParams
from fab.params.shop import WallType
from fab.parts.keyhole import rest_spans
from fab.wall.choose import choose
from fab.wall.model import JointStrength
from fab.wall.to_hang import WallToHang
from tests.cases import few

from .walls import allowed, hung_as_forced, masses, plan_of, random_cells, rest_of, wall

FLOWER = [(0, 0), (1, 0), (0, 1), (-1, 1), (-1, 0), (0, -1), (1, -1)]
COMB = [(0, 0), (1, 0), (2, 0), (3, 0), (0, 1), (2, 1)]


def least_by_force(layout: Any, plans: Any, mass: Any, hang: Any, strength: Any) -> int | None:
    """The fewest screws that keep every rule and stand in no zone; None when no choice does."""
    reach = WallType().drill / 2
    zones = [Polygon(zone) for zone in hang.zones]
    rests = {panel.name: Point(rest_of(layout, plans, panel.name)) for panel in layout.panels}
    able = [n for n, at in rests.items() if all(zone.distance(at) > reach for zone in zones)]
    for size in range(1, len(able) + 1):
        for chosen in combinations(able, size):
            if allowed(layout, plans, mass, hang, WallType(), strength, chosen, able):
                return size
    return None


def zones_over(rng: random.Random, layout: Any) -> tuple[tuple[tuple[float, float], ...], ...]:
    """One or two slanted boxes over the wall, or all of it left or right of a line."""
    x0, y0, x1, y1 = layout.box
    if rng.random() < 0.4:
        line = rng.uniform(x0, x1)
        a, b = (x0 - 9, line) if rng.random() < 0.5 else (line, x1 + 9)
        return (((a, y0 - 9), (b, y0 - 9), (b, y1 + 9), (a, y1 + 9)),)
    found = []
    for _ in range(rng.randint(1, 2)):
        x, y, turn = rng.uniform(x0, x1), rng.uniform(y0, y1), rng.uniform(0, math.pi)
        half = (rng.uniform(20, 150), rng.uniform(10, 60))
        c, s = math.cos(turn), math.sin(turn)
        found.append(
            tuple(
                (x + i * half[0] * c - j * half[1] * s, y + i * half[0] * s + j * half[1] * c)
                for i, j in ((-1, -1), (1, -1), (1, 1), (-1, 1))
            )
        )
    return tuple(found)


@pytest.mark.parametrize("seed", few(range(10), 1, 3))
def test_fewest_with_forbidden_zones_equals_brute_force(seed: int) -> None:
    rng = random.Random(1000 + seed)
    sides = (6, 4)[seed % 2]
    cells = COMB if seed % 3 == 0 else random_cells(rng, sides, rng.randint(2, 6))
    layout = wall(sides, cells, rng.choice([0.0, 30.0, 90.0]))
    plans = {"panel": plan_of(sides, 69.3, offset=20.0)}  # a keyhole that may not stand aside
    mass = masses(layout, rng.choice([80.0, 250.0, 500.0]), rng=rng)
    hang = HangParams(
        reach=rng.choice([1, 2, 3]), zones=zones_over(rng, layout), drill_mm=0.0, factor=4.0
    )
    strength = JointStrength(across_n=rng.choice([3.0, 30.0]), lift_n=1e9)
    least = least_by_force(layout, plans, mass, hang, strength)
    hung = hung_as_forced(
        least, lambda: choose(WallToHang(layout, plans, mass, hang, WallType(), strength))
    )
    assert hung is None or least is None or len(hung.hangers) == least


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(10, 310))
def test_fewest_with_forbidden_zones_equals_brute_force_on_many(seed: int) -> None:
    test_fewest_with_forbidden_zones_equals_brute_force(seed)


@pytest.mark.parametrize("seed", few(range(5), 0, 1))
def test_a_keyhole_that_may_stand_aside_never_costs_a_screw(seed: int) -> None:
    """Zones: no more screws than of keyholes in the middle, and none in a zone."""
    rng = random.Random(2000 + seed)
    layout = wall(6, random_cells(rng, 6, rng.randint(3, 6)))
    plans = {"panel": plan_of(6)}
    mass = masses(layout, 250.0, rng=rng)
    hang = HangParams(reach=rng.choice([1, 2]), zones=zones_over(rng, layout), drill_mm=0.0)
    strength = JointStrength(lift_n=1e9)
    least = least_by_force(layout, plans, mass, hang, strength)
    hung = hung_as_forced(
        least, lambda: choose(WallToHang(layout, plans, mass, hang, WallType(), strength))
    )
    if hung is None:
        return
    assert least is None or len(hung.hangers) <= least
    zones = [Polygon(zone) for zone in hang.zones]
    for hanger in hung.hangers:
        at = Point(hanger.x, hanger.y)
        assert all(zone.distance(at) > WallType().drill / 2 - 1e-6 for zone in zones)


def on_studs(layout: Any, plan: Any, studs: Any, half: float) -> dict[str, list[float]]:
    """Every panel's x of rests that lie in a stud, in steps of 1 mm over its floor."""
    found: dict[str, list[float]] = {}
    free = {k: bool(rest_spans(plan, 90.0, (), float(k), inlet=False)) for k in range(-60, 61)}
    for panel in layout.panels:
        for k, able in free.items():
            x = panel.x + k
            if able and min(abs(x - stud) for stud in studs) <= half:
                found.setdefault(panel.name, []).append(x)
    return found


ROW = [(q, 0) for q in range(9)]


@pytest.mark.slow
@pytest.mark.parametrize(
    ("spacing", "cells"), [(406.0, FLOWER), (600.0, ROW)], ids=["flower", "row"]
)
def test_studs_are_refused_only_where_no_place_of_a_keyhole_would_do(
    spacing: float, cells: Any
) -> None:
    refused_truly(spacing, cells, 170)


def refused_truly(spacing: float, cells: Any, step: int) -> None:
    """Refused for its studs: no two panels have rests in studs with the centre of mass between
    them by the margin, or a panel is further from all of them than `reach`. A move that is told
    is made, and then nothing is lacking.
    """
    import networkx

    layout, plan = wall(6, cells), plan_of(6)
    mass, strength = masses(layout, 250.0), JointStrength(lift_n=1e9)
    graph = networkx.Graph([(joint.a, joint.b) for joint in layout.joints])
    centre = sum(panel.x for panel in layout.panels) / len(layout.panels)
    half = 15.0 - WallType().drill / 2
    for start in range(0, int(spacing), step):
        left = layout.box[0] + start
        studs = tuple(left + spacing * k for k in range(-2, 5))
        hang = HangParams(studs=studs)
        rests = on_studs(layout, plan, studs, half)
        try:
            hung = choose(WallToHang(layout, {"panel": plan}, mass, hang, WallType(), strength))
        except InputError:
            assert not rests
            continue
        for hanger in hung.hangers:
            assert min(abs(hanger.x - stud) for stud in studs) <= half + 1e-6
        if not hung.lacking:
            continue
        steps = networkx.multi_source_dijkstra_path_length(graph, set(rests)) if rests else {}
        far = max(steps.values(), default=99) > hang.reach
        between = any(
            min(rests[a]) <= centre - 12.0 and max(rests[b]) >= centre + 12.0
            for a in rests
            for b in rests
            if a != b
        )
        assert far or not between
        words = hung.lacking[0].works
        if "add " in words:
            shift = float(words.split("add ")[1].split(" ")[0])
            moved = HangParams(studs=tuple(stud + shift for stud in studs))
            assert not choose(
                WallToHang(layout, {"panel": plan}, mass, moved, WallType(), strength)
            ).lacking


@pytest.mark.slow
@pytest.mark.parametrize("spacing", [400.0, 406.0, 600.0, 625.0])
@pytest.mark.parametrize("cells", [FLOWER, ROW, COMB], ids=["flower", "row", "comb"])
def test_studs_of_every_spacing_from_every_start(spacing: float, cells: Any) -> None:
    refused_truly(spacing, cells, 53)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(40))
def test_a_keyhole_that_may_stand_aside_never_costs_a_screw_on_many(seed: int) -> None:
    test_a_keyhole_that_may_stand_aside_never_costs_a_screw(100 + seed)


def test_a_single_stud_carries_by_screws_over_each_other() -> None:
    """A flower on one stud beside its middle: by hand, the slots' sides hold the moment. Two
    screws dy apart, weight W at e aside: side force W e / dy on each; with one hole off, one screw
    carries W.
    """
    layout, plans = wall(6, FLOWER), {"panel": plan_of(6)}
    mass = masses(layout, 150.0)
    stud = layout.box[0] + 130.0
    hang = HangParams(studs=(stud,))
    hung = choose(WallToHang(layout, plans, mass, hang, WallType(), JointStrength(lift_n=1e9)))
    assert not hung.lacking
    assert hung.groups[0].upright
    weight, count = hung.groups[0].weight_n, len(hung.hangers)
    x, y = (sum(at) / count for at in zip(*((h.x, h.y) for h in hung.hangers), strict=True))
    polar = sum((h.x - x) ** 2 + (h.y - y) ** 2 for h in hung.hangers)
    for h in hung.hangers:
        side = weight * (hung.groups[0].x - x) * (h.y - y) / polar
        assert h.uneven_n == pytest.approx(math.hypot(weight / (count - 1), side), rel=0.02)


def test_a_panel_that_needs_its_own_screw_is_not_told_to_be_too_far_from_one() -> None:
    """A staircase on a stud of its lower column: the top panel is near enough to a screw, but it
    hangs on clips below it alone and would tip off.
    """
    layout = wall(4, [(0, 0), (0, 1), (0, 2), (1, 2), (1, 3)])
    hang = HangParams(studs=(0.0,), reach=2)
    strength = JointStrength(lift_n=1.0)
    known = WallToHang(layout, {"panel": plan_of(4)}, masses(layout), hang, WallType(), strength)
    (fault,) = choose(known).lacking
    assert "a screw of its own" in fault.says
    assert "reach" not in f"{fault.says} {fault.works}"


COLUMN = [(0, 0), (0, 1), (0, 2)]


@cache
def heights_of_rests() -> dict[int, tuple[tuple[float, float], ...]]:
    """So far beside the middle of a hexagon in mm: the heights that are free for a rest."""
    plan = plan_of(6)
    return {k: rest_spans(plan, 90.0, (), float(k), inlet=False) for k in range(-60, 61)}


def held_by_one_stud(layout: Any, stud: float, reach: int) -> bool:
    """Whether two panels have rests in a stud that hold the wall, one over the other by more than
    the weight lies beside them, and no panel is further than `reach` from a rest: every place of
    every floor, in steps of 1 mm, asked for 2 mm more than the rule.
    """
    import networkx

    half = 15.0 - WallType().drill / 2
    rests = {
        panel.name: [
            (panel.x + k, panel.y + spans[0][0], panel.y + spans[-1][1])
            for k, spans in heights_of_rests().items()
            if spans and abs(panel.x + k - stud) <= half
        ]
        for panel in layout.panels
    }
    able = {name for name, found in rests.items() if found}
    graph = networkx.Graph([(joint.a, joint.b) for joint in layout.joints])
    steps = networkx.multi_source_dijkstra_path_length(graph, able) if able else {}
    if len(steps) < len(layout.panels) or max(steps.values()) > reach:
        return False
    centre = sum(panel.x for panel in layout.panels) / len(layout.panels)
    return any(
        high - low - max(abs(x - centre), abs(other - centre)) >= 12.0
        for a, b in combinations(sorted(able), 2)
        for one, two in ((a, b), (b, a))
        for x, _, high in rests[one]
        for other, low, _ in rests[two]
    )


@pytest.mark.parametrize("cells", [FLOWER, COLUMN, COLUMN[:2]], ids=["flower", "three", "two"])
@pytest.mark.parametrize("aside", few([-68, -52, -24, 12, 44, 60, 84, 110], 1, 3, 6))
def test_one_stud_is_refused_only_where_no_two_rests_hold(cells: Any, aside: float) -> None:
    """By low screws in low panels too: at -52 the column of three hangs in no other way."""
    layout, plan = wall(6, cells), plan_of(6)
    stud = sum(panel.x for panel in layout.panels) / len(layout.panels) + aside
    hang = HangParams(studs=(stud,), reach=2)
    able = held_by_one_stud(layout, stud, hang.reach)
    mass, strength = masses(layout, 150.0), JointStrength(lift_n=1e9)
    try:
        hung = choose(WallToHang(layout, {"panel": plan}, mass, hang, WallType(), strength))
    except InputError:
        assert not able
        return
    assert not (hung.lacking and able)
    for hanger in hung.hangers:
        assert abs(hanger.x - stud) <= 15.0 - WallType().drill / 2 + 1e-6


@pytest.mark.parametrize("seed", few(range(60), 22, 43))
def test_no_move_of_the_wall_is_told_only_where_none_works(seed: int) -> None:
    """Studs anywhere under a small wall: every move of 10 mm up to 400 mm is made by force."""
    rng = random.Random(seed)
    sides = (6, 4)[seed % 2]
    layout = wall(sides, random_cells(rng, sides, rng.randint(2, 7)))
    plans = {"panel": plan_of(sides)}
    mass, strength = masses(layout, 150.0), JointStrength(lift_n=1e9)
    left, _, _, _ = layout.box
    studs = [
        left + rng.uniform(0, 400) + rng.choice([300.0, 406.0, 600.0]) * k
        for k in range(rng.randint(1, 3))
    ]
    reach = rng.choice([1, 2, 3])

    def lacking(shift: float, *, reasons: bool = False) -> str:
        """What is told of the wall moved to the left; "" where it hangs."""
        hang = HangParams(studs=tuple(stud + shift for stud in studs), reach=reach)
        try:
            known = WallToHang(layout, plans, mass, hang, WallType(), strength)
            hung = choose(known, reasons=reasons)
        except InputError as refused:
            return str(refused)
        return " ".join(fault.works or "no" for fault in hung.lacking)

    words = lacking(0.0, reasons=True)
    if told := re.search(r"add ([+-][\d.]+) to every stud", words):
        assert not lacking(float(told[1]))
    elif words:
        moves = [10.0 * k for k in range(-40, 41)]
        assert all(lacking(shift) for shift in moves), words
