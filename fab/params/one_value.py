"""One value of a file that stands alone (a number, a word, a text), converted or refused."""

from __future__ import annotations

import math
import re
from difflib import get_close_matches
from typing import Any

from fab.params.lengths import NotALength, is_inches, parse_length
from fab.params.quoting import has_unseen, number, show
from fab.params.spec import NAME_PATTERN, Spec
from fab.units import MM_PER_INCH, some

PATTERN_WORDS = {
    NAME_PATTERN: "letters a-z, digits, - and _, a letter or digit first",
    r"[A-Za-z0-9_\-]*": "letters a-z, digits, - and _",
    r"(#[0-9a-fA-F]{6})?": "a colour like #0072b2",
}


class Bad(ValueError):
    """The value can't be; `works` says what would."""

    def __init__(self, says: str, works: str = "") -> None:
        super().__init__(says)
        self.says, self.works = says, works


def label(spec: Spec) -> str:
    """The description of a parameter up to its first semicolon, as messages name it."""
    return spec.doc.partition(";")[0]


def range_of(spec: Spec) -> str:
    """The bounds of a number."""
    unit = f" {spec.unit}" if spec.unit else ""
    word = f', or "{spec.word}"' if spec.word else ""
    return f"{number(spec.least or 0)} to {number(spec.most or 0)}{unit}{word}"


def inches_inside(bound_mm: float, *, upper: bool) -> str:
    """A bound in inches, rounded to the side that is allowed."""
    scaled = bound_mm / MM_PER_INCH * 1000
    return number((math.floor(scaled + 1e-9) if upper else math.ceil(scaled - 1e-9)) / 1000)


def name_like(text: str) -> str:
    """A name made of a text, good as the name of a file; may be empty."""
    return re.sub(r"[^A-Za-z0-9_-]+", "-", text).strip("-_")


def to_number(spec: Spec, value: Any) -> float:
    """A number, or a length in mm; never -0. Raises Bad."""
    if isinstance(value, str) and spec.unit == "mm":
        try:
            found = parse_length(value)
        except NotALength as fault:
            raise Bad(f"{show(value)} {fault}", fault.works) from None
        return in_range(spec, found, value, inch=is_inches(value))
    if isinstance(value, str):
        raise Bad(f"{show(value)} is text, not a number.", _unquoted(value, spec.unit))
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise Bad(f"{show(value)} is not a number.", f"Write {_example(spec)}.")
    if isinstance(value, float) and not math.isfinite(value):
        raise Bad(f"{value} is not a usable number.", f"Write {range_of(spec)}.")
    if abs(value) > 1e18:
        raise Bad(f"{show(value)} is out of range.", f"Write {range_of(spec)}.")
    return in_range(spec, float(value), value)


def in_range(spec: Spec, found: float, value: Any, *, inch: bool = False) -> float:
    """A number within its bounds. Raises Bad with the nearest one that is."""
    low, high = spec.least, spec.most
    if (low is None or found >= low) and (high is None or found <= high):
        return found + 0.0  # no -0
    bound = low if low is not None and found < low else high
    assert bound is not None
    word = "less than" if bound == low else "more than"
    unit = f" {spec.unit}" if spec.unit else ""
    shown = show(value) if isinstance(value, str) else f"{show(value)}{unit}"
    inside = inches_inside(bound, upper=bound == high) if inch else ""
    nearest = f'"{inside} in"' if inch else f"{number(bound)}{unit}"
    meant_percent = high == 1 and not unit and 1 < found <= 100
    raise Bad(
        f"{shown} is {word} {number(bound)}{unit} ({label(spec)}; {range_of(spec)}).",
        f"Write a share: {number(found / 100)} for {number(found)} %."
        if meant_percent
        else f"Nearest that works: {nearest}.",
    )


