"""The reference page of all keys, as text, Markdown or plain data, and one key told in full.

All of it is made from the declarations: there is no second text about a key anywhere.
"""

from __future__ import annotations

from difflib import get_close_matches
from typing import Any

from fab.errors import refused
from fab.params.digest import canonical
from fab.params.keys import ANY_NAME, Key, all_keys
from fab.params.quoting import clean, short, show
from fab.params.spec import Spec
from fab.params.values import allowed

_KINDS = {
    "length": "length",
    "number": "number",
    "count": "whole number",
    "choice": "one of",
    "flag": "true or false",
    "text": "text",
    "pair": "two lengths [x, y]",
    "points": "list of points [[x, y], ...]",
    "rings": "list of shapes, each a list of points",
    "curves": "list of closed curves, each a list of corners [x, y] or [x, y, bulge]",
    "cells": "list of cells [[0, 0], ...]",
    "cell": "cell [0, 0]",
    "drawing": "rows of text",
    "names": "list of names",
    "numbers": "list of numbers",
    "prices": "table of names and prices",
    "section": "table",
    "sections": "list of tables",
    "named": "tables that you name",
}


def entry(key: Key) -> dict[str, Any]:
    """One key as plain data."""
    spec = key.spec
    value = spec.made_of is None
    return {
        "key": key.dotted,
        "kind": spec.kind,
        "unit": spec.unit,
        "default": canonical(key.default) if value else None,
        "optional": bool(spec.optional),
        "allowed": allowed(spec) if value else "",
        "says": spec.doc,
        "follows": spec.follows,
        "source": spec.source,
    }


def entries() -> list[dict[str, Any]]:
    """Every key as plain data in order of declaration; further designs have those of `panel`."""
    return [entry(key) for key in _page_keys()]


def text_page() -> str:
    """All keys, one line each, under their tables."""
    lines = []
    for table, rows in _by_table():
        lines += ["", f"[{table.dotted}]  {table.spec.doc}" if table else "top of the job file"]
        wide = max((len(key.path[-1]) for key in rows), default=0)
        for key in rows:
            row = f"  {key.path[-1]:<{wide}}  {_usual(key)}  ({_told_kind(key)})  {key.spec.doc}"
            lines.append(row + _left_out(key.spec))
    return "\n".join(lines).strip() + "\n"


def markdown_page() -> str:
    """All keys as Markdown tables."""
    lines = [
        "# Parameters",
        "",
        (
            'A length is a number of millimetres or a text with a unit: `36`, `"36 mm"`, `"1.5'
            ' in"`, `"1 1/2 in"`.'
        ),
        "In a shop or panel file the keys stand without the leading `shop.` or `panel.`.",
        "Keys of `[designs.NAME]` are those of `[panel]`.",
    ]
    for table, rows in _by_table():
        lines += ["", f"## `{table.dotted}`" if table else "## Top of the job file", ""]
        lines += [f"{_sentence(table.spec.doc)}", ""] if table else []
        if rows:
            lines += [
                "| key | default | kind | allowed | meaning | source |",
                "| --- | --- | --- | --- | --- | --- |",
            ]
        for key in rows:
            spec = key.spec
            says = spec.doc + _left_out(spec)
            cells = (
                f"`{key.path[-1]}`",
                f"`{_usual(key)}`",
                _told_kind(key),
                allowed(spec),
                says,
                spec.source,
            )
            lines.append(
                "| "
                + " | ".join(cell.replace("|", "\\|").replace("\n", " ") for cell in cells)
                + " |"
            )
    return "\n".join(lines) + "\n"


def describe(key: str) -> str:
    """One key in full, or a table with its keys, or all keys with that last part.

    Raises InputError with the nearest keys.
    """
    first, *others = find(key)
    if first.spec.made_of is None or not others:
        return "\n\n".join(_full(item) for item in (first, *others))
    inner = [(".".join(item.path[len(first.path) :]), item) for item in others]
    wide = max(len(name) for name, _ in inner)
    return "\n".join(
        [
            _full(first),
            *(f"  {name:<{wide}}  {_usual(item)}  {item.spec.doc}" for name, item in inner),
        ]
    )


