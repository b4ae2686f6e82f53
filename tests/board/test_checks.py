"""Every way in which a given board does not fit is told with its place and amount, and its remedy
works.
"""

from __future__ import annotations

import dataclasses
import math
import re
from collections.abc import Callable
from typing import Any

import pytest

from fab.checks.board import board_checks
from fab.checks.broken import faults
from fab.checks.plan import plan_checks
from fab.checks.remedy import turned
from fab.outlines.curves import corners_of
from fab.params.boardparams import BoardPart
from fab.parts.board_source import board_layout
from fab.parts.plan import Plan


def given(
    plan: Any, *, outline: Any = None, change: Any = None, extra: Any = (), **board: Any
) -> Any:
    """The design with its own board written out as if it were given, with one thing changed."""
    layout = board_layout(plan)
    curves = tuple(corners_of(contour) for contour in (layout.outline.edge, *layout.outline.holes))
    parts = [
        BoardPart(
            kind=p.kind,
            x=p.x,
            y=p.y,
            turn_deg=p.turn_deg % 360,
            width=p.width,
            depth=p.depth,
            height=p.height,
            side=p.side,
        )
        for p in (*layout.holes, *layout.sockets, *layout.switches, *layout.leds)
    ]
    if change is not None:
        parts = [change(part) for part in parts]
    parts = [part for part in parts if part is not None]
    outline = curves[:1] if outline == "edge" else outline  # the list alone tells of holes then
    params = dataclasses.replace(
        plan.params,
        board=dataclasses.replace(
            plan.params.board, outline=outline or curves, part=(*parts, *extra), **board
        ),
    )
    return dataclasses.replace(plan, params=params)


def failed(plan: Any, inlets: Any = ()) -> Any:
    return {v.id: v for v in board_checks("panel", plan, inlets, faults) if v.verdict == "fail"}


def only(kind: Any, **values: Any) -> Any:
    """Changes the first part of a kind."""
    seen: list[Any] = []

    def change(part: Any) -> Any:
        if part.kind == kind and not seen:
            seen.append(part)
            return dataclasses.replace(
                part,
                **{key: value(part) if callable(value) else value for key, value in values.items()},
            )
        return part

    return change


@pytest.mark.parametrize("panel", ["hexagon-120", "edge90-square", "edge90-triangle"])
@pytest.mark.parametrize("sets", [(), ("panel.switch.on=true", "panel.shell.fixing=snap")])
def test_a_drawn_board_passes_and_so_does_the_same_one_given(
    design: Callable[..., Plan], panel: str, sets: Any
) -> None:
    plan = design(panel=panel, sets=sets)
    assert not failed(plan)
    assert not failed(given(plan))


TALL = BoardPart(
    kind="part", x=10.0, y=5.0, width=8.0, depth=8.0, height=4.0, side="back", name="U1"
)

# id of the check, what is wrong, words of its sentence
SEEDED = [
    ("board.sockets", {"change": only("socket", side="front")}, "edge 0 has none, 1 on the front"),
    (
        "board.sockets",
        {"change": lambda p: None if p.kind == "socket" and p.x < -50 else p},
        "under the board: 5 of 6",
    ),
    (
        "board.socket-middle",
        {"change": only("socket", y=0.8)},
        r"socket of edge 0 from the edge's middle: 0\.8 mm, at x 56\.\d+, y 0\.8 mm",
    ),
    (
        "board.socket-turn",
        {"change": only("socket", turn_deg=4.0)},
        "edge 0 is turned 4 degrees away",
    ),
    (
        "board.socket-reach",
        {"change": only("socket", x=lambda p: p.x - 3.0)},
        r"into the socket of edge 0: 2\.37 mm",
    ),
    (
        "board.socket-wall",
        {"change": only("socket", x=lambda p: p.x + 0.5)},
        "edge 0 to base wall: -0.2 mm",
    ),
    ("board.socket-height", {"change": only("socket", height=4.0)}, "for the socket of edge 0"),
    ("board.socket-pins", {"change": only("socket", width=5.0)}, "socket of edge 0: 5 mm"),
    ("board.hole-screw", {"change": only("hole", width=2.9)}, "2.9 mm hole at x 48"),
    ("board.hole-rim", {"change": only("hole", width=6.2)}, "6.2 mm hole"),
    (
        "board.hole-edge",
        {"outline": "edge", "change": only("hole", x=lambda p: p.x * 1.03, y=lambda p: p.y * 1.03)},
        r"0\.\d+ mm, at x 50",
    ),
    (
        "board.hole-standoff",
        {"change": only("hole", x=52.0, y=14.0)},
        "standoff to the clip pocket of edge 0",
    ),
    (
        "board.holes",
        {
            "change": lambda p: None if p.kind == "hole" else p,
            "outline": ((((-9.0, -9.0), (9.0, -9.0), (0.0, 9.0))),),
        },
        "Mounting holes of the board: 0",
    ),
    (
        "board.led-screw",
        {"change": only("led", x=48.6, y=28.0)},
        "LED 1 to the head of a board screw",
    ),
    (
        "board.led-led",
        {"change": only("led", x=lambda p: p.x, y=lambda p: p.y + 11.0)},
        "to the next LED: -0.9 mm",
    ),
    ("board.led-edge", {"change": only("led", x=58.0, y=0.0)}, "LED 1 to board edge"),
    (
        "board.led-side",
        {"change": only("led", side="back")},
        "LEDs on the back of the board, where they light the room wall: 1",
    ),
    (
        "board.part-floor",
        {"extra": (dataclasses.replace(TALL, height=11.6),)},
        r"part U1 under the board to the floor: 0\.\d+ mm, at x 10, y 5 mm",
    ),
    (
        "board.part-floor",
        {"extra": (dataclasses.replace(TALL, x=50.0, y=16.0, height=9.0),)},
        "under the board to a clip",
    ),
    (
        "board.part-top",
        {"extra": (dataclasses.replace(TALL, side="front", height=30.0),)},
        "part U1 on the board to the diffuser: -",
    ),
    (
        "board.part-floor",
        {"extra": (dataclasses.replace(TALL, width=0.0, depth=0.0, height=11.6),)},
        r"part U1 under .* x 10, y 5",
    ),
    (
        "board.hole-drawn",
        {"change": only("hole", x=lambda p: p.x - 4.0)},
        r"list at x 44\.62, y 26\.57 mm to the nearest hole of the drawing: 4 mm",
    ),
    (
        "board.part-wall",
        {"extra": (dataclasses.replace(TALL, x=54.0, y=0.0, side="front"),)},
        "part U1 to the base wall",
    ),
]


