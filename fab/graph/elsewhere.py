"""The work of another process: one product, made of the store; and what it keeps in mind."""

from __future__ import annotations

import time
from collections import OrderedDict
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import Any

from fab.graph.product import digest
from fab.graph.store import Store

Read = Callable[[bytes], Any]
MOST_HELD = 24  # values that a process keeps because another product may need them


class Absent(Exception):
    """A product that ought to be there and is not, or can't be read. Holds its key."""


def made_there(
    folder: Path,
    make: Callable[..., bytes],
    values: tuple[Any, ...],
    needs: Sequence[tuple[str, Read]],
) -> tuple[str, float, Any]:
    """In another process, which writes nothing: make a product of what the store has.

    What came of it, the seconds, and its bytes; or the key of what is absent.
    """
    began, store = time.perf_counter(), Store(folder)
    try:
        given = (held(need, read, partial(_from, store, need, read)) for need, read in needs)
        content = make(*values, *given)
    except Absent as absent:
        return "absent", 0.0, absent.args[0]
    except Exception:
        return "failed", 0.0, None
    return "made", time.perf_counter() - began, content


def _from(store: Store, key: str, read: Read) -> Any:
    content = store.get(key)
    if content is None:
        raise Absent(key)
    try:
        return read(content)
    except Exception as error:
        raise Absent(key) from error


_values: OrderedDict[tuple[str, str], Any] = OrderedDict()


def held(key: str, read: Read, fetch: Callable[[], Any]) -> Any:
    """A value that several products need is read once, as long as there is room for it."""
    at = key, digest(read)
    if at in _values:
        _values.move_to_end(at)
        return _values[at]
    value = fetch()
    _values[at] = value
    while len(_values) > MOST_HELD:
        _values.popitem(last=False)
    return value
