"""Contrast of letters.

Source of the values: WCAG 2.2, definitions of relative luminance and contrast ratio.
"""

from __future__ import annotations

import pytest

from fab.light.colours import ramp
from fab.outlines.inks import contrast, ink, luminance


def test_known_contrasts() -> None:
    """Black on white is 21 to 1 by definition; #767676 is the lightest grey that has 4.5 on white,
    #777777 has not (widely quoted).
    """
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") >= 4.5 > contrast("#777777", "#ffffff")
    assert contrast("#ffffff", "#767676") == contrast("#767676", "#ffffff")
    assert luminance("#ff0000") == pytest.approx(0.2126)
    assert luminance("#00ff00") == pytest.approx(0.7152)


def test_black_or_white_can_be_read_on_every_ground() -> None:
    """The darker of two letters on the lighter ground: never below 4.5 with black and white."""
    assert (ink("#000000"), ink("#ffffff")) == ("#ffffff", "#000000")
    for k in range(101):
        assert contrast(ink(ramp(k / 100)), ramp(k / 100)) >= 4.5
