"""Values of an SVG as numbers: lengths, transforms, the `viewBox`, colours."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Any
from xml.etree import ElementTree as ET

PX_MM = 25.4 / 96  # CSS: 96 px are one inch
_CALLS = re.compile(
    r"\s*((matrix|translate|translateX|translateY|scale|scaleX|scaleY|rotate|skewX|skewY|skew)"
    r"\s*\([\s\d.eE+\-,a-z]*\)[\s,]*)*"
)
_LENGTH = re.compile(
    r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(mm|cm|in|pt|pc|px|q|%|)\s*", re.IGNORECASE
)
# Characters of a length, of a transform: a pattern that fails on a long row of digits takes hours,
# a list of a million transforms minutes.
_LONGEST, _MOST_CALLS = 100, 10_000
# CSS; the library's own factors are rounded to six figures
_UNITS = {
    "mm": 96 / 25.4,
    "cm": 96 / 2.54,
    "in": 96.0,
    "pt": 4 / 3,
    "pc": 16.0,
    "px": 1.0,
    "": 1.0,
    "q": 96 / 101.6,
}


@lru_cache(maxsize=1024)
def hexed(colour: str) -> str:
    """#rrggbb of any CSS colour; the word itself where it is none."""
    from svgelements import Color

    try:
        found = Color(colour)
        return f"#{found.red:02x}{found.green:02x}{found.blue:02x}"
    except (ValueError, TypeError, AttributeError):
        return colour


def transform(text: str) -> Any:
    """The matrix of a `transform`, as attribute or as style. Raises ValueError."""
    from svgelements import Matrix

    if text in ("", "none"):
        return Matrix()
    if len(text) > _MOST_CALLS or not _CALLS.fullmatch(text):
        raise ValueError(f"transform {text[:40]!r}")
    try:
        found = Matrix(text)
        found.render(ppi=96)
        return Matrix(
            *(float(value) for value in (found.a, found.b, found.c, found.d, found.e, found.f))
        )
    except (TypeError, IndexError, ValueError) as error:
        raise ValueError(f"transform {text[:40]!r}") from error


def length(text: str, of: float) -> float:
    """A length in user units. Raises ValueError for what is none, and for units of a font."""
    found = _LENGTH.fullmatch(text) if len(text) <= _LONGEST else None
    if not found:
        raise ValueError(f"length {text[:20]!r}")
    return float(found[1]) * (of / 100 if found[2] == "%" else _UNITS[found[2].lower()])


def view_box(element: ET.Element) -> tuple[float, float, float, float] | None:
    """The four numbers of a `viewBox`; None where there is none that can be used."""
    try:
        x, y, width, height = (
            float(word) for word in element.get("viewBox", "").replace(",", " ").split()
        )
    except ValueError:
        return None
    return (x, y, width, height) if width > 0 and height > 0 else None
