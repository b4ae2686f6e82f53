"""Lengths as makers write them: "3 mm", "0.118 in", "1/8 in", "1 1/2 in", "2 cm", 0.118".

Always millimetres out.
"""

from __future__ import annotations

import re

from fab.units import MM_PER_INCH

UNITS_MM = {
    "mm": 1.0,
    "cm": 10.0,
    "m": 1000.0,
    "in": MM_PER_INCH,
    "inch": MM_PER_INCH,
    "inches": MM_PER_INCH,
    '"': MM_PER_INCH,
    "″": MM_PER_INCH,
}
INCH_WORDS = ("in", "inch", "inches", '"', "″")
MOST_CHARS = 40

# The same words as a pattern for the JSON Schema; one grammar, two readers.
_NUMBER = r"(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)"
_FRACTION = r"[0-9]+/0*[1-9][0-9]*"
_UNIT_WORDS = 'mm|cm|m|inches|inch|in|"|″'
LENGTH_PATTERN = (
    rf"^\s*[+-]?\s*(?:(?:[0-9]+(?:\s+|-))?{_FRACTION}|{_NUMBER})\s*(?:{_UNIT_WORDS})\s*$"
)
_LENGTH = re.compile(
    rf"\s*(?P<sign>[+-]?)\s*"
    rf"(?:(?:(?P<whole>[0-9]+)(?:\s+|-))?(?P<over>[0-9]+)/(?P<under>[0-9]+)|(?P<number>{_NUMBER}))"
    rf'\s*(?P<unit>mm|cm|m|inches|inch|in|"|″)\s*'
)
_COMMA = re.compile(r"[+-]?[0-9]+,[0-9]+")
_BARE = re.compile(rf"\s*[+-]?{_NUMBER}\s*")
_UNIT = re.compile(r"([^\W\d_]+|[\"'″′])\s*$")


class NotALength(ValueError):
    """The text is no length; `works` says what would be one."""

    def __init__(self, says: str, works: str) -> None:
        super().__init__(says)
        self.works = works


def parse_length(text: str) -> float:
    """A length with its unit, in mm, rounded so that 0.118 in is 2.9972 mm.

    Raises NotALength, which says why and what would work.
    """
    if len(text) > MOST_CHARS:
        raise NotALength("is too long for a length.", 'Write for example "3 mm" or "1/8 in".')
    found = _LENGTH.fullmatch(text)
    if found is None:
        raise NotALength(*_why(text))
    if found["number"] is not None:
        value = float(found["number"])
    else:
        under = int(found["under"])
        if under == 0:
            raise NotALength("divides by zero.", 'Write for example "1/8 in".')
        value = int(found["whole"] or 0) + int(found["over"]) / under
    value_mm = round(value * UNITS_MM[found["unit"]], 9)
    return -value_mm if found["sign"] == "-" else value_mm


def is_inches(text: str) -> bool:
    """True when a length was written in inches."""
    return text.strip().endswith(INCH_WORDS)


def _why(text: str) -> tuple[str, str]:
    if comma := _COMMA.search(text):
        point = comma[0].replace(",", ".")
        return "has a decimal comma.", f'Use a point: "{text.strip().replace(comma[0], point)}".'
    if _BARE.fullmatch(text):
        bare = text.strip()
        return (
            "has no unit.",
            f'Write {bare} without quotes for millimetres, or "{bare} mm", or "{bare} in".',
        )
    unit = _UNIT.search(text)
    if unit and re.match(r"\s*[+-]?[0-9.]", text) and unit[1] not in UNITS_MM:
        lower = unit[1].lower()
        works = (
            f'Write "{text[: unit.start()].strip()} {lower}".'
            if lower in UNITS_MM
            else "Units are mm, cm, m and in."
        )
        return f"has an unknown unit: {unit[1]}.", works
    return (
        "is not a length.",
        'Write a number of millimetres, or for example "3 mm", "0.118 in" or "1/8 in".',
    )
