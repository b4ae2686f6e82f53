"""Colours of the light pictures: one ramp from dark to light, and a few lines, safe for the
colour-blind.
"""

from __future__ import annotations

from fab.outlines.inks import BLACK, BLUE, GREEN, VERMILION, WHITE

# Dark blue over grey to yellow, lightness rising evenly, as published for readers with any kind of
# colour vision (J. Nunez, C. Anderton, R. Renslow, PLoS ONE 13(7), 2018); six of its colours from
# memory, straight between them.
_STOPS = (
    (0, 32, 77),
    (49, 68, 107),
    (102, 105, 112),
    (149, 143, 120),
    (202, 185, 105),
    (255, 234, 70),
)
LINES = (BLACK, BLUE, VERMILION, GREEN)  # black and three of the Okabe-Ito palette
DIM, PAPER = "#b8bcc4", WHITE


def ramp(share: float) -> str:
    """The colour of a share from 0 (dark) to 1 (light), "#rrggbb"."""
    place = min(max(share, 0.0), 1.0) * (len(_STOPS) - 1)
    k = min(int(place), len(_STOPS) - 2)
    part = place - k
    mixed = (round(a + (b - a) * part) for a, b in zip(_STOPS[k], _STOPS[k + 1], strict=True))
    return "#" + "".join(f"{value:02x}" for value in mixed)
