"""Jumpers: their sizes against brute force, their room against the solids, and seeded faults that
the checks catch.
"""

from __future__ import annotations

import dataclasses
import itertools
import math
from collections.abc import Callable, Sequence
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fab.checks import fit, jumper_measured
from fab.checks.jumpers import RULES, jumper_checks, opened_check
from fab.checks.plan import plan_checks
from fab.decisions import outline
from fab.layout.kinds import base_uses
from fab.layout.model import BaseKind
from fab.outlines.contour import Arc
from fab.params.job import Job, JointParams, LayoutParams
from fab.params.panel import PanelParams
from fab.parts import jumper
from fab.parts.apart import boxes_apart
from fab.parts.assembly import jumper_parts, printed
from fab.parts.base import base, base_body
from fab.parts.jumpersizes import (
    jumper_sizes,
    path_mm,
    pole_ohm,
    rim_corners,
    slackness,
    wire_length,
    wire_path,
    wire_range,
)
from fab.parts.keyhole import keyhole_for
from fab.parts.leds import led_grid
from fab.parts.placed import Named, Printed
from fab.parts.plan import Plan
from fab.parts.vents import vent_slots
from fab.solids import kernel
from tests.cases import few

from .designs import SHOP, changed, failed, plan_with

SHIPPED = (  # as the shipped designs have them
    {"across_flats": 120.0, "depth": 40.0, "led.margin": 3.6, "led.pitch": 15.1},
    {"edge": 90.0, "depth": 48.0, "led.margin": 3.6, "led.pitch": 16.25},
    {
        "sides": 4,
        "edge": 90.0,
        "depth": 48.0,
        "led.margin": 3.6,
        "led.pitch": 15.0,
        "led.pattern": "square",
    },
    {"sides": 3, "edge": 90.0, "depth": 48.0, "led.margin": 3.6, "led.pitch": 16.25},
)


def opened(plan: Plan, edges: Sequence[int] | None = None, inlet: bool = False) -> BaseKind:
    chosen = tuple(range(1 if inlet else 0, plan.cell.sides)) if edges is None else tuple(edges)
    return BaseKind("jumper", "panel", inlet, None, "", 0, chosen)


@pytest.mark.parametrize("size", SHIPPED)
def test_shipped_sizes_take_a_jumper_at_every_edge(size: dict[str, Any]) -> None:
    plan = plan_with(size)
    assert not failed(jumper_checks("panel", plan, [opened(plan), opened(plan, inlet=True)]))


@given(st.floats(0.0, 1.0), st.sampled_from(SHIPPED), st.floats(14.0, 20.0))
def test_the_wires_way_is_smooth_and_as_long_as_said(
    slack: float, size: dict[str, Any], high: float
) -> None:
    """By steps along the path: no jump, no corner, no bend under the least radius, nothing under
    the wall face.
    """
    plan = plan_with({**size, "board.height": high})
    path, sizes = wire_path(plan, slack), jumper_sizes(plan)
    assert path[0].start == (sizes.row_u, sizes.exit_z)
    assert path[-1].end[0] == 0.0
    points = []
    for seg in path:
        steps = range(2001)
        points += [
            (
                seg.at(k / 2000)
                if isinstance(seg, Arc)
                else tuple(a + (b - a) * k / 2000 for a, b in zip(seg.start, seg.end, strict=True))
            )
            for k in steps
        ]
    walked = sum(math.dist(a, b) for a, b in itertools.pairwise(points))
    assert walked == pytest.approx(path_mm(path), rel=1e-5)
    assert min(z for _, z in points) == pytest.approx(sizes.wire_z, abs=1e-6)
    headings = [
        math.atan2(b[1] - a[1], b[0] - a[0])
        for a, b in itertools.pairwise(points)
        if math.dist(a, b) > 1e-9
    ]
    bends = [abs(math.remainder(b - a, 2 * math.pi)) for a, b in itertools.pairwise(headings)]
    assert max(bends) < 0.01  # a corner would turn at once
    assert all(
        seg.radius_mm >= min(sizes.least_r, sizes.taut_r) - 1e-9
        for seg in path
        if isinstance(seg, Arc)
    )


def test_a_longer_wire_lies_slacker() -> None:
    plan = plan_with()
    lengths = [path_mm(wire_path(plan, k / 20)) for k in range(21)]
    assert lengths == sorted(lengths)
    shortest, longest = wire_range(plan, plan)
    made = wire_length(plan, plan)
    assert shortest < made < longest
    assert 2 * path_mm(wire_path(plan, slackness(plan, plan))) == pytest.approx(made, abs=1e-6)


