"""All values of a job as plain data: to list, to compare, and as one self-contained job file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from typing import Any

from fab.params.job import Job


def plain(value: Any) -> Any:
    """Dataclasses, tuples and dicts as dicts and lists; what is left out (None) stays out."""
    if is_dataclass(value) and not isinstance(value, type):
        pairs = ((item.name, getattr(value, item.name)) for item in fields(value))
        return {name: plain(inner) for name, inner in pairs if inner is not None}
    if isinstance(value, Mapping):
        return {str(name): plain(inner) for name, inner in value.items()}
    if isinstance(value, tuple | list):
        return [plain(inner) for inner in value]
    return value


def flat(value: Any, at: str = "") -> dict[str, Any]:
    """Dotted key to leaf value; lists are leaves."""
    if isinstance(value, Mapping):
        found: dict[str, Any] = {}
        for name, inner in value.items():
            found |= flat(inner, f"{at}.{name}" if at else str(name))
        return found
    return {at: value}


def job_toml(job: Job) -> bytes:
    """A job file that needs no other file: every value stands in it."""
    import tomlkit

    document = tomlkit.document()
    document.add(
        tomlkit.comment(
            "Every value of this job, shop and designs included. It needs no other file."
        )
    )
    for name, value in _without_empty(plain(job)).items():
        document.add(name, tomlkit.item(value))
    return tomlkit.dumps(document).encode()


def _without_empty(values: dict[str, Any]) -> dict[str, Any]:
    """Plain values first, then tables: TOML asks for that order."""
    leaves = {name: value for name, value in values.items() if not isinstance(value, dict)}
    return leaves | {
        name: value for name, value in values.items() if isinstance(value, dict) and value
    }
