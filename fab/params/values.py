"""One value of a file to the value the program works with, or the reason why not.

One function a kind.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from fab.params import many_values, one_value
from fab.params.one_value import PATTERN_WORDS, range_of
from fab.params.quoting import number
from fab.params.spec import Spec


def convert(spec: Spec, value: Any) -> Any:
    """The value behind a key, converted and frozen. Raises Bad."""
    if spec.word and value == spec.word:
        return None
    return _BY_KIND[spec.kind](spec, value)


def allowed(spec: Spec) -> str:
    """The values that may stand behind the key, in words."""
    if spec.kind in ("length", "number", "count"):
        return range_of(spec)
    if spec.kind == "choice":
        return ", ".join(spec.options)
    if spec.kind == "text":
        most = f"at most {number(spec.most or 0)} characters"
        return f"{most}: {PATTERN_WORDS.get(spec.pattern, spec.pattern)}" if spec.pattern else most
    if spec.kind == "flag":
        return "true, false"
    if spec.kind == "pair":
        return f"two of {range_of(spec)}"
    return (
        f"at most {spec.most_items:,}"
        if spec.kind in ("cells", "points", "rings", "curves", "names", "numbers")
        else ""
    )


_BY_KIND: dict[str, Callable[[Spec, Any], Any]] = {
    "length": one_value.to_number,
    "number": one_value.to_number,
    "count": one_value.to_count,
    "choice": one_value.to_choice,
    "flag": one_value.to_flag,
    "text": one_value.to_text,
    "drawing": one_value.to_drawing,
    "pair": many_values.to_pair,
    "points": many_values.to_points,
    "rings": many_values.to_rings,
    "curves": many_values.to_curves,
    "cell": many_values.to_cell,
    "cells": many_values.to_cells,
    "names": many_values.to_names,
    "numbers": many_values.to_numbers,
}
