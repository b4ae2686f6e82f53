"""The light that goes round: view factors of the handbooks, closed boxes, energy, and a seeded
fault.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable
from typing import Any, TypeAlias

import numpy as np
import pytest

from fab.light import cavity, factors
from fab.light.cavity import bounced
from fab.light.factors import contour_factor, form_factors
from fab.light.field import field
from fab.light.figures import quick, settled, spread_spots
from fab.light.mesh import LIP, RIB, SHEET, meshed
from fab.light.scene import Scene, scene
from fab.parts.plan import Plan
from tests.cases import few

WHITE = 0.8
MAKE: TypeAlias = Callable[..., Plan]
BOX: TypeAlias = Callable[..., Scene]


def between(receiver: np.ndarray, sender: np.ndarray) -> float:
    """View factor from one rectangle to another: point factors averaged over 24 x 24 Gauss points
    of the receiver.
    """
    nodes, weights = np.polynomial.legendre.leggauss(24)
    u, v = np.meshgrid((nodes + 1) / 2, (nodes + 1) / 2)
    w = np.outer(weights, weights).ravel() / 4
    a, b, d = receiver[0], receiver[1], receiver[3]
    points = a + u.ravel()[:, None] * (b - a) + v.ravel()[:, None] * (d - a)
    normal = np.cross(b - a, d - a)
    normals = np.tile(normal / np.linalg.norm(normal), (len(points), 1))
    return float(w @ contour_factor(points, normals, sender[None])[:, 0])


def parallel(x: float, y: float) -> float:
    """Aligned parallel rectangles X = a / c, Y = b / c.

    Source: heat-transfer handbooks, from memory.
    """
    x1, y1 = math.sqrt(1 + x * x), math.sqrt(1 + y * y)
    inner = math.log(x1 * y1 / math.sqrt(1 + x * x + y * y))
    inner += (
        x * y1 * math.atan(x / y1)
        + y * x1 * math.atan(y / x1)
        - x * math.atan(x)
        - y * math.atan(y)
    )
    return 2 / (math.pi * x * y) * inner


def perpendicular(h: float, w: float) -> float:
    """Rectangles at right angles with a common edge, H = other / edge, W = own / edge.

    Source: as above.
    """
    r = math.sqrt(h * h + w * w)
    logs = (1 + w * w) * (1 + h * h) / (1 + w * w + h * h)
    logs *= (w * w * (1 + w * w + h * h) / ((1 + w * w) * (w * w + h * h))) ** (w * w)
    logs *= (h * h * (1 + h * h + w * w) / ((1 + h * h) * (h * h + w * w))) ** (h * h)
    angles = w * math.atan(1 / w) + h * math.atan(1 / h) - r * math.atan(1 / r)
    return (angles + 0.25 * math.log(logs)) / (math.pi * w)


@pytest.mark.parametrize(("x", "y"), [(1.0, 1.0), (2.0, 0.5), (0.3, 4.0)])
def test_parallel_rectangles(x: float, y: float) -> None:
    low = np.array([(0, 0, 0), (x, 0, 0), (x, y, 0), (0, y, 0)], float)
    high = np.array([(0, 0, 1), (0, y, 1), (x, y, 1), (x, 0, 1)], float)
    assert between(low, high) == pytest.approx(parallel(x, y), rel=1e-4)
    assert between(low, high[::-1]) == 0  # its back


@pytest.mark.parametrize(("h", "w"), [(1.0, 1.0), (0.5, 2.0), (3.0, 0.4)])
def test_perpendicular_rectangles(h: float, w: float) -> None:
    floor = np.array([(0, 0, 0), (w, 0, 0), (w, 1, 0), (0, 1, 0)], float)
    wall = np.array([(0, 0, 0), (0, 1, 0), (0, 1, h), (0, 0, h)], float)
    assert between(floor, wall) == pytest.approx(perpendicular(h, w), rel=2e-3)


def test_cube_values_of_the_handbooks() -> None:
    """Unit cube: opposite 0.1998, adjacent 0.2000; together they close."""
    assert parallel(1, 1) == pytest.approx(0.1998, abs=5e-5)
    assert perpendicular(1, 1) == pytest.approx(0.2000, abs=5e-5)
    assert parallel(1, 1) + 4 * perpendicular(1, 1) == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize("sides", few([3, 4, 6, 12], 2))
def test_every_patch_of_a_closed_panel_sees_all_of_it(make: MAKE, sides: int) -> None:
    """Row sums of the factors are 1; a little off where the ledge's edge hides a part that is asked
    at its middle.
    """
    here = scene(make(sides=sides, across_flats=130.0), WHITE)
    mesh = meshed(here, 500)
    sums = form_factors(here, mesh).sum(axis=1)
    assert sums.min() > 0.94
    assert sums.max() < 1.04
    assert float(sums @ mesh.areas / mesh.areas.sum()) == pytest.approx(1.0, abs=0.005)


@pytest.mark.slow
def test_factors_are_reciprocal(make: MAKE) -> None:
    """A_i F_ij = A_j F_ji: light that patches a hand's breadth apart exchange, within what point
    factors allow.
    """
    here = scene(make(), WHITE)
    mesh = meshed(here, 1000)
    flow = form_factors(here, mesh) * mesh.areas[:, None]
    far = np.linalg.norm(mesh.centres[:, None] - mesh.centres[None, :], axis=2) > 40
    assert np.abs(flow - flow.T)[far].sum() < 0.02 * flow[far].sum()


CASES = [
    {},
    {"sides": 3, "edge": 90.0},
    {"led": {"half_angle_deg": 25.0}},
    {"sides": 4, "edge": 90.0},
    {"switch": {"on": True}, "depth": 40.0},
    {"led": {"at": ((20.0, 10.0),)}},
    {"sides": 12},
    {"depth": 60.0},
    {"led": {"half_angle_deg": 78.0}},
    {"led": {"count": 1}},
    {"sides": 4, "edge": 90.0, "switch": {"on": True}},
    {"sides": 3, "edge": 120.0, "depth": 50.0},
]


@pytest.mark.slow
@pytest.mark.parametrize("case", CASES, ids=str)
def test_what_leaves_the_leds_is_absorbed_or_leaves(make: MAKE, case: dict[str, Any]) -> None:
    """Nothing is corrected to make this true: the sum is the mesh's own."""
    found, _ = settled(scene(make(**case), WHITE))
    assert abs(found.balance.error) < 0.01
    assert found.balance.emitted == pytest.approx(9.0 * found.leds)
    assert (
        min(found.balance.left, found.balance.board, found.balance.walls, found.balance.sheet) > 0
    )