@pytest.mark.parametrize(
    ("check", "fault", "says"), SEEDED, ids=[f"{k}-{row[0]}" for k, row in enumerate(SEEDED)]
)
def test_a_seeded_fault_is_caught_with_its_place(
    design: Callable[..., Plan], check: Any, fault: Any, says: str
) -> None:
    found = failed(given(design(), **fault))
    assert check in found, sorted(found)
    assert re.search(says, found[check].says), found[check].says
    assert found[check].remedy


def test_a_board_too_large_says_where_and_by_how_much(design: Callable[..., Plan]) -> None:
    plan = design()
    grown = given(design(sets=["panel.across_flats=121.4"]))
    here = dataclasses.replace(
        plan, params=dataclasses.replace(plan.params, board=grown.params.board)
    )
    found = failed(here)["board.outline"]
    assert found.measured == pytest.approx(
        0.3 - 0.7 / math.cos(math.pi / 6), abs=1e-4
    )  # the corners stick out most
    assert re.search(r"edge \d|corner \d", found.says)
    key, value = re.search(r"Set panel\.(\w+) = ([\d.]+)\.", found.remedy).groups()
    assert "board.outline" not in failed(turned(here, key, float(value)))


def test_switches_out_of_line_and_too_near_to_the_corner(design: Callable[..., Plan]) -> None:
    plan = design(sets=["panel.switch.on=true", "panel.shell.fixing=snap"])
    assert "board.switch-line" in failed(given(plan, change=only("switch", x=lambda p: p.x + 0.8)))
    assert "board.switch-height" in failed(given(plan, change=only("switch", height=4.8)))
    found = failed(given(plan, change=only("switch", y=18.0)))["board.switch-rib"]
    assert "switch of edge 0" in found.says


def test_an_outline_that_crosses_itself_stops_before_any_solid(design: Callable[..., Plan]) -> None:
    plan = design("[panel.board]\noutline = [[[-20, -20], [20, 20], [20, -10], [-20, 20]]]\n")
    found = [v for v in plan_checks("panel", plan) if v.verdict == "fail"]
    assert [v.id for v in found] == ["board.closed"]
    assert "crosses itself" in found[0].says


def test_a_hole_outside_the_outline_is_told(design: Callable[..., Plan]) -> None:
    plan = design(
        "[panel.board]\noutline = [[[-20, -20], [20, -20], [20, 20], [-20, 20]], [[30, 0, 1], [27,"
        " 0, 1]]]\n"
    )
    assert "lies outside it at x 30" in failed(plan)["board.closed"].says


def test_what_was_put_right_is_a_warning(design: Callable[..., Plan]) -> None:
    plan = given(design(), notes=("2 doubled lines dropped",))
    found = [v for v in board_checks("panel", plan) if v.id == "board.cleaned"]
    assert [(v.verdict, "2 doubled lines" in v.says) for v in found] == [("warn", True)]


def test_the_outline_gap_is_exact_on_true_arcs(design: Callable[..., Plan]) -> None:
    """A round board: the gap to each straight side is apothem less radius; to each cut corner facet
    less radius.
    """
    plan = design("[panel.board]\noutline = [[[56.0, 0, 1], [-56.0, 0, 1]]]\n")
    found = {v.id: v for v in board_checks("panel", plan)}["board.outline"]
    ring = plan.rings.base_inner
    assert found.measured == pytest.approx(min(ring.apothem, ring.facet) - 56.0, abs=1e-9)


def test_a_part_under_the_ledge_has_less_room(design: Callable[..., Plan]) -> None:
    part = dataclasses.replace(TALL, side="front", x=50.0, y=0.0, height=16.7)
    assert "board.part-top" not in failed(given(design(), extra=(part,)))
    assert (
        "the ledge"
        in failed(given(design(sets=["panel.shell.ledge=8"]), extra=(part,)))["board.part-top"].says
    )


def test_a_board_that_no_solid_can_be_made_round_is_told_with_its_places(
    design: Callable[..., Plan],
) -> None:
    """A part that reaches down to the screws stops the build before any solid; what else is wrong
    is told with it.
    """
    from fab.errors import CheckFailed
    from fab.workshop import refuse_unbuildable

    plan = given(design(sets=("panel.board.controller_height=14",)), change=only("socket", y=0.8))
    with pytest.raises(CheckFailed) as caught:
        refuse_unbuildable({"panel": plan})
    assert "fit.board-parts" in str(caught.value)
    assert re.search(
        r"board\.socket-middle .* from the edge's middle: 0\.8 mm, at x 56\.\d+, y 0\.8 mm",
        str(caught.value),
    )
