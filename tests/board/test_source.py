"""The board as one type, drawn here or given: the same places for everybody who asks."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest

from fab.outlines.contour import Outline, circle
from fab.outlines.curves import contour_of, corners_of
from fab.outlines.shapes import cut_corner, regular, slot
from fab.outputs.board import positions
from fab.parts.board_source import board_layout, edge_of, lit_floor
from fab.parts.leds import led_grid
from fab.parts.plan import Plan


@pytest.mark.parametrize("panel", ["hexagon-120", "edge90-square", "edge90-triangle"])
def test_a_drawn_board_has_everything_where_its_plan_has_it(
    design: Callable[..., Plan], panel: str
) -> None:
    plan = design(panel=panel, sets=["panel.switch.on=true", "panel.shell.fixing=snap"])
    board = board_layout(plan)
    n = plan.cell.sides
    assert [hole.at for hole in board.holes] == list(plan.fixings.board_holes)
    assert [edge_of(plan, socket.at) for socket in board.sockets] == list(range(n))
    assert all(
        math.hypot(*socket.at) == pytest.approx(plan.rings.board.apothem, abs=1e-5)
        for socket in board.sockets
    )
    assert [led.at for led in board.leds] == list(led_grid(plan))
    assert len(board.switches) == n
    assert len(board.outline.holes) == n
    assert lit_floor(plan) == plan.rings.board


def test_a_blank_cover_has_no_board(design: Callable[..., Plan]) -> None:
    plan = design("[panel.board]\nnone = true")
    assert board_layout(plan) is None
    assert positions(plan) == []
    assert plan.fixings.board_holes == ()
    assert led_grid(plan) == ()


def test_every_place_of_a_board_is_a_number_that_a_file_holds(design: Callable[..., Plan]) -> None:
    """Six decimals in DXF and CSV: what is written is what is."""
    board = board_layout(design(sets=["panel.across_flats=117.3"]))
    for part in (*board.holes, *board.sockets, *board.leds):
        assert (part.x, part.y) == (float(f"{part.x:.6f}"), float(f"{part.y:.6f}"))


@pytest.mark.parametrize(
    "contour",
    [
        regular(6, 50.0, 3.0),
        cut_corner(3, 40.0, 60.0, 1.0),
        slot((0.0, 0.0), (7.0, 3.0), 2.5),
        circle((3.0, -4.0), 1.6),
    ],
)
def test_corners_and_back_are_the_same_numbers(contour: Any) -> None:
    corners = corners_of(contour)
    again = contour_of(corners)
    assert corners_of(again) == corners
    assert abs(again.area_mm2) == pytest.approx(abs(contour.area_mm2), rel=1e-6)
    assert corners_of(again.reversed()) == corners  # whichever way it runs


def test_corners_start_at_the_same_place_wherever_the_loop_started() -> None:
    contour = regular(6, 50.0, 3.0)
    for k in range(len(contour.segments)):
        turned = type(contour)(contour.segments[k:] + contour.segments[:k])
        assert corners_of(turned) == corners_of(contour)


def test_a_list_of_parts_alone_moves_the_holes_of_a_drawn_board(
    design: Callable[..., Plan],
) -> None:
    plan = design(
        '[[panel.board.part]]\nkind = "hole"\nx = 30\ny = 10\nwidth ='
        ' 3.2\n[[panel.board.part]]\nkind = "hole"\nx = -30\ny = 10\n'
    )
    board = board_layout(plan)
    assert plan.fixings.board_holes == ((30.0, 10.0), (-30.0, 10.0))
    assert isinstance(board.outline, Outline)
    assert sorted(hole.circle()[0] for hole in board.outline.holes) == [(-30.0, 10.0), (30.0, 10.0)]
    assert plan.fixings.board_screws == 2


def test_a_given_outline_sets_the_lit_floor_to_its_area(design: Callable[..., Plan]) -> None:
    """A ring of equal area stands for a board of any outline where light is thrown back."""
    half = 40.0
    corners = [[-half, -half], [half, -half], [half, half], [-half, half]]
    plan = design(f"[panel.board]\noutline = [{corners}]\n")
    ring = lit_floor(plan)
    contour = ring.contour()
    assert contour.area_mm2 == pytest.approx((2 * half) ** 2, rel=2e-3)


def test_leds_of_a_pattern_stay_on_a_given_board(design: Callable[..., Plan]) -> None:
    corners = [[-40, -15], [40, -15], [40, 15], [-40, 15]]
    plan = design(f"[panel.board]\noutline = [{corners}]\n")
    leds = led_grid(plan)
    assert leds
    assert all(
        abs(y) <= 15 - plan.params.led.margin + 1e-6
        and abs(x) <= 40 - plan.params.led.margin + 1e-6
        for x, y in leds
    )