@pytest.mark.parametrize("share", few([0.0, 0.3, 0.7], 1))
def test_a_box_of_one_reflectance_collects_as_a_sphere_does(box: BOX, share: float) -> None:
    """All light received = flux / (1 - reflectance), whatever the shape (sum of the geometric
    series).
    """
    here = box(
        [(0.0, 0.0), (30.0, 10.0)],
        board_reflectance=share,
        wall_reflectance=share,
        sheet_reflectance=share,
        sheet_transmission=0.0,
        led_z=1.0,
        sheet_z=60.0,
        foot_z=59.98,
        lip_z=59.99,
    )
    inside = bounced(here, 600)
    absorbed = inside.balance.board + inside.balance.walls + inside.balance.sheet
    assert absorbed / (1 - share) == pytest.approx(20.0 / (1 - share), rel=0.01)
    assert float(inside.all @ inside.mesh.areas) == pytest.approx(
        20.0 * share / (1 - share), rel=0.01
    )


def test_bounces_fall_as_a_geometric_series(box: BOX) -> None:
    share = 0.5
    here = box(
        board_reflectance=share,
        wall_reflectance=share,
        sheet_reflectance=share,
        sheet_transmission=0.0,
        led_z=1.0,
    )
    inside = bounced(here, 600)
    first, second = (float(part @ inside.mesh.areas) for part in (inside.first, inside.second))
    assert first == pytest.approx(10.0 * share, rel=0.01)
    assert second == pytest.approx(10.0 * share**2, rel=0.01)


