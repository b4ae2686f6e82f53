"""A product: the function that makes it, the values it is given, and the products it needs.

Nothing else can shape it.

The function gets the values and then what the needed products are read as; so a key over both
covers all that it sees.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping, Set
from dataclasses import dataclass, fields, is_dataclass
from functools import cached_property, partial
from typing import Any, Generic, TypeVar

from fab.graph.program import program

T = TypeVar("T")
MOST_SEEN = 2_000


def as_bytes(data: bytes) -> bytes:
    """Return a product as it was made."""
    return data


@dataclass(frozen=True, eq=False)
class Product(Generic[T]):
    """One thing to make.

    `make` and `read` are functions of a module (or partials of such), so that any process finds
    them.
    """

    name: str  # for people; not in the key
    make: Callable[..., bytes]
    values: tuple[Any, ...] = ()
    needs: tuple[Product[Any], ...] = ()
    read: Callable[[bytes], T] = as_bytes  # type: ignore[assignment]
    cost: float = 1.0  # about how long it takes, in any unit

    @cached_property
    def key(self) -> str:
        """Digest of function, values, the needs' keys with how they are read, and the program."""
        needs = [(one.key, one.read) for one in self.needs]
        return digest((self.make, self.values, needs, program()))


def digest(value: Any) -> str:
    """Return the digest of plain values, frozen dataclasses and functions of modules.

    Raises TypeError for all else.
    """
    return hashlib.sha256(_text(value).encode()).hexdigest()


def _text(value: Any) -> str:
    """Return one text for each value: type and content, in the order in which it holds them."""
    if value is None or isinstance(value, bool | int | float | str):
        return f"{type(value).__name__} {value!r}"
    if isinstance(value, bytes):
        return f"bytes {hashlib.sha256(value).hexdigest()}"
    if is_dataclass(value) and not isinstance(value, type):
        return _of_dataclass(value)
    if isinstance(value, list | tuple):
        return f"{type(value).__name__} [{', '.join(map(_text, value))}]"
    if isinstance(value, Mapping):
        return f"map [{', '.join(f'{_text(key)}: {_text(one)}' for key, one in value.items())}]"
    if isinstance(value, Set):
        return f"set [{', '.join(sorted(map(_text, value)))}]"
    if isinstance(value, partial):
        return f"partial [{_text(value.func)}, {_text(value.args)}, {_text(value.keywords)}]"
    module, name = getattr(value, "__module__", None), getattr(value, "__qualname__", "<")
    if callable(value) and module and "<" not in name:
        return f"function {module}.{name}"
    raise TypeError(f"{type(value).__name__} is no input of a product: {value!r}"[:200])


# the same frozen value stands in many products; kept alive, so its id is its own
_seen: dict[int, tuple[Any, str]] = {}


def _of_dataclass(value: Any) -> str:
    found = _seen.get(id(value))
    if found is not None:
        return found[1]
    pairs = ", ".join(f"{one.name}: {_text(getattr(value, one.name))}" for one in fields(value))
    text = (
        f"{type(value).__module__}.{type(value).__qualname__}"
        f" {hashlib.sha256(pairs.encode()).hexdigest()}"
    )
    if len(_seen) >= MOST_SEEN:
        _seen.clear()
    _seen[id(value)] = (value, text)
    return text
