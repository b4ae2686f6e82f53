"""Clearances that no coupon tells."""

from __future__ import annotations

from typing import Any

import pytest

from fab.params.shop import Printer, Stock
from fab.parts.fits import NOSE_FLAT, thickness_tolerance


@pytest.mark.parametrize(
    ("values", "most"),
    [
        ({"made": "cast", "thickness": 3.0}, 0.7),
        ({"made": "extruded", "thickness": 3.0}, 0.15),
        ({"made": "extruded", "thickness": 2.0}, 0.2),
        ({"made": "cast", "thickness": 3.0, "tolerance": 0.05}, 0.05),
        ({"made": "measured", "thickness": 3.0}, 0.1),
    ],
)
def test_a_sheet_is_as_thick_as_its_standard_lets_it(values: dict[str, Any], most: float) -> None:
    """ISO 7823-1 and -2 as quoted in makers' notes; the standards were not at hand."""
    assert thickness_tolerance(Stock(**values)) == pytest.approx(most)


def test_the_nose_of_a_hook_is_two_layers_and_a_bit() -> None:
    assert 2 * Printer().layer < NOSE_FLAT < 3 * Printer().layer