@pytest.mark.slow
def test_face_shows_the_light_that_leaves(make: MAKE) -> None:
    """A Lambertian sheet sends out pi L per area: the picture, summed, is the balance's light."""
    here = scene(make(stock={"half_angle_deg": 60.0}), WHITE)
    light = field(here, 1000)
    points, weights = spread_spots(6, here.window_apothem, 4000)
    area = 6 * here.window_apothem**2 * math.tan(math.pi / 6)
    sent = math.pi * float(light.sharp(points) @ weights) * area / 1e6
    assert sent == pytest.approx(light.inside.balance.left, rel=0.01)


def test_a_seeded_fault_in_the_factors_shows_in_the_balance(
    make: MAKE, monkeypatch: pytest.MonkeyPatch
) -> None:
    true = factors.form_factors
    here = scene(make(), WHITE)
    assert abs(bounced(here, 500).balance.error) < 0.01
    monkeypatch.setattr(cavity, "form_factors", lambda *args: true(*args) * 1.1)
    assert abs(bounced(here, 500).balance.error) > 0.01


def test_a_seeded_fault_in_the_leds_shows_in_the_balance(
    make: MAKE, monkeypatch: pytest.MonkeyPatch
) -> None:
    true = factors.direct_on_patches
    monkeypatch.setattr(cavity, "direct_on_patches", lambda *args: true(*args) * 0.97)
    assert bounced(scene(make(), WHITE), 500).balance.error < -0.02


@pytest.mark.parametrize("sides", few([3, 4, 6], 2))
def test_turning_the_leds_by_an_edge_turns_the_light(make: MAKE, sides: int) -> None:
    """Holds the sectors together: one lopsided LED, then the same turned by one edge."""
    led = (18.0, 7.0)
    angle = 2 * math.pi / sides
    cos, sin = math.cos(angle), math.sin(angle)
    one = field(scene(make(led={"at": (led,)}, sides=sides), WHITE), 500)
    turned = (led[0] * cos - led[1] * sin, led[0] * sin + led[1] * cos)
    two = field(scene(make(led={"at": (turned,)}, sides=sides), WHITE), 500)
    points, _ = spread_spots(sides, one.scene.window_apothem - 2, 300)
    moved = points @ np.array([(cos, sin), (-sin, cos)])
    assert two.luminance(moved) == pytest.approx(one.luminance(points), rel=1e-3)


@pytest.mark.slow
def test_whiter_walls_brighten_the_rim(make: MAKE) -> None:
    dark, white = (quick(scene(make(), share)) for share in (0.1, 0.9))
    assert white.rim > dark.rim + 0.04
    assert white.balance.left > dark.balance.left


@pytest.mark.slow
def test_ribs_and_lip_close_the_box_too(make: MAKE) -> None:
    here = scene(make(switch={"on": True}, depth=40.0), WHITE)
    mesh = meshed(here, 1000)
    assert set(mesh.kinds) == set(range(6))
    sums = form_factors(here, mesh).sum(axis=1)
    rib, sheet, lip = (sums[mesh.kinds == kind] for kind in (RIB, SHEET, LIP))
    assert rib.mean() == pytest.approx(
        1.0, abs=0.1
    )  # patches of the wall whose middle is in the rib are lost
    assert sheet.mean() == pytest.approx(1.0, abs=0.02)
    assert lip.mean() == pytest.approx(1.0, abs=0.03)


def test_the_scene_is_the_plans(make: MAKE) -> None:
    plan = make()
    here = scene(plan, WHITE)
    assert (here.sheet_z, here.led_z, here.wall_apothem) == (
        plan.heights.ledge_z,
        plan.heights.led_z,
        plan.rings.rebate_apothem,
    )
    assert dataclasses.replace(here) == here
    assert here.throw == pytest.approx(plan.heights.throw)