def test_ohms_of_a_pole_by_hand() -> None:
    """Two contacts of 20 mohm and 52 mm of wire with 85 mohm/m: 44.4 mohm.

    By hand; the values are the defaults.
    """
    plan = plan_with()
    assert wire_length(plan, plan) == 52.0
    assert pole_ohm(plan, plan) == pytest.approx(0.04 + 0.085 * 0.052)


# LEDs stand where the row would be nearest to the edge
MOVED = (
    {"led.pitch": 12.0},
    {"led.pitch": 13.0},
    {"led.pitch": 14.0, "led.margin": 6.0},
)


@pytest.mark.parametrize("size", [*SHIPPED, *MOVED])
def test_no_tail_of_a_row_meets_an_led(size: dict[str, Any]) -> None:
    """Every tail at every edge against every LED of the grid, one by one."""
    plan = plan_with(size)
    reach, half = plan.cell.apothem - jumper_sizes(plan).row_u, plan.params.led.size / 2
    for edge, k in itertools.product(range(plan.cell.sides), range(plan.params.header.pins)):
        t, angle = (k - 2) * plan.params.jumper.pitch, 2 * math.pi * edge / plan.cell.sides
        x, y = (
            reach * math.cos(angle) - t * math.sin(angle),
            reach * math.sin(angle) + t * math.cos(angle),
        )
        gap = min(
            math.hypot(max(abs(x - a) - half, 0), max(abs(y - b) - half, 0))
            for a, b in led_grid(plan)
        )
        assert gap >= 0.7 + 0.3 - 1e-6


@settings(max_examples=60)
@given(st.sampled_from(SHIPPED), st.floats(0, 359), st.booleans(), st.data())
def test_keyholes_keep_clear_of_openings(
    size: dict[str, Any], up: float, inlet: bool, data: st.DataObject
) -> None:
    """The screw's head on its whole travel, by discs, against the rims; and the air slots."""
    plan = plan_with({**size, "base.vents": True})
    edges = tuple(sorted(data.draw(st.sets(st.integers(1, plan.cell.sides - 1), min_size=1))))
    hole = keyhole_for(plan, up, edges, inlet=inlet)
    rims = [rim_corners(plan, edge) for edge in edges]
    for start, end, width in vent_slots(plan, hole, edges):
        assert all(boxes_apart((start, end), rim) > width / 2 for rim in rims)
    if hole is None:
        return
    radius = plan.params.hanger.head_d / 2
    for k in range(21):
        x, y = (a + (b - a) * k / 20 for a, b in zip(hole.entry, hole.rest, strict=True))
        disc = [
            (x + radius * math.cos(w * math.pi / 12), y + radius * math.sin(w * math.pi / 12))
            for w in range(24)
        ]
        assert all(boxes_apart(disc, rim) > 0.2 for rim in rims)


@pytest.mark.parametrize("size", SHIPPED)
def test_shipped_sizes_hang_with_all_openings(size: dict[str, Any]) -> None:
    """On a side and upside down there is room for a keyhole between the openings of all edges."""
    plan = plan_with(size)
    for up in (180.0 / plan.cell.sides, 0.0):
        assert keyhole_for(plan, up, range(plan.cell.sides), inlet=False) is not None


RULE_FAULTS: dict[str, dict[str, Any]] = {
    "fit.jumper-bend": {"jumper.stack": 11.0},
    "fit.jumper-row": {"jumper.row_height": 11.5},
    "fit.jumper-wall": {"jumper.row_depth": 10.0, "header.socket_depth": 1.0, "jumper.air": 2.0},
    "fit.jumper-corner": {"sides": 3, "edge": 60.0},
    "fit.jumper-floor": {"jumper.wire_d": 2.4, "jumper.bend": 0.5},
    "fit.jumper-length": {"jumper.slack": 3.0},
    "fit.jumper-led": {"led.pattern": "square", "led.pitch": 6.0, "led.margin": 4.0},
    "print.jumper-bridge": {"jumper.pitch": 2.8},
    "fit.jumper-clip": {"jumper.pitch": 4.5},
    "fit.jumper-clear": {"header.socket_depth": 1.0, "jumper.row_end": 8.0},
}


@pytest.mark.parametrize("rule", few(sorted(RULE_FAULTS), 0, 4))
def test_a_rule_is_broken_by_the_value_it_watches(rule: str) -> None:
    plan = plan_with(RULE_FAULTS[rule])
    found = {verdict.id: verdict for verdict in jumper_checks("panel", plan, [opened(plan)])}
    assert found[rule].verdict == "fail", found
    assert found[rule].remedy


def test_every_rule_has_a_seeded_fault() -> None:
    assert {rule.id for rule in RULES} == set(RULE_FAULTS)


