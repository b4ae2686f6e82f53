"""The inlet's board in its cradle: what holds it, measured on the base's solid with the board moved
into it, against the areas that the check of the cable's pull counts with.
"""

from __future__ import annotations

from typing import Any

import pytest

from fab.checks.room import cable_pull
from fab.parts.base import base_body
from fab.parts.bought import receptacle
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


def test_washer_lies_on_the_board() -> None:
    """Without feet: the screw's washer reaches over the board's end and rests on it."""
    parts = dict(receptacle(lies(False)))
    up = kernel.moved(parts["inlet board"], 0.0, 0.0, BY)
    assert kernel.overlap_mm3(parts["inlet screw"], parts["inlet board"]) < 1e-6
    assert kernel.overlap_mm3(parts["inlet screw"], up) / BY > 1.0
