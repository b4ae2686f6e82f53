"""Every key, walked from the declarations; and the key that a misspelt one was meant to be."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from typing import Any

from fab.params.job import Job
from fab.params.quoting import show_key
from fab.params.spec import Spec, defaults, specs

ANY_NAME = "<name>"  # stands for a name that the maker chooses


@dataclass(frozen=True)
class Key:
    """A key, its declaration, and what it is when it is left out."""

    # ("shop", "stock", "<name>", "kerf"); an array of tables is ("layout", "panel[]", "cell")
    path: tuple[str, ...]
    spec: Spec
    default: Any

    @property
    def dotted(self) -> str:
        """The key as a maker writes it: "shop.stock.<name>.kerf"."""
        return ".".join(self.path)


def keys(model: type = Job, at: tuple[str, ...] = ()) -> Iterator[Key]:
    """All keys of a model in the order of declaration, a section before its own keys."""
    for name, spec in specs(model).items():
        part = f"{name}[]" if spec.kind == "sections" else name
        yield Key((*at, part), spec, defaults(model)[name])
        if spec.made_of is not None:
            inner = (*at, part, ANY_NAME) if spec.kind == "named" else (*at, part)
            yield from keys(spec.made_of, inner)


@cache
def all_keys() -> tuple[Key, ...]:
    """Every key of a job, shop and panel included."""
    return tuple(keys())


def may_extend(path: tuple[str | int, ...]) -> bool:
    """True when `extends` may stand in the table behind a path."""
    return path in (("shop",), ("panel",)) or (len(path) == 2 and path[0] == "designs")


def nearest(model: type, path: tuple[str | int, ...], wrong: str) -> str:
    """The known key that an unknown one in the table behind `path` is likeliest to mean."""
    local = [*specs(model), *(["extends"] if may_extend(path) else [])]
    same = _same_elsewhere(path, wrong)
    close = get_close_matches(wrong, local, n=2, cutoff=0.8 if same else 0.6)
    found = [*(show_key((*path, name)) for name in close), *same] or _alike_elsewhere(path, wrong)
    if found:
        return f"Did you mean {' or '.join(found)}?"
    shown = ", ".join(local[:8]) + (f" and {len(local) - 8} more" if len(local) > 8 else "")
    return f"Known here: {shown}."


def _same_elsewhere(path: tuple[str | int, ...], wrong: str) -> list[str]:
    """The same key in other tables; those of the same layer, if it stands in any."""
    layer = str(path[0]) if path else ""
    found = [
        key
        for key in _layer_keys()
        if key.path[-1].removesuffix("[]") == wrong and key.path[:-1] != _generic(path)
    ]
    near = [key for key in found if key.path[0] == ("panel" if layer == "designs" else layer)]
    return [_told(key, path) for key in near or found][:3]


def _alike_elsewhere(path: tuple[str | int, ...], wrong: str) -> list[str]:
    last = {key.path[-1].removesuffix("[]"): key for key in reversed(_layer_keys())}
    return [
        _told(last[name], path) for name in get_close_matches(wrong, list(last), n=2, cutoff=0.8)
    ]


@cache
def _layer_keys() -> tuple[Key, ...]:
    """All keys, those of a panel once."""
    return tuple(key for key in all_keys() if key.path[0] != "designs" or len(key.path) == 1)


def _generic(path: tuple[str | int, ...]) -> tuple[str, ...]:
    """A path of a file as the path of a declaration."""
    if path[:1] == ("designs",):
        path = ("panel", *path[2:])
    names = (("shop", "stock"), ("shop", "wall"), ("shop", "roll"))
    named = path[:2] in names and len(path) > 2
    parts = (
        [str(part) for part in (*path[:2], ANY_NAME, *path[3:])]
        if named
        else [
            f"{part}[]" if place + 1 < len(path) and isinstance(path[place + 1], int) else str(part)
            for place, part in enumerate(path)
            if isinstance(part, str)
        ]
    )
    return tuple(parts)


def _told(key: Key, path: tuple[str | int, ...]) -> str:
    """A key as the one who works at `path` would write it."""
    if path[:1] == ("designs",) and key.path[0] == "panel" and len(key.path) > 1 and len(path) > 1:
        return show_key((*path[:2], *key.path[1:]))
    return key.dotted
