"""One value of a file to the value the program works with, or the reason why not.

One function a kind.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from difflib import get_close_matches
from typing import Any

from fab.params.lengths import NotALength, is_inches, parse_length
from fab.params.quoting import clean, has_unseen, number, short, show
from fab.params.spec import NAME_PATTERN, Spec
from fab.units import MM_PER_INCH, some

MOST_CORNERS = 40_000  # of all curves behind one key
_BULGE = Spec("number", "bulge of an arc, tan(sweep / 4)", "", -1.0, 1.0)
MOST_TOLD = 3  # bad items of one list that are told, by their places from 0; the rest is counted
_PATTERN_WORDS = {
    NAME_PATTERN: "letters a-z, digits, - and _, a letter or digit first",
    r"[A-Za-z0-9_\-]*": "letters a-z, digits, - and _",
    r"(#[0-9a-fA-F]{6})?": "a colour like #0072b2",
}


class Bad(ValueError):
    """The value can't be; `works` says what would."""

    def __init__(self, says: str, works: str = "") -> None:
        super().__init__(says)
        self.says, self.works = says, works


def convert(spec: Spec, value: Any) -> Any:
    """The value behind a key, converted and frozen. Raises Bad."""
    if spec.word and value == spec.word:
        return None
    return _BY_KIND[spec.kind](spec, value)


def allowed(spec: Spec) -> str:
    """The values that may stand behind the key, in words."""
    if spec.kind in ("length", "number", "count"):
        return _range(spec)
    if spec.kind == "choice":
        return ", ".join(spec.options)
    if spec.kind == "text":
        most = f"at most {number(spec.most or 0)} characters"
        return f"{most}: {_PATTERN_WORDS.get(spec.pattern, spec.pattern)}" if spec.pattern else most
    if spec.kind == "flag":
        return "true, false"
    if spec.kind == "pair":
        return f"two of {_range(spec)}"
    return (
        f"at most {spec.most_items:,}"
        if spec.kind in ("cells", "points", "rings", "curves", "names", "numbers")
        else ""
    )


def label(spec: Spec) -> str:
    """The description of a parameter up to its first semicolon, as messages name it."""
    return spec.doc.partition(";")[0]


def _range(spec: Spec) -> str:
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


def _number(spec: Spec, value: Any) -> float:
    if isinstance(value, str) and spec.unit == "mm":
        try:
            found = parse_length(value)
        except NotALength as fault:
            raise Bad(f"{show(value)} {fault}", fault.works) from None
        return _in_range(spec, found, value, inch=is_inches(value))
    if isinstance(value, str):
        raise Bad(f"{show(value)} is text, not a number.", _unquoted(value, spec.unit))
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise Bad(f"{show(value)} is not a number.", f"Write {_example(spec)}.")
    if isinstance(value, float) and not math.isfinite(value):
        raise Bad(f"{value} is not a usable number.", f"Write {_range(spec)}.")
    if abs(value) > 1e18:
        raise Bad(f"{show(value)} is out of range.", f"Write {_range(spec)}.")
    return _in_range(spec, float(value), value)


def _in_range(spec: Spec, found: float, value: Any, *, inch: bool = False) -> float:
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
        f"{shown} is {word} {number(bound)}{unit} ({label(spec)}; {_range(spec)}).",
        f"Write a share: {number(found / 100)} for {number(found)} %."
        if meant_percent
        else f"Nearest that works: {nearest}.",
    )


def _count(spec: Spec, value: Any) -> int:
    if isinstance(value, float) and math.isfinite(value):
        nearest = min(max(round(value), int(spec.least or 0)), int(spec.most or 0))
        raise Bad(f"{show(value)} is not a whole number.", f"Nearest that works: {nearest}.")
    if isinstance(value, str):
        raise Bad(f"{show(value)} is text, not a whole number.", _unquoted(value, ""))
    if isinstance(value, bool) or not isinstance(value, int):
        raise Bad(f"{show(value)} is not a whole number.", f"Write {_range(spec)}.")
    _in_range(spec, float(max(min(value, 10**18), -(10**18))), value)
    return value


def _flag(spec: Spec, value: Any) -> bool:
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


def _choice(spec: Spec, value: Any) -> str:
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


def _text(spec: Spec, value: Any) -> str:
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
        words = _PATTERN_WORDS.get(spec.pattern, spec.pattern)
        better = name_like(value)
        fits = bool(better) and re.fullmatch(spec.pattern, better) is not None
        raise Bad(
            f"{show(value)} is not allowed here: {words}.",
            f'For example "{better}".' if fits else "",
        )
    return value


def _drawing(spec: Spec, value: Any) -> str:
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


def _pair(spec: Spec, value: Any) -> tuple[float, float]:
    if not isinstance(value, list) or len(value) != 2:
        raise Bad(f"{show(value)} is not two lengths ({label(spec)}).", "Write [220, 220].")
    return (_number(spec, value[0]), _number(spec, value[1]))


def _point(spec: Spec, value: Any) -> tuple[float, float]:
    if not isinstance(value, list) or len(value) != 2:
        raise Bad(f"{show(value)} is not a point.", "Points are [x, y].")
    return (_number(spec, value[0]), _number(spec, value[1]))


