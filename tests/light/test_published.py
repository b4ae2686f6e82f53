"""The light of bare LEDs against published spacings, lattice sums and the laws of photometry.

Sources: I. Moreno, M. Avendano-Alejo, R. I. Tzonchev, "Designing light-emitting diode arrays for
uniform near-field irradiance", Applied Optics 45(10), 2265-2272 (2006), formulas by way of a
secondary copy; their model is E ~ z^m / (r^2 + z^2)^((m + 2) / 2), the planar irradiance has the
exponent (m + 3) / 2: each spacing belongs to one of the two. The paper's fits for large arrays are
not reproduced by its own condition and are left alone. K. Wang et al., Optics Express 19 (2011):
uniformity 0.446 and 0.155 at distance-height ratios 2 and 3 (abstract). Lattice sums: own sums,
their first Poisson term agrees (reference table of the project).
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from fab.light.field import direct_luminance, gain
from fab.light.scene import Scene, lobe_order

H = 20.0  # of the bare box: LEDs at z = 0, sheet at z = 20
MORENO, PLANAR = 0.0, 1.0  # sheet orders that give the exponents (m + 2) / 2 and (m + 3) / 2
BOX = Callable[..., Scene]


def light(scene: Scene, *points: tuple[float, float]) -> np.ndarray:
    return direct_luminance(scene, np.array(points, dtype=float))


def pair(d: float) -> list[tuple[float, float]]:
    return [(-d / 2, 0.0), (d / 2, 0.0)]


def four(d: float) -> list[tuple[float, float]]:
    return [(x, y) for x in (-d / 2, d / 2) for y in (-d / 2, d / 2)]


def ring(d: float) -> list[tuple[float, float]]:
    return [(d * math.cos(k * math.pi / 3), d * math.sin(k * math.pi / 3)) for k in range(6)]


def row(count: int) -> Callable[[float], list[tuple[float, float]]]:
    return lambda d: [((k - (count - 1) / 2) * d, 0.0) for k in range(count)]


SPACINGS = [
    *[(pair, MORENO, m, d) for m, d in ((1, 1.0000), (30, 0.3482))],
    *[(pair, PLANAR, m, d) for m, d in ((1, 0.8944), (30, 0.3430))],
    *[(four, MORENO, m, d) for m, d in ((1, 1.1547), (30, 0.3536))],
    *[(four, PLANAR, m, d) for m, d in ((1, 1.0000), (30, 0.3482))],
    *[(ring, MORENO, m, d) for m, d in ((1, 0.8165), (30, 0.2500))],
    *[(ring, PLANAR, m, d) for m, d in ((1, 0.7071), (30, 0.2462))],
    *[(row(4), MORENO, m, d) for m, d in ((1, 0.8058), (30, 0.2711))],
    *[(row(6), MORENO, m, d) for m, d in ((1, 0.7075), (30, 0.2306))],
    *[(row(8), MORENO, m, d) for m, d in ((1, 0.6461), (30, 0.2048))],
]


@pytest.mark.parametrize(("array", "order", "m", "spacing"), SPACINGS)
def test_at_the_published_spacing_the_middle_is_flattest(
    box: BOX,
    array: Callable[[float], list[tuple[float, float]]],
    order: float,
    m: float,
    spacing: float,
) -> None:
    """The curvature along x in the middle changes its sign there: a dip when wider, a hill when
    closer.
    """

    def curvature(d: float) -> float:
        scene = box(array(d * H), led_order=float(m), sheet_order=order)
        step = 0.02 * H * spacing
        left, middle, right = light(scene, (-step, 0.0), (0.0, 0.0), (step, 0.0))
        return float(left + right - 2 * middle) / float(middle)

    assert curvature(spacing * 0.99) < 0 < curvature(spacing * 1.01)


@pytest.mark.parametrize(("half_angle", "m"), [(60, 1.0), (45, 2.0), (30, 4.8188), (15, 19.994)])
def test_half_angle_gives_the_tabled_order(half_angle: int, m: float) -> None:
    assert lobe_order(half_angle) == pytest.approx(m, rel=1e-3)
    assert math.cos(math.radians(half_angle)) ** lobe_order(half_angle) == pytest.approx(0.5)


LATTICES = [
    ("square", 0.5, 0.9999),
    ("square", 0.75, 0.9931),
    ("square", 1.0, 0.9516),
    ("square", 1.25, 0.8545),
    ("square", 1.5, 0.7165),
    ("square", 2.0, 0.4394),
    ("square", 3.0, 0.1470),
    ("triangular", 0.75, 0.9977),
    ("triangular", 1.0, 0.9778),
    ("triangular", 1.25, 0.9175),
    ("triangular", 1.5, 0.8138),
    ("triangular", 2.0, 0.5564),
]


@pytest.mark.parametrize(("pattern", "pitch", "expected"), LATTICES)
def test_infinite_grid_has_the_tabled_least_over_most(
    box: BOX, pattern: str, pitch: float, expected: float
) -> None:
    """Lambertian LEDs, planar irradiance, a grid so large that its end is not seen (tolerance for
    the cut tail).
    """
    reach = 40
    p = pitch * H
    if pattern == "square":
        leds = [(i * p, j * p) for i in range(-reach, reach + 1) for j in range(-reach, reach + 1)]
        gap = (p / 2, p / 2)
    else:
        rise = math.sqrt(0.75) * p
        leds = [
            (i * p + j * p / 2, j * rise)
            for i in range(-reach, reach + 1)
            for j in range(-reach, reach + 1)
        ]
        gap = (p / 2, rise / 3)
    wide = {"wall_apothem": 1e5, "window_apothem": 1e5 - 0.01}
    on, off = light(box(leds, **wide), (0.0, 0.0), gap)
    assert float(off / on) == pytest.approx(expected, abs=1e-3)


def test_mean_of_an_infinite_grid_is_its_flux_by_its_area(box: BOX) -> None:
    """Mean E of a square grid = pi / p^2 of the axial intensity by h^2: all light of a cell falls
    on a cell.
    """
    p, reach = 0.5 * H, 60
    leds = [(i * p, j * p) for i in range(-reach, reach + 1) for j in range(-reach, reach + 1)]
    scene = box(leds, wall_apothem=1e5, window_apothem=1e5 - 0.01)
    (value,) = light(scene, (0.0, 0.0))
    lux = value * math.pi  # a Lambertian sheet that passes everything
    assert lux == pytest.approx(10.0 / (p * p) * 1e6, rel=2e-3)


@pytest.mark.parametrize(
    ("pitch", "expected", "published"), [(2.0, 0.4263, 0.446), (3.0, 0.1426, 0.155)]
)
def test_middle_cell_of_five_by_five_against_a_published_uniformity(
    box: BOX, pitch: float, expected: float, published: float
) -> None:
    """The abstract does not say that its LEDs are Lambertian: 0.02 of room."""
    p = pitch * H
    leds = [(i * p, j * p) for i in range(-2, 3) for j in range(-2, 3)]
    on, off = light(box(leds, wall_apothem=1e3, window_apothem=999.99), (0.0, 0.0), (p / 2, p / 2))
    assert float(off / on) == pytest.approx(expected, abs=1e-4)
    assert float(off / on) == pytest.approx(published, abs=0.02)


@pytest.mark.parametrize("m", [1.0, 3.0, 20.0])
def test_inverse_square_and_cosine_laws(box: BOX, m: float) -> None:
    """On the axis E = I0 / h^2 with I0 = flux (m + 1) / (2 pi); aside E = I0 cos^m cos / r^2
    (definitions).
    """
    axial = 10.0 * (m + 1) / (2 * math.pi)
    for height in (10.0, 20.0, 40.0):
        scene = box(led_order=m, led_z=20.0 - height, floor_z=20.0 - height)
        on, aside = light(scene, (0.0, 0.0), (17.0, 0.0)) * math.pi / 1e6
        assert on == pytest.approx(axial / height**2)
        cosine = height / math.hypot(height, 17.0)
        assert aside == pytest.approx(axial * cosine**m * cosine / (height**2 + 17.0**2))


def test_all_light_of_an_led_reaches_an_endless_sheet(box: BOX) -> None:
    """Flux over a wide disc, summed ring by ring, is the LED's flux."""
    r = np.linspace(0.0, 3000.0, 60_001)
    middles = (r[1:] + r[:-1]) / 2
    scene = box(wall_apothem=1e4, window_apothem=9999.99)
    lux = light(scene, *[(float(x), 0.0) for x in middles]) * math.pi / 1e6
    total = float(np.sum(lux * math.pi * (r[1:] ** 2 - r[:-1] ** 2)))
    assert total == pytest.approx(10.0, rel=1e-3)


def test_the_sheets_lobe_passes_as_much_as_it_gets() -> None:
    """The lobe (p + 1) / (2 pi) cos^(p - 1) of light that comes in straight, summed over the
    hemisphere, is 1.
    """
    for order in (1.0, 2.0, 5.0):
        t = np.linspace(0, math.pi / 2, 20_001)
        radiance = gain(order, np.cos(t)) / math.pi
        value = 2 * math.pi * np.trapezoid(radiance * np.cos(t) * np.sin(t), t)
        assert value == pytest.approx(1.0, abs=1e-6)
