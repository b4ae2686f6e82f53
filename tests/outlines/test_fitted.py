"""A drawing made smaller for a page: in its middle, over the legend, within width and height."""

from __future__ import annotations

import pytest

from fab.outlines.contour import around
from fab.outlines.fitted import fitted


def test_the_box_of_points_is_their_least_and_most() -> None:
    assert around([(3.0, -1.0), (0.5, 4.0), (2.0, 2.0)]) == (0.5, -1.0, 3.0, 4.0)


def test_a_wide_drawing_fills_the_width_and_stands_over_the_legend() -> None:
    scale, high, at = fitted((-100.0, 10.0, 300.0, 110.0), 180.0, 150.0, 10.0, below=12.0)
    assert scale == pytest.approx(0.4)  # 160 mm of paper for 400 mm of wall
    assert at((-100.0, 10.0)) == pytest.approx((10.0, 22.0))
    assert at((300.0, 110.0)) == pytest.approx((170.0, 62.0))
    assert high == pytest.approx(72.0)


def test_a_high_drawing_stands_in_the_middle_of_the_width() -> None:
    scale, high, at = fitted((0.0, 0.0, 100.0, 200.0), 180.0, 116.0)
    assert (scale, high) == pytest.approx((0.5, 116.0))
    assert at((0.0, 0.0)) == pytest.approx((65.0, 8.0))
    assert at((100.0, 200.0)) == pytest.approx((115.0, 108.0))


def test_a_small_drawing_is_drawn_no_larger_than_asked() -> None:
    scale, high, at = fitted((0.0, 0.0, 10.0, 10.0), 180.0, 150.0, most_scale=0.45)
    assert scale == 0.45
    assert at((5.0, 5.0)) == pytest.approx((90.0, high / 2))