def _points(spec: Spec, value: Any) -> tuple[tuple[float, float], ...]:
    return _each(spec, value, lambda item: _point(spec, item), "a list of points [[x, y], ...]")


def _rings(spec: Spec, value: Any) -> tuple[tuple[tuple[float, float], ...], ...]:
    def ring(item: Any) -> tuple[tuple[float, float], ...]:
        corners = _points(spec, item)
        if len(corners) < 3:
            raise Bad(
                f"{show(item)} has {some(len(corners), 'corner')}.", "A closed shape has 3 or more."
            )
        return corners

    return _each(spec, value, ring, "a list of shapes [[[x, y], [x, y], [x, y]], ...]")


def _curves(spec: Spec, value: Any) -> tuple[tuple[tuple[float, ...], ...], ...]:
    def corner(item: Any) -> tuple[float, ...]:
        if not isinstance(item, list) or len(item) not in (2, 3):
            raise Bad(
                f"{show(item)} is not a corner of a curve.",
                "Corners are [x, y], or [x, y, bulge] where an arc starts.",
            )
        bulge = [
            _in_range(_BULGE, _number(_BULGE, value), value) for value in item[2:] if value != 0
        ]
        return (_number(spec, item[0]), _number(spec, item[1]), *bulge)

    def curve(item: Any) -> tuple[tuple[float, ...], ...]:
        corners = _each(
            replace(spec, most_items=MOST_CORNERS), item, corner, "a list of corners [[x, y], ...]"
        )
        if len(corners) < (2 if any(len(corner) == 3 for corner in corners) else 3):
            raise Bad(
                f"{show(item)} has {some(len(corners), 'corner')}.",
                "A closed curve has 3 or more, or 2 and an arc.",
            )
        return corners

    found = _each(spec, value, curve, "a list of closed curves [[[x, y], [x, y, bulge], ...], ...]")
    total = sum(len(one) for one in found)
    if total > MOST_CORNERS:
        raise Bad(f"has {some(total, 'corner')}.", f"At most {MOST_CORNERS:,} are read.")
    return found


def _cell(spec: Spec, value: Any) -> tuple[int, int]:
    if not isinstance(value, list) or len(value) != 2:
        raise Bad(f"{show(value)} is not a cell.", "Cells are two whole numbers: [0, 1].")
    return (_count(spec, value[0]), _count(spec, value[1]))


def _cells(spec: Spec, value: Any) -> tuple[tuple[int, int], ...]:
    found = _each(
        spec, value, lambda item: _cell(spec, item), "a list of cells [[0, 0], [1, 0], ...]"
    )
    _no_doubles(found, "Two panels cannot be in one cell: remove one.")
    return found


def _names(spec: Spec, value: Any) -> tuple[str, ...]:
    if isinstance(value, str):
        raise Bad(f"{show(value)} is one text, not a list.", f'Write ["{clean(short(value))}"].')
    found = _each(spec, value, lambda item: _text(spec, item), 'a list of names ["A", "B"]')
    _no_doubles(found, "Remove one.")
    return found


def _numbers(spec: Spec, value: Any) -> tuple[float, ...]:
    return _each(spec, value, lambda item: _number(spec, item), "a list of numbers [1, 2, 3]")


def _each(spec: Spec, value: Any, one: Callable[[Any], Any], wanted: str) -> tuple[Any, ...]:
    if not isinstance(value, list):
        raise Bad(f"{show(value)} is not {wanted} ({label(spec)}).", "")
    if len(value) > spec.most_items:
        raise Bad(f"has {some(len(value), 'entry')}.", f"At most {spec.most_items:,} are read.")
    found, faults = [], []
    for place, item in enumerate(value):
        try:
            found.append(one(item))
        except Bad as bad:
            faults.append((place, bad))
    if faults:
        says = "; ".join(f"[{place}]: {bad.says.rstrip('.')}" for place, bad in faults[:MOST_TOLD])
        more = f"; and {len(faults) - MOST_TOLD:,} more" if len(faults) > MOST_TOLD else ""
        raise Bad(f"{says}{more}.", faults[0][1].works)
    return tuple(found)


def _no_doubles(found: tuple[Any, ...], works: str) -> None:
    doubles = [item for item, times in Counter(found).items() if times > 1]
    if doubles:
        told = short(", ".join(show(item) for item in doubles[:200]))
        raise Bad(f"{told} {'is' if len(doubles) == 1 else 'are'} listed more than once.", works)


def _unquoted(text: str, unit: str) -> str:
    found = re.match(r"\s*[+-]?[0-9]+(?:[.,][0-9]+)?", text)
    if not found:
        return "Write a number without quotes."
    told = f", a number of {unit}" if unit else ""
    return f"Write {found[0].strip().replace(',', '.')} without quotes{told}."


def _example(spec: Spec) -> str:
    return (
        f'{_range(spec)}, or a text with a unit like "3 mm"' if spec.unit == "mm" else _range(spec)
    )


_BY_KIND: dict[str, Callable[[Spec, Any], Any]] = {
    "length": _number,
    "number": _number,
    "count": _count,
    "choice": _choice,
    "flag": _flag,
    "text": _text,
    "pair": _pair,
    "points": _points,
    "rings": _rings,
    "curves": _curves,
    "cells": _cells,
    "cell": _cell,
    "drawing": _drawing,
    "names": _names,
    "numbers": _numbers,
}
