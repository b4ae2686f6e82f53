"""One hash for all that a build depends on: the converted values, not their text."""

from __future__ import annotations

import json
from dataclasses import is_dataclass
from typing import Any

from fab import __version__
from fab.params.job import Job
from fab.params.spec import specs


def inputs_sha256(job: Job) -> str:
    """SHA-256 of the tool's version and all values in canonical JSON; hexadecimal."""
    import hashlib

    whole = json.dumps(
        [f"panejig {__version__}", canonical(job)],
        sort_keys=True,
        separators=(",", ":"),
        allow_nan=False,
    )
    return hashlib.sha256(whole.encode("ascii")).hexdigest()


def canonical(value: Any) -> Any:
    """A frozen value as dicts and lists; a float keeps its shortest exact form."""
    model: type = type(value)
    if is_dataclass(model):
        return {name: canonical(getattr(value, name)) for name in specs(model)}
    if isinstance(value, dict):
        return {name: canonical(item) for name, item in value.items()}
    if isinstance(value, tuple):
        return [canonical(item) for item in value]
    return value