def find(key: str) -> list[Key]:
    """Keys that a word names: a dotted key, a table with all its keys, or the last part of some."""
    parts = [part.strip() for part in key.strip().strip("[]").split(".") if part.strip()]
    wanted = _as_declared(parts)
    exact = [item for item in all_keys() if wanted and _plain(item.path) == wanted]
    if exact:
        below = [item for item in _page_keys() if item.path[: len(exact[0].path)] == exact[0].path]
        return [
            exact[0],
            *(item for item in below if item.spec.made_of is None and item is not exact[0]),
        ]
    tail = [item for item in _page_keys() if wanted and _plain(item.path)[-len(wanted) :] == wanted]
    if tail:
        return [item for item in tail if item.spec.made_of is None] or tail
    raise refused("unknown key.", _near(".".join(wanted)), key=clean(short(key)) or "key")


def _near(wanted: str) -> str:
    dotted = {".".join(_plain(item.path)): item.dotted for item in _page_keys()}
    close = get_close_matches(wanted, list(dotted), n=3, cutoff=0.6)
    if not close:
        shortest = sorted(dotted, key=lambda name: name.count("."), reverse=True)
        last = {name.rpartition(".")[2]: name for name in shortest}
        close = [
            last[name]
            for name in get_close_matches(wanted.rpartition(".")[2], list(last), n=3, cutoff=0.6)
        ]
    return (
        f"Did you mean {' or '.join(dotted[name] for name in close)}?"
        if close
        else "`panejig params` lists all keys."
    )


def _page_keys() -> list[Key]:
    return [key for key in all_keys() if key.path[0] != "designs" or len(key.path) == 1]


def _by_table() -> list[tuple[Key | None, list[Key]]]:
    tables: dict[tuple[str, ...], tuple[Key | None, list[Key]]] = {(): (None, [])}
    for key in _page_keys():
        inner = (*key.path, ANY_NAME) if key.spec.kind == "named" else key.path
        if key.spec.made_of is not None:
            tables[inner] = (key, [])
        else:
            tables[key.path[:-1]][1].append(key)
    return list(tables.values())


def _plain(path: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(part.removesuffix("[]") for part in path if part != ANY_NAME)


def _as_declared(parts: list[str]) -> tuple[str, ...]:
    """A maker's words as parts of a declaration, without his own names and places in lists."""
    if parts[:1] == ["designs"] and len(parts) > 2:
        parts = ["panel", *parts[2:]]
    named_tables = (["shop", "stock"], ["shop", "wall"], ["shop", "roll"])
    if parts[:2] in named_tables and len(parts) > 2:
        named = {key.path[-1] for key in all_keys() if key.path[:2] == tuple(parts[:2])}
        parts = parts[:2] + (parts[3:] if parts[2] not in named or len(parts) > 3 else parts[2:])
    return tuple(part.partition("[")[0] for part in parts)


def _full(key: Key) -> str:
    spec = key.spec
    rows = [f"{key.dotted}", f"  {_sentence(spec.doc)}"]
    if spec.made_of is None:
        rows.append(f"  kind     {_told_kind(key)}")
        rule = spec.follows or ("derived when left out" if key.default is None else "")
        rows.append(f"  default  {_usual(key)}" + (f" ({rule})" if rule else ""))
        if allowed(spec):
            rows.append(f"  allowed  {allowed(spec)}")
    if spec.source:
        rows.append(f"  source   {spec.source}")
    if spec.example:
        rows += [f"  example  {key.path[-1]} = '''", *spec.example.split("\n"), "'''"]
    return "\n".join(rows)


def _left_out(spec: Spec) -> str:
    """The rule by which a key is derived, to stand behind what it is."""
    return f"; left out: {spec.follows}" if spec.follows else ""


def _told_kind(key: Key) -> str:
    kind = _KINDS[key.spec.kind]
    return f"{kind}, {key.spec.unit}" if key.spec.unit else kind


def _usual(key: Key) -> str:
    """Return the default with its unit."""
    if key.default is None:
        return "none"
    number = isinstance(key.default, int | float) and not isinstance(key.default, bool)
    return show(key.default) + (f" {key.spec.unit}" if number and key.spec.unit else "")


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:] + "."
