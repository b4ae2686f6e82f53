"""Values and keys of a file as a message quotes them: short, without control characters."""

from __future__ import annotations

import re
from collections.abc import Mapping
from difflib import get_close_matches
from functools import lru_cache
from typing import Any

from fab.units import fixed

MOST_CHARS = 60
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_UNSEEN = re.compile(
    "[\x00-\x1f\x7f-\x9f\u200b-\u200f\u2028-\u202e\u2060-\u2069\ud800-\udfff\ufeff]"
)


def clean(text: str) -> str:
    """`text` with control characters and marks of writing direction as escapes."""
    return _UNSEEN.sub(lambda found: f"\\u{ord(found[0]):04x}", text)


def has_unseen(text: str) -> bool:
    """True when a text holds characters that a line of text must not hold."""
    return _UNSEEN.search(text) is not None


def short(text: str, most: int = MOST_CHARS) -> str:
    """The beginning of a long text."""
    return text if len(text) <= most else text[: most - 3] + "..."


def show(value: Any) -> str:
    """A value as it would stand in a TOML file, cleaned and cut short."""
    return clean(short(_plain(value)))


@lru_cache(maxsize=1024)  # a job that is read again names the same keys
def show_key(path: tuple[str | int, ...]) -> str:
    """A dotted key; places in lists are counted from 0: layout.panel[3].cell."""
    parts: list[str] = []
    for part in path:
        if isinstance(part, int):
            parts[-1:] = [f"{parts[-1] if parts else ''}[{part}]"]
        elif _BARE_KEY.fullmatch(part):
            parts.append(short(part))
        else:
            parts.append(f'"{clean(short(part))}"')
    return ".".join(parts)


def number(value: float) -> str:
    """A number with up to nine decimals, or its shortest form when it is huge."""
    return fixed(value, 9) if abs(value) < 1e15 else f"{value:g}"


def _plain(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        value = " / ".join(row.rstrip() for row in value.strip("\n").split("\n"))
        quote = "'" if '"' in value and "'" not in value else '"'
        return f"{quote}{short(value)}{quote}"
    if isinstance(value, int):
        return (
            str(value)
            if abs(value) < 10**18
            else f"{'-' if value < 0 else ''}(a number of over 18 digits)"
        )
    if isinstance(value, float):
        # repr: also nan
        return number(value) if value == 0 or 1e-9 <= abs(value) <= 1e15 else repr(value)
    if isinstance(value, (list, tuple)):
        return _items(value)
    if isinstance(value, dict):
        return "{" + ", ".join(f"{show_key((str(key),))} = ..." for key in list(value)[:4]) + "}"
    if value is None:
        return "(none)"
    return str(value)


def _items(value: list[Any] | tuple[Any, ...]) -> str:
    text = "["
    for place, item in enumerate(value):
        text += (", " if place else "") + _plain(item)
        if len(text) > MOST_CHARS - 16 and place + 1 < len(value):
            return f"{text[: MOST_CHARS - 16]}... {len(value)} items]"
    return text + "]"


def near(name: str, known: Mapping[str, object], key: str) -> str:
    """The name in the tables behind `key` that was meant, or those there are."""
    lower = {item.lower(): item for item in known}
    close = get_close_matches(name.lower(), list(lower), n=1, cutoff=0.4)
    if close:
        return f"Did you mean {lower[close[0]]}?"
    if known:
        return f"Known: {', '.join(list(known)[:8])}."
    works = ' Or use a shop that has some: shop = "metric-bench".' if key.startswith("shop") else ""
    return f"There is none: write a table [{key}.{clean(name) or 'a-name'}].{works}"
