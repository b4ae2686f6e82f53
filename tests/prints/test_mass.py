"""Grams, metres, hours and money against closed forms."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fab.errors import BrokenGeometry
from fab.params.shop import Filament, Printer
from fab.prints.layercount import LayerCount, Lines, bead_mm2
from fab.prints.mass import filament_metres, laid_mm3, printed, total


@pytest.mark.parametrize(("density", "metres"), [(1.24, 335.3), (1.27, 327.4), (1.04, 399.8)])
def test_a_kilogram_of_filament(density: float, metres: float) -> None:
    """PLA, PETG, ABS at 1.75 mm: reference values section 7, recomputed there."""
    assert filament_metres(1000.0, Filament(density=density)) == pytest.approx(metres, abs=0.1)


def test_bead_area() -> None:
    """(w - h) h + pi h^2 / 4 at 0.45 x 0.2 is 0.0814159: reference values section 9, from
    memory.
    """
    assert bead_mm2(0.45, 0.2) == pytest.approx(0.0814159, abs=1e-7)
    with pytest.raises(BrokenGeometry, match="cannot be"):
        bead_mm2(0.2, 0.45)


def test_ten_cubic_centimetres() -> None:
    """A fill of 10 cm3: 12.7 g of PETG and 4157.5 mm of 1.75: reference values section 9,
    definition.
    """
    lines = Lines(skin_mm=10_000.0 / bead_mm2(0.45, 0.2))
    use = printed(LayerCount(Lines(), lines), Printer(), Filament())
    assert use.grams == pytest.approx(12.7)
    assert use.metres * 1000 == pytest.approx(4157.5, abs=0.1)
    assert use.cost == pytest.approx(0.3048)


def test_a_long_line_takes_its_length_over_its_speed() -> None:
    """36 m at 60 mm/s are 10 minutes; at a tenth of the melt 0.0814 mm2 x 60 mm/s the flow
    decides.
    """
    lines = LayerCount(Lines(), Lines(outer_mm=36_000.0))
    printer = Printer(outer_mm_s=60.0, flow_mm3_s=100.0)
    assert printed(lines, printer, Filament()).hours * 60 == pytest.approx(10.0)
    slow = replace(printer, flow_mm3_s=bead_mm2(0.45, 0.2) * 6.0)
    assert printed(lines, slow, Filament()).hours * 60 == pytest.approx(100.0)
    assert printed(
        lines, replace(printer, time_factor=1.25), Filament()
    ).hours * 60 == pytest.approx(12.5)


@given(
    speed=st.floats(11, 300),
    acceleration=st.floats(100, 20_000),
    stops=st.integers(1, 500),
    each=st.floats(0.2, 300),
)
def test_moves_against_small_steps_of_time(
    speed: float, acceleration: float, stops: int, each: float
) -> None:
    """The closed form against the sum of ds / v over a move that speeds up from and brakes to 10
    mm/s.
    """
    lines = LayerCount(Lines(), Lines(outer_mm=each * stops, outer_stops=stops))
    printer = Printer(outer_mm_s=speed, flow_mm3_s=500.0, acceleration_mm_s2=acceleration)
    steps = 4000
    ds = each / steps
    seconds = 0.0
    for k in range(steps):
        way = min((k + 0.5) * ds, each - (k + 0.5) * ds)
        seconds += ds / min(speed, math.sqrt(100.0 + 2 * acceleration * way))
    assert printed(lines, printer, Filament()).hours * 3600 == pytest.approx(
        seconds * stops, rel=0.01
    )


def test_a_span_over_loose_fill_hangs_in_threads_and_lies_flat_on_solid_fill() -> None:
    lines = Lines(span_mm=1000.0)
    printer = Printer()
    assert laid_mm3(lines, printer) == pytest.approx(1000.0 * math.pi * 0.04)
    whole = laid_mm3(lines, replace(printer, infill=1.0))
    assert whole == pytest.approx(1000.0 * 0.45 * 0.2)


def test_counts_add_up() -> None:
    lines = LayerCount(Lines(skin_mm=50.0), Lines(outer_mm=4_000.0, outer_stops=12.0))
    one = printed(lines, Printer(), Filament())
    three = total([one, one.times(2)])
    assert (three.grams, three.metres, three.hours, three.cost) == pytest.approx(
        (3 * one.grams, 3 * one.metres, 3 * one.hours, 3 * one.cost)
    )
    doubled = printed(lines * 2, Printer(), Filament())
    assert (doubled.grams, doubled.hours) == pytest.approx((2 * one.grams, 2 * one.hours))
    assert total([]).grams == 0
