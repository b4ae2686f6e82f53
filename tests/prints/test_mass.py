"""Grams, metres, hours and money against closed forms."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fab.errors import BrokenGeometry
from fab.params.shop import Filament, Printer
from fab.prints.mass import bead_mm2, filament_metres, laid_mm3, line_speed_mm_s, printed, total


@pytest.mark.parametrize(("density", "metres"), [(1.24, 335.3), (1.27, 327.4), (1.04, 399.8)])
def test_a_kilogram_of_filament(density, metres):
    """PLA, PETG, ABS at 1.75 mm: reference values section 7, recomputed there."""
    assert filament_metres(1000.0, Filament(density=density)) == pytest.approx(metres, abs=0.1)


def test_ten_cubic_centimetres_as_published():
    """V / (w h v) = 30.86 min and 4157.5 mm of 1.75: reference values section 9, definition."""
    printer = Printer(infill=1.0, rate_mm3_s=0.45 * 0.2 * 60.0)
    use = printed(10_000.0, 2_800.0, 20.0, printer, Filament())
    assert use.hours * 60 == pytest.approx(30.86, abs=0.01)
    assert use.metres * 1000 == pytest.approx(4157.5, abs=0.1)
    assert use.grams == pytest.approx(12.7)
    assert use.cost == pytest.approx(0.3048)


def test_bead_area():
    """(w - h) h + pi h^2 / 4 at 0.45 x 0.2 is 0.0814159: reference values section 9, from memory."""
    assert bead_mm2(0.45, 0.2) == pytest.approx(0.0814159, abs=1e-7)
    with pytest.raises(BrokenGeometry, match="can't be"):
        bead_mm2(0.2, 0.45)


def test_the_rate_as_a_speed_of_the_nozzle():
    assert line_speed_mm_s(Printer()) == pytest.approx(8.0 / 0.0814159, rel=1e-6)


def test_a_wide_slab_is_skin_above_and_below():
    """1 m x 1 m x 10 mm: skins of 1 mm above and below, 15 % of the 8 mm between; the rim weighs nothing beside it."""
    side, thick = 1000.0, 10.0
    printer = Printer(skin_layers=5, layer=0.2, infill=0.15)
    area = 2 * side * side + 4 * side * thick
    by_hand = side * side * (2 * 1.0 + 8.0 * 0.15)
    assert laid_mm3(side * side * thick, area, thick, printer) == pytest.approx(by_hand, rel=0.02)


def test_a_tall_column_is_walls():
    """20 x 20 x 1000 mm: walls of 1.35 mm; edges are counted twice, so it errs to the heavy side."""
    printer = Printer(perimeters=3, extrusion_width=0.45, infill=0.0)
    laid = laid_mm3(20 * 20 * 1000.0, 4 * 20 * 1000.0 + 2 * 400.0, 1000.0, printer)
    exact = (20**2 - (20 - 2.7) ** 2) * 1000.0
    assert exact < laid < exact * 1.1


def test_a_thin_wall_is_solid():
    """2.7 mm between faces with 1.35 mm of skin each: nothing is left to fill."""
    volume = 2.7 * 100 * 50
    assert laid_mm3(volume, 2 * 100 * 50 + 2 * 2.7 * 150, 50.0, Printer(infill=0.0)) == pytest.approx(volume)


@given(volume=st.floats(1, 1e7), area=st.floats(1, 1e6), height=st.floats(0.2, 500), infill=st.floats(0, 1))
def test_never_more_than_the_solid_and_never_less_than_its_filling(volume, area, height, infill):
    laid = laid_mm3(volume, area, height, Printer(infill=infill))
    assert volume * infill - 1e-6 <= laid <= volume * (1 + 1e-12)


def test_counts_add_up():
    one = printed(5_000.0, 4_000.0, 20.0, Printer(), Filament())
    three = total([one, one.times(2)])
    assert (three.grams, three.metres, three.hours, three.cost) == pytest.approx(
        (3 * one.grams, 3 * one.metres, 3 * one.hours, 3 * one.cost)
    )
    assert total([]).grams == 0


@pytest.mark.parametrize("bad", [(0.0, 1.0, 1.0), (1.0, math.nan, 1.0), (1.0, 1.0, -1.0)])
def test_no_object_is_refused(bad):
    with pytest.raises(BrokenGeometry, match="can't be printed"):
        printed(*bad, Printer(), Filament())
