"""The LED grid: on the board, clear of screws and switches, centred, in the order of the data line,
as many as wanted.

Where LEDs may lie is asked of a second library (shapely) from the board's own outline, not of the
code under test.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from itertools import pairwise

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely.affinity import rotate
from shapely.geometry import Point, box

from fab.errors import InputError
from fab.outlines.contour import Outline
from fab.outlines.facets import to_shapely
from fab.params.panel import LedParams, PanelParams, SwitchParams
from fab.params.shop import Shop, Stock
from fab.parts.leds import led_grid, led_pitch
from fab.parts.plan import Plan
from fab.parts.planning import plan as plan_of
from tests.cases import few

MAKE = Callable[..., Plan]
SHOP = Shop(stock={"opal-3": Stock()})
designs = st.builds(
    lambda sides, size, pattern, pitch, margin, led, on: plan_of(
        PanelParams(
            sides=sides,
            edge=size * math.tan(math.pi / sides) * 2,
            led=LedParams(pattern=pattern, pitch=max(pitch, led), margin=margin, size=led),
            switch=SwitchParams(on=on),
        ),
        SHOP,
    ),
    st.integers(3, 9),
    st.floats(42, 120),
    st.sampled_from(["triangular", "square", "rings"]),
    st.floats(6, 40),
    st.floats(3, 20),
    st.floats(1, 6),
    st.booleans(),
)


@pytest.mark.slow
@settings(max_examples=60, deadline=None)
@given(designs)
def test_leds_lie_on_the_board_clear_of_everything(plan: Plan) -> None:
    assume(plan.rings.board.half_edge > 1.0)  # else the corners meet: no such board
    leds = led_grid(plan)
    board = to_shapely(Outline(plan.rings.board.contour()), outside=True)
    led = plan.params.led
    body = led.size * math.sqrt(0.5)  # an LED turned by 45 degrees
    edge = plan.cell.apothem - plan.press.switch_u
    half = plan.params.switch.size / 2
    switches = [
        rotate(
            box(edge - half, -half, edge + half, half), 360.0 * k / plan.cell.sides, origin=(0, 0)
        )
        for k in range(plan.cell.sides)
    ]
    for x, y in leds:
        here = Point(x, y)
        assert board.contains(here)
        assert board.exterior.distance(here) > led.margin - 1e-4
        assert all(
            math.dist((x, y), screw) > plan.params.screw_head_d / 2 + body
            for screw in plan.fixings.screw_holes
        )
        if plan.fixings.mark is not None:
            assert math.dist((x, y), plan.fixings.mark.at) > plan.fixings.peg_d / 2 + body
        if plan.params.switch.on:
            assert all(switch.distance(here) > body for switch in switches)
    for k, a in enumerate(leds):
        assert all(math.dist(a, b) > led.size - 1e-5 for b in leds[k + 1 :])


@pytest.mark.slow
@settings(max_examples=40, deadline=None)
@given(designs)
def test_the_grid_is_the_same_twice_and_centred(plan: Plan) -> None:
    leds = led_grid(plan)
    assert leds == led_grid(plan)
    n = plan.cell.sides
    symmetric = {"rings": n <= 6, "triangular": n in (3, 6), "square": n == 4}[
        plan.params.led.pattern
    ]
    # as symmetric as the board: turned by one edge it is the same set of places
    if symmetric and leds:
        cos, sin = math.cos(2 * math.pi / n), math.sin(2 * math.pi / n)
        turned = [(x * cos - y * sin, x * sin + y * cos) for x, y in leds]
        assert all(min(math.dist(a, b) for b in leds) < 1e-4 for a in turned)


def test_order_is_a_serpentine_from_edge_nought(make: MAKE) -> None:
    """LED 0 on the line nearest to edge 0 (largest x), at its low end; lines run up and down in
    turn.
    """
    leds = led_grid(make())
    lines: list[list[tuple[float, float]]] = []
    for led in leds:
        if lines and abs(lines[-1][0][0] - led[0]) < 1e-3:
            lines[-1].append(led)
        else:
            lines.append([led])
    assert leds[0][0] == max(x for x, _ in leds)
    assert [line[0][0] for line in lines] == sorted((line[0][0] for line in lines), reverse=True)
    for k, line in enumerate(lines):
        ys = [y for _, y in line]
        assert ys == sorted(ys, reverse=k % 2 == 1)
    assert (
        max(math.dist(a, b) for a, b in pairwise(leds)) < 2.5 * 15.0
    )  # no long jump back to a line's start


def test_rings_run_round_and_back(make: MAKE) -> None:
    leds = led_grid(make(led={"pattern": "rings", "pitch": 15.0}))
    radii = [round(math.hypot(*led), 3) for led in leds]
    assert radii == sorted(radii, reverse=True)
    assert sorted(set(radii)) == [0.0, 15.0, 30.0, 45.0]
    outer = [math.degrees(math.atan2(y, x)) % 360 for x, y in leds if math.hypot(x, y) > 44]
    assert outer == sorted(outer)
    second = [math.degrees(math.atan2(y, x)) % 360 for x, y in leds if 29 < math.hypot(x, y) < 31]
    assert second == sorted(second, reverse=True)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("sides", "pattern"),
    [(6, "triangular"), (4, "square"), (3, "triangular"), (6, "rings")],
)
def test_a_wanted_number_is_met_or_the_nearest_are_told(
    make: MAKE, sides: int, pattern: str
) -> None:
    met = 0
    for count in range(1, 70):
        plan = make(
            led={"pattern": pattern, "count": count, "size": 2.0, "margin": 7.0}, sides=sides
        )
        try:
            leds = led_grid(plan)
        except InputError as error:
            near = [
                int(word) for word in error.faults[0].works.rstrip(".").split() if word.isdigit()
            ]
            assert near
            assert count not in near
            for other in near:
                assert (
                    len(
                        led_grid(
                            make(
                                led={
                                    "pattern": pattern,
                                    "count": other,
                                    "size": 1.0,
                                    "margin": 7.0,
                                },
                                sides=sides,
                            )
                        )
                    )
                    == other
                )
        else:
            assert len(leds) == count
            met += 1
    assert met >= 10


def test_centred_hexagonal_numbers_fit_a_hexagon(make: MAKE) -> None:
    """1, 7, 19, 37, 61: cells within k rings, 1 + 3 k (k + 1)."""
    for k in range(1, 5):
        count = 1 + 3 * k * (k + 1)
        assert len(led_grid(make(led={"count": count, "size": 2.0}))) == count


def test_the_solved_pitch_is_the_largest(make: MAKE) -> None:
    pitch = led_pitch(make(led={"count": 37}))
    assert pitch == pytest.approx(round(pitch, 3))
    assert len(led_grid(make(led={"pitch": pitch}))) == 37
    assert len(led_grid(make(led={"pitch": pitch + 0.002}))) != 37


def test_an_impossible_number_is_refused_with_the_nearest(make: MAKE) -> None:
    with pytest.raises(
        InputError, match=r"no centred triangular grid on this board has 23 LEDs.*nearest.*22 or 24"
    ):
        led_grid(make(led={"count": 23}))


def test_bodies_that_overlap_are_refused(make: MAKE) -> None:
    with pytest.raises(InputError, match=r"panel.led.pitch.*4 mm apart.*5 mm or more works"):
        led_grid(make(led={"pitch": 4.0}))


def test_places_of_ones_own_keep_their_order_and_are_checked(make: MAKE) -> None:
    at = ((20.0, 0.0), (-20.0, 5.0), (0.0, 0.0))
    assert led_grid(make(led={"at": at})) == at
    with pytest.raises(InputError) as caught:
        led_grid(make(led={"at": ((0.0, 0.0), (2.0, 0.0), (55.0, 0.0))}))
    told = str(caught.value)
    assert "panel.led.at[2]: (55, 0) is too near to the board's edge" in told
    assert "panel.led.at[1]: is 2 mm from at[0]" in told


def test_no_room_is_an_empty_grid(make: MAKE) -> None:
    assert led_grid(make(led={"margin": 60.0})) == ()


@pytest.mark.parametrize(
    ("count", "size"), few([(5000, 5.0), (4998, 5.0), (900, 5.0), (170, 8.0), (5, 5.0)], 3, 4)
)
def test_counts_that_are_told_to_work_do(make: MAKE, count: int, size: float) -> None:
    """More than have room, or a number that no grid has: each count of the remedy gives a grid
    whose bodies are apart.
    """
    with pytest.raises(InputError) as refused:
        led_grid(make(led={"count": count, "size": size}))
    (fault,) = refused.value.faults
    told = [int(word) for word in re.findall(r"\d+", fault.works)]
    assert fault.key == "panel.led.count"
    assert told
    for number in told:
        points = led_grid(make(led={"count": number, "size": size}))
        assert len(points) == number
        assert min(math.dist(a, b) for k, a in enumerate(points) for b in points[:k]) >= size - 1e-6