def to_count(spec: Spec, value: Any) -> int:
    """A whole number. Raises Bad."""
    if isinstance(value, float) and math.isfinite(value):
        nearest = min(max(round(value), int(spec.least or 0)), int(spec.most or 0))
        raise Bad(f"{show(value)} is not a whole number.", f"Nearest that works: {nearest}.")
    if isinstance(value, str):
        raise Bad(f"{show(value)} is text, not a whole number.", _unquoted(value, ""))
    if isinstance(value, bool) or not isinstance(value, int):
        raise Bad(f"{show(value)} is not a whole number.", f"Write {range_of(spec)}.")
    in_range(spec, float(max(min(value, 10**18), -(10**18))), value)
    return value


def to_flag(spec: Spec, value: Any) -> bool:
    """True or False. Raises Bad."""
    if isinstance(value, bool):
        return value
    word = value.lower() if isinstance(value, str) else str(value)
    meant = (
        "true"
        if word in ("true", "yes", "on", "1")
        else "false"
        if word in ("false", "no", "off", "0")
        else ""
    )
    raise Bad(
        f"{show(value)} is neither true nor false.",
        f"Write {meant or 'true or false'}, without quotes.",
    )


def to_choice(spec: Spec, value: Any) -> str:
    """One of the words that are allowed. Raises Bad with the nearest one."""
    if isinstance(value, str) and value in spec.options:
        return value
    lower = {option.lower(): option for option in spec.options}
    word = str(value).lower() if isinstance(value, (str, int)) else ""
    close = (
        [lower[word]]
        if word in lower
        else [lower[item] for item in get_close_matches(word, list(lower), n=1)]
    )
    choices = f"One of: {', '.join(spec.options)}."
    raise Bad(
        f"{show(value)} is not a known value ({label(spec)}).",
        f"Did you mean {close[0]}? {choices}" if close else choices,
    )


def to_text(spec: Spec, value: Any) -> str:
    """One line of text. Raises Bad."""
    if not isinstance(value, str):
        quoted = (
            f'"{value}"' if isinstance(value, (bool, int, float)) and abs(value) < 1e18 else '"..."'
        )
        raise Bad(f"{show(value)} is not a text.", f"Put it in quotes: {quoted.lower()}.")
    most = int(spec.most or 200)
    if len(value) > most:
        raise Bad(
            f"{show(value)} has {some(len(value), 'character')} ({label(spec)}).",
            f"At most {most} are allowed.",
        )
    if has_unseen(value):
        raise Bad(
            f"{show(value)} contains line breaks or invisible characters.",
            "Write one line of plain text.",
        )
    if spec.pattern and not re.fullmatch(spec.pattern, value):
        words = PATTERN_WORDS.get(spec.pattern, spec.pattern)
        better = name_like(value)
        fits = bool(better) and re.fullmatch(spec.pattern, better) is not None
        raise Bad(
            f"{show(value)} is not allowed here: {words}.",
            f'For example "{better}".' if fits else "",
        )
    return value


def to_drawing(spec: Spec, value: Any) -> str:
    """Rows of a drawing as one text. Raises Bad."""
    if isinstance(value, list) and value and all(isinstance(row, str) for row in value):
        value = "\n".join(value)
    if not isinstance(value, str):
        raise Bad(
            f"{show(value)} is not a drawing ({label(spec)}).",
            "Write the rows between two lines of three quotes: '''.",
        )
    if len(value) > (most := int(spec.most or 0)):
        raise Bad(
            f"the drawing has {some(len(value), 'character')}.", f"At most {most:,} are read."
        )
    return value.replace("\r\n", "\n")


def _unquoted(text: str, unit: str) -> str:
    found = re.match(r"\s*[+-]?[0-9]+(?:[.,][0-9]+)?", text)
    if not found:
        return "Write a number without quotes."
    told = f", a number of {unit}" if unit else ""
    return f"Write {found[0].strip().replace(',', '.')} without quotes{told}."


def _example(spec: Spec) -> str:
    return (
        f'{range_of(spec)}, or a text with a unit like "3 mm"'
        if spec.unit == "mm"
        else range_of(spec)
    )
