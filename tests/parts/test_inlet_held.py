"""The inlet's board in its cradle: what holds it, measured on the base's solid with the board moved
into it, against the areas that the check of the cable's pull counts with.
"""

from __future__ import annotations

from typing import Any

import pytest

from fab.checks.room import cable_pull, tied_cable
from fab.parts.base import base_body
from fab.parts.bought import receptacle
from fab.parts.bought import tie as bought_tie
from fab.parts.plan import Plan
from fab.solids import kernel
from fab.wall.strength import safe_stress
from tests.checks.designs import plan_with

BY = 0.1  # how far the board is pressed into what holds it, mm


def lies(feet: bool) -> Plan:
    return plan_with({"base.feet": 8.0} if feet else {})


@pytest.fixture(scope="module", params=[False, True], ids=["on the wall", "on feet"])
def held(request: pytest.FixtureRequest) -> Any:
    plan = lies(request.param)
    return plan, base_body(plan, inlet=True), dict(receptacle(plan))


def pressed_mm2(held: Any, out: float) -> float:
    """Area that the board bears on when it is moved `out` past its play, outwards or inwards."""
    plan, body, parts = held
    play = 0.1 if out > 0 else plan.fit("inlet")
    moved = kernel.moved(parts["inlet board"], out * (play + BY), 0.0, 0.0)
    return kernel.overlap_mm3(moved, body) / BY


def test_board_bears_on_what_the_check_counts(held: Any) -> None:
    """Both ways; the base bears no less than counted, and 15 N twice over at its safe stress."""
    plan = held[0]
    inlet, stress = plan.params.inlet, safe_stress(plan.filament)
    ends = 2 * (inlet.board_w / 2 - inlet.shell_w / 2 - 0.4) * inlet.board_t
    beside = (inlet.board_w - inlet.shell_w - 2 * plan.fit("inlet")) * inlet.board_t
    counted = ends if plan.inlet.behind else beside
    cable_s = pressed_mm2(held, -1.0 if plan.inlet.behind else 1.0)
    assert cable_s >= counted - 1e-3
    assert cable_pull(plan) <= counted * stress + 1e-9
    assert min(cable_s, pressed_mm2(held, 1.0), pressed_mm2(held, -1.0)) * stress >= 30.0
    assert cable_pull(plan) >= 30.0


def test_board_has_its_play_and_no_more(held: Any) -> None:
    """No rattle beyond the fit: free at its place, caught when it is moved past its play."""
    plan, body, parts = held
    board, play = parts["inlet board"], plan.fit("inlet")
    assert kernel.overlap_mm3(board, body) == pytest.approx(0.0, abs=1e-6)
    for dx, dy in ((-play, 0.0), (0.0, play), (0.0, -play)):
        near = kernel.moved(board, 0.98 * dx, 0.98 * dy, 0.0)
        past = kernel.moved(board, 1.25 * dx, 1.25 * dy, 0.0)
        assert kernel.overlap_mm3(near, body) == pytest.approx(0.0, abs=1e-6)
        assert kernel.overlap_mm3(past, body) > 0.05
    down = kernel.moved(board, 0.0, 0.0, -0.05)
    assert kernel.overlap_mm3(down, body) > 0.05  # it lies on its rails


def test_washer_presses_on_the_board_alone(held: Any) -> None:
    """The screw's washer rests on the board and on nothing that stands beside it: it pinches a
    board up to 0.3 mm thinner than stated.
    """
    _, body, parts = held
    screw, board = parts["inlet screw"], parts["inlet board"]
    assert kernel.overlap_mm3(screw, board) < 1e-6
    assert kernel.overlap_mm3(screw, kernel.moved(board, 0.0, 0.0, BY)) / BY > 1.0
    pressed = kernel.moved(screw, 0.0, 0.0, -0.28)
    assert kernel.overlap_mm3(pressed, body) < 1e-6
    assert kernel.overlap_mm3(screw, parts["receptacle"]) < 1e-6


@pytest.mark.slow
def test_board_on_feet_is_caught_at_both_ends_when_it_lifts() -> None:
    """Cable pulled or pushed across: the outer end meets the two lips, the inner one the washer,
    and the lips bear what the check counts with; a board that lies still touches no lip.
    """
    plan = lies(True)
    body, parts = base_body(plan, inlet=True), dict(receptacle(plan))
    board, inlet = parts["inlet board"], plan.params.inlet
    wall_x = plan.cell.apothem - plan.edge.wall_u
    outer = kernel.box(wall_x - 3.0, wall_x, -20.0, 20.0, 0.0, 30.0)
    lifted = kernel.moved(board, 0.0, 0.0, 0.6)
    assert kernel.overlap_mm3(kernel.common(lifted, outer), body) > 0.3
    assert kernel.overlap_mm3(lifted, parts["inlet screw"]) > 1.0
    assert kernel.overlap_mm3(kernel.moved(board, 0.0, 0.0, 0.1), body) < 1e-6
    for side in (1, -1):
        t0, t1 = sorted((side * (inlet.board_w / 2 - 2.5), side * inlet.board_w / 2))
        top = plan.inlet.board_z + inlet.board_t
        lip = kernel.box(wall_x - 0.02, wall_x - 0.01, t0, t1, top, top + 4.0)
        assert kernel.overlap_mm3(lip, body) / 0.01 == pytest.approx(2.5 * 2.0, rel=0.02)


@pytest.mark.slow
def test_a_cable_is_tied_between_ribs_with_windows() -> None:
    """A tie 3.5 x 1.2 mm passes under the cable through both ribs; moved along, it bears on the
    ribs by the area that the check counts with.
    """
    plan = plan_with({"inlet.kind": "round"})
    body, wall = base_body(plan, inlet=True), plan.inlet.rib_wall
    x = plan.cell.apothem - plan.inlet.tie_u
    low, reach = plan.floor.top_z + 0.1, plan.inlet.half + 3.0

    def tie(by: float) -> Any:
        return kernel.box(x - 1.75 + by, x + 1.75 + by, -reach, reach, low, low + 1.2)

    assert kernel.overlap_mm3(tie(0.0), body) < 1e-6
    assert kernel.overlap_mm3(bought_tie(plan), body) < 1e-6  # the largest that is sold for it
    for way in (1.0, -1.0):
        over = kernel.overlap_mm3(tie(way * (0.5 + BY)), body) / BY
        assert over == pytest.approx(2 * wall * 1.2, rel=0.02)
    assert tied_cable(plan) >= 30.0