def test_a_remedy_cures() -> None:
    """A plug that is too tall for its bend: the height of the board that is told passes."""
    plan = plan_with({"jumper.stack": 10.0, "jumper.wire_d": 1.4})
    verdict = next(
        v for v in jumper_checks("panel", plan, [opened(plan)]) if v.id == "fit.jumper-bend"
    )
    assert verdict.verdict == "fail"
    high = float(verdict.remedy.split("=")[1].strip(" ."))
    assert "board.height" in verdict.remedy
    cured = plan_with({"jumper.stack": 10.0, "jumper.wire_d": 1.4, "board.height": high})
    assert "fit.jumper-bend" not in failed(jumper_checks("panel", cured, [opened(cured)]))


def test_no_opening_no_verdict() -> None:
    plan = plan_with({"jumper.stack": 11.0})
    assert jumper_checks("panel", plan, [BaseKind("plain", "panel", False, None, "")]) == ()


def test_a_keyhole_without_room_is_told() -> None:
    """A triangle that hangs askew, with openings at all edges: the check fails and says so; without
    them it passes.
    """
    plan = plan_with({"sides": 3, "edge": 90.0})
    for edges, fails in (((0, 1, 2), True), ((), False)):
        kind = BaseKind("hanger-A", "panel", False, 30.0, "A", 0, edges)
        found = failed(plan_checks("panel", plan, [kind]))
        assert ("fit.keyhole" in found) is fails


# -- solids
# --------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def triangle() -> tuple[Plan, Printed]:
    """The tightest of the shipped sizes, an opening at every edge."""
    plan = plan_with({"sides": 3, "edge": 90.0})
    return plan, printed(plan, opened(plan))


def scene(plan: Plan, made: Printed) -> list[Named]:
    return jumper_parts(plan, made, 1, plan, made, 1)


@pytest.mark.slow
def test_a_jumper_lies_in_its_joint(triangle: tuple[Plan, Printed]) -> None:
    plan, made = triangle
    verdicts = fit.jumper_verdicts(plan, plan, scene(plan, made), "joint")
    assert not failed(verdicts), [v.says for v in verdicts if v.verdict == "fail"]
    assert {
        "fit.jumper-way",
        "fit.jumper-air",
        "fit.jumper-flush",
        "fit.jumper-wires",
        "fit.jumper-lies",
    } <= {v.id for v in verdicts}


def other(plan: Plan, overrides: dict[str, Any]) -> Plan:
    return dataclasses.replace(plan, params=changed(plan.params, overrides))


def lowered(part: str, by: float) -> Callable[[Plan, list[Named]], list[Named]]:
    return lambda plan, parts: [p.moved(dz=-by) if p.part == part else p for p in parts]


def aside(part: str, by: float) -> Callable[[Plan, list[Named]], list[Named]]:
    return lambda plan, parts: [p.moved(dy=by) if p.part == part else p for p in parts]


def on_an_led(plan: Plan, parts: list[Named]) -> list[Named]:
    """Board A's row of tails, moved so far that one tail stands on the nearest LED."""
    tails = next(p for p in parts if p.part == "tail" and p.name.startswith("A"))
    lit = next(p for p in parts if p.part == "led" and p.name.startswith("A"))
    ways = [
        led.Center() - tail.Center()
        for tail, led in itertools.product(tails.solid.Solids(), lit.solid.Solids())
    ]
    way = min(ways, key=lambda w: math.hypot(w.x, w.y))
    return [p.moved(dx=way.x, dy=way.y) if p is tails else p for p in parts]


def shallow(plan: Plan, parts: list[Named]) -> list[Named]:
    """A base whose channel was made for thinner wires."""
    wrong = base(other(plan, {"jumper.wire_d": 0.4}), opened(plan))
    return [
        Named(p.name, p.part, kernel.turned(wrong, -120.0), p.group) if p.name == "A base" else p
        for p in parts
    ]


def closed(plan: Plan, parts: list[Named]) -> list[Named]:
    """A base without the opening."""
    wrong = base(plan, BaseKind("plain", "panel", False, None, ""))
    return [
        Named(p.name, p.part, kernel.turned(wrong, -120.0), p.group) if p.name == "A base" else p
        for p in parts
    ]


def _tall(plan: Plan, part: Named) -> Named:
    """A plug of a stack that ends out of the base's back."""
    if part.part != "jumper plug" or not part.name.startswith("A"):
        return part
    tall = jumper.plug(other(plan, {"jumper.stack": 15.0}))
    return Named(part.name, part.part, tall, part.group)


