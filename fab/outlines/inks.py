"""The colours of drawings, and letters that can be read on what is below them: relative luminance
and contrast as WCAG 2.2 defines them.
"""

from __future__ import annotations

BLACK, WHITE, GREY = "#000000", "#ffffff", "#999999"
INK, SOFT_INK = "#1b1f24", "#4a5260"  # lines and words; words that stand back
# the palette of Okabe and Ito, published, safe for the colour-blind
ORANGE, SKY, GREEN, YELLOW = "#e69f00", "#56b4e9", "#009e73", "#f0e442"
BLUE, VERMILION, PURPLE = "#0072b2", "#d55e00", "#cc79a7"


def luminance(colour: str) -> float:
    """Relative luminance of "#rrggbb", 0 (black) to 1 (white)."""
    linear = [
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4
        for part in (int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast of two colours, 1 to 21; letters want 4.5 (WCAG 2.2, 1.4.3)."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def ink(background: str, dark: str = BLACK, light: str = WHITE) -> str:
    """Dark or light, whichever stands out more."""
    return max((dark, light), key=lambda colour: contrast(colour, background))
