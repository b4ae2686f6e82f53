"""Faults found after the files were read, told with file and line of their value."""

from __future__ import annotations

import functools
import re
from collections.abc import Callable
from dataclasses import replace
from typing import Concatenate, ParamSpec, TypeVar

from fab.errors import InputError
from fab.params.read import Loaded
from fab.params.tree import where_of

P = ParamSpec("P")
T = TypeVar("T")

_PART = re.compile(r'"(?P<quoted>[^"]*)"|\[(?P<place>\d+)\]|(?P<bare>[^.\[\]"]+)')
_ROW = re.compile(r"(?<=^layout\.map)\[\d+\]$")  # a row of the drawing is named by its line


def told_with_places(
    work: Callable[Concatenate[Loaded, P], T],
) -> Callable[Concatenate[Loaded, P], T]:
    """`work` on a job; the faults of an InputError that it raises say where their values stand."""

    @functools.wraps(work)
    def placed(loaded: Loaded, /, *args: P.args, **kwargs: P.kwargs) -> T:
        try:
            return work(loaded, *args, **kwargs)
        except InputError as error:
            faults = [
                replace(
                    fault,
                    where=fault.where or where(loaded, fault.key),
                    key=_ROW.sub("", fault.key),
                )
                for fault in error.faults
            ]
            raise InputError(faults) from error

    return placed


def where(loaded: Loaded, key: str) -> str:
    """File and line of a dotted key or the nearest table above; the job's file for no key."""
    parts = tuple(
        int(m["place"]) if m["place"] else m["quoted"] or m["bare"] for m in _PART.finditer(key)
    )
    if not parts or parts[0] not in loaded.table.items:
        return loaded.sources[0].name
    return str(where_of(loaded.table, parts))