SOLID_FAULTS: dict[str, tuple[Callable[[Plan, list[Named]], list[Named]], str]] = {
    "a plug too tall": (lambda plan, parts: [_tall(plan, p) for p in parts], "fit.jumper-stack"),
    "a channel too shallow": (shallow, "fit.jumper-wires"),
    "no opening": (closed, "fit.jumper-way"),
    "a plug out of line": (aside("jumper plug", 0.4), "fit.jumper-air"),
    "wires that stand out": (lowered("wire", 0.3), "fit.jumper-flush"),
    "a row on an LED": (on_an_led, "fit.jumper-tails"),
    "a row in the socket": (
        lambda plan, parts: [p.moved(dx=2.0) if p.part == "pin row" else p for p in parts],
        "fit.overlap",
    ),
}


QUICK = ("a row in the socket",)


@pytest.mark.parametrize(
    "name",
    [
        name if name in QUICK else pytest.param(name, marks=pytest.mark.slow)
        for name in sorted(SOLID_FAULTS)
    ],
)
def test_a_seeded_fault_is_caught(triangle: tuple[Plan, Printed], name: str) -> None:
    plan, made = triangle
    spoil, check = SOLID_FAULTS[name]
    parts = spoil(plan, scene(plan, made))
    # the one place where rows share room with anything, without the rest of the proof
    if check == "fit.overlap":
        pairs = [pair for pair in fit._pairs(parts) if any(part.part == "pin row" for part in pair)]
        assert check in failed([fit._overlap_verdict(pairs, "joint", set())])
    else:
        assert check in failed(jumper_measured.jumper(plan, plan, parts, "joint"))


def test_an_opening_over_a_standoff_is_caught() -> None:
    """A standoff of a given board in the way: the plan says so, and the solids do."""
    from fab.params.boardparams import BoardPart

    plain = plan_with()
    at = plain.cell.apothem - jumper_sizes(plain).row_u
    holes = tuple(BoardPart(kind="hole", x=x, y=y, width=3.2) for x, y in ((at, 0.0), (-40.0, 0.0)))
    rows = tuple(
        BoardPart(kind="jumper", x=at * math.cos(k * math.pi / 3), y=at * math.sin(k * math.pi / 3))
        for k in range(6)
    )
    plan = other(plain, {"board.part": (*holes, *rows)})
    assert "fit.jumper-clear" in failed(jumper_checks("panel", plan, [opened(plan)]))


def test_without_openings_a_base_is_what_it_was() -> None:
    from fab.solids.brep import to_brep

    plan = plan_with({"sides": 3, "edge": 90.0})
    body = base_body(plan, inlet=False)
    assert to_brep(jumper.opened(plan, body, ())) == to_brep(body)


def test_a_given_board_without_rows_is_told() -> None:
    from fab.params.boardparams import BoardPart

    plan = other(plan_with(), {"board.part": (BoardPart(kind="hole", x=40.0, y=0.0, width=3.2),)})
    assert "board.jumper" in failed(jumper_checks("panel", plan, [opened(plan)]))


def block(**base: float) -> Job:
    """A block of 19 hexagons with a jumper at every joint."""
    return Job(
        shop=SHOP,
        panel=changed(
            PanelParams(),
            {"across_flats": 120.0} | {f"base.{key}": value for key, value in base.items()},
        ),
        joint=JointParams(jumper="all"),
        layout=LayoutParams(
            cells=tuple((q, r) for q in range(-2, 3) for r in range(-2, 3) if abs(q + r) <= 2)
        ),
    )


def test_behind_feet_an_inlet_keeps_off_the_opening_of_a_jumper() -> None:
    found = outline(block(feet=12.0))
    assert len(found.table.jumpers) == 42
    assert all(
        edge not in found.table.jumper_edges.get(name, ())
        for name, edge in found.wired.inlets.items()
    )


def test_a_base_without_the_opening_that_its_jumper_needs_is_told() -> None:
    found = outline(block())
    layout, jumpers = found.layout, found.table.jumpers
    good = base_uses(layout, found.wired.inlets, {}, jumpers=found.opened)
    assert [verdict.verdict for verdict in opened_check(layout, good, jumpers)] == ["pass"]
    name, edges = next(iter(found.opened.items()))
    bad = base_uses(layout, found.wired.inlets, {}, jumpers={**found.opened, name: edges[1:]})
    (verdict,) = opened_check(layout, bad, jumpers)
    assert (verdict.verdict, verdict.measured) == ("fail", 1)
    assert name in verdict.says


def test_every_edge_is_open_when_asked_but_that_of_an_inlet() -> None:
    job = dataclasses.replace(block(), joint=JointParams(jumper="never", openings="all"))
    found = outline(job)
    assert found.table.jumpers == ()
    for panel in found.layout.panels:
        assert set(found.opened[panel.name]) == set(range(6)) - {found.wired.inlets.get(panel.name)}
