"""What the light meets: refused when it can't be, and the ledge and the ribs where the parts have
them.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable
from typing import TypeAlias

import numpy as np
import pytest

from fab.errors import InputError
from fab.light.face import face
from fab.light.field import direct_luminance
from fab.light.scene import Rib, Scene, press_rib, scene
from fab.light.shade import clear
from fab.parts.plan import Plan

WHITE = 0.8
MAKE: TypeAlias = Callable[..., Plan]
BOX: TypeAlias = Callable[..., Scene]


def test_leds_over_the_sheet_are_refused_with_a_depth_that_works(make: MAKE) -> None:
    plan = make(depth=20.0)
    says = r"panel.depth: the LEDs would stand [0-9.]+ mm over the diffuser's back"
    with pytest.raises(InputError, match=says) as caught:
        face(plan, WHITE)
    more = float(caught.value.faults[0].works.split("more than ")[1].split(" mm")[0])
    with pytest.raises(InputError):
        scene(make(depth=20.0 + more - 0.1), WHITE)


def test_a_ledge_that_reaches_down_to_the_board_is_refused(make: MAKE) -> None:
    with pytest.raises(
        InputError, match=r"slope under the ledge would start .* under the board's face"
    ):
        scene(make(depth=22.5, shell=dataclasses.replace(make().params.shell, ledge=9.0)), WHITE)


def test_no_led_is_refused(make: MAKE) -> None:
    with pytest.raises(InputError, match=r"panel.led.margin: there is no LED on the board"):
        face(make(led={"margin": 60.0}), WHITE)


@pytest.mark.parametrize("share", [1.01, -0.1, math.nan])
def test_walls_that_make_light_are_refused(make: MAKE, share: float) -> None:
    with pytest.raises(InputError, match=r"shop.filament.reflectance"):
        face(make(), share)


def test_a_board_or_a_sheet_that_makes_light_is_refused(make: MAKE, box: BOX) -> None:
    with pytest.raises(InputError, match=r"panel.board.reflectance: 1.2 is not a share"):
        box(board_reflectance=1.2)
    with pytest.raises(InputError, match=r"shop.stock.reflectance: -1 is not a share"):
        box(sheet_reflectance=-1.0)
    says = r"a sheet cannot transmit 0.9 and reflect 0.2 .* Lower shop.stock.reflectance to 0.1"
    with pytest.raises(InputError, match=says):
        scene(make(stock={"transmission": 0.9, "reflectance": 0.2}), WHITE)


def test_leds_beyond_the_wall_are_refused(box: BOX) -> None:
    with pytest.raises(
        InputError, match=r"1 LED would be outside the shell's wall, the first at \(120, 0\)"
    ):
        box([(0.0, 0.0), (120.0, 0.0)])


def test_all_faults_are_told_at_once(box: BOX) -> None:
    with pytest.raises(InputError) as caught:
        box((), board_reflectance=2.0, led_z=30.0)
    assert len(caught.value.faults) == 3


def test_the_lip_hides_what_lies_under_the_ledge(box: BOX) -> None:
    """A source 5 mm under the ledge, 10 mm below the sheet; lip 2 mm high: by similar triangles a
    spot d inside the window is hidden when the ray passes the lip's line higher than 8 mm: 10 * 5 /
    (5 + d) > 8, d < 1.25.
    """
    here = box(window_apothem=90.0, lip_z=18.0, foot_z=10.0)
    source = np.array([[95.0, 0.0, 10.0]])
    spots = np.array([[90.0 - d, 3.0, 20.0] for d in (0.5, 1.2, 1.3, 5.0, 100.0)])
    assert clear(here, source, spots).tolist() == [False, False, True, True, True]
    inside = np.array([[89.0, 0.0, 10.0]])
    assert clear(here, inside, spots).all()


def test_a_rib_hides_what_lies_behind_it(box: BOX) -> None:
    here = box(rib=Rib(((100.0, 5.0), (90.0, 5.0), (90.0, 12.0), (100.0, 12.0)), 4.0))
    led = np.array([[70.0, 0.0, 0.0]])
    low = np.array([[98.0, 0.0, 10.0], [98.0, 6.0, 10.0], [98.0, 0.0, 20.0], [80.0, 0.0, 20.0]])
    # into the rib; past its side (y = 4 at x = 88.7, before the tip); over the top? z = 20 * 20 /
    # 28 = 14.3 at the tip
    assert clear(here, led, low).tolist() == [False, True, True, True]
    for turn in range(4):  # the same at every edge
        angle = math.pi / 2 * turn
        cos, sin = math.cos(angle), math.sin(angle)
        spin = np.array([(cos, sin, 0.0), (-sin, cos, 0.0), (0.0, 0.0, 1.0)])
        assert clear(here, led @ spin, low @ spin).tolist() == [False, True, True, True]


def test_ribs_take_light_from_the_rim_only(make: MAKE) -> None:
    """The shadow of a rib lies between it and the wall; the middle does not know of it."""
    here = scene(make(switch={"on": True}, led={"count": 37}), WHITE)
    bare = dataclasses.replace(here, rib=None)
    spots = np.array([(0.0, 0.0), (30.0, 5.0), (55.5, 0.0)])
    with_rib, without = direct_luminance(here, spots), direct_luminance(bare, spots)
    assert with_rib[:2] == pytest.approx(without[:2])
    assert with_rib[2] <= without[2]


@pytest.mark.slow
@pytest.mark.kernel
@pytest.mark.parametrize("depth", [36.0, 45.0])
def test_the_rib_is_the_one_that_is_printed(make: MAKE, depth: float) -> None:
    """The solid of the shell's rib lies inside ours, and fills it but for the slot over the
    plunger.
    """
    from fab.outlines.contour import polygon
    from fab.parts.shell import press_rib as printed
    from fab.solids import kernel

    # the slope comes out under the flat
    plan = make(switch={"on": True, "height": 6.0}, depth=depth)
    ours = press_rib(plan)
    assert ours is not None
    corners = [p for k, p in enumerate(ours.profile) if math.dist(p, ours.profile[k - 1]) > 1e-6]
    body = kernel.ridge(polygon(corners), -ours.half, ours.half)
    solid = kernel.common(
        printed(plan), kernel.box(0.0, plan.rings.rebate_apothem, -50.0, 50.0, 0.0, 100.0)
    )
    inside = kernel.overlap_mm3(solid, body)
    assert inside == pytest.approx(kernel.volume(solid), rel=1e-3)
    slot = 2 * (plan.params.switch.size / 2 + 0.5)
    assert inside > kernel.volume(body) * (1 - slot / (2 * ours.half))


def test_spread_inside_the_sheet_grows_with_thickness_and_scatter(make: MAKE) -> None:
    thin, thick = (scene(make(stock={"thickness": t}), WHITE).spread for t in (2.0, 4.0))
    assert thick == pytest.approx(2 * thin)
    narrow, wide = (scene(make(stock={"half_angle_deg": a}), WHITE).spread for a in (10.0, 60.0))
    assert 0 < narrow < wide < 1.5
