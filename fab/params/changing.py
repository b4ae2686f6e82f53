"""A frozen job with some values changed: dotted keys and texts as they stand in a file."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from fab.errors import refused
from fab.params.job import Job
from fab.params.merge import EITHER
from fab.params.one_value import Bad
from fab.params.spec import specs
from fab.params.values import convert


def with_values(job: Job, values: Sequence[tuple[str, str]]) -> Job:
    """The job with each value set in turn.

    Raises InputError for a key that is not there or a value that can't be.
    """
    for key, text in values:
        try:
            job = _set(job, key.split("."), tomllib.loads(f"x = {text}")["x"])
        except (Bad, KeyError, AttributeError, tomllib.TOMLDecodeError) as error:
            raise refused(f"{text} cannot be written there: {error}", key=key) from None
    return job


def value_of(job: Job, key: str) -> Any:
    """The value behind a dotted key; None where it is left out."""
    found: Any = job
    for part in key.split("."):
        found = found[part] if isinstance(found, dict) else getattr(found, part)
    return found


def _set(holder: Any, path: list[str], value: Any) -> Any:
    name, *rest = path
    if isinstance(holder, dict):
        return {**holder, name: _set(holder[name], rest, value)}
    if rest:
        return replace(holder, **{name: _set(getattr(holder, name), rest, value)})
    model: type = type(holder)
    changed = {name: convert(specs(model)[name], value)}
    for one, other in (EITHER, EITHER[::-1]):
        if name == one and hasattr(holder, other):
            changed[other] = None
    return replace(holder, **changed)
