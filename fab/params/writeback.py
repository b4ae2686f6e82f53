"""A measured value back into the shop file: one value changes, comments and blank lines stay.

The new text is proven before it is written: it reads as the old one with that value changed, no
other line differs, and the door accepts it. It is written beside the file, forced to the disk and
moved over it in one step, so a crash leaves the old file or the new one, whole.
"""

from __future__ import annotations

import difflib
import re
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fab.errors import Fault, InputError, refused
from fab.params.files import read_bytes
from fab.params.lengths import is_inches
from fab.params.quoting import clean, show, show_key
from fab.params.replacing import replace_file
from fab.params.shop import Shop
from fab.params.shopfile import shop_of
from fab.params.spec import specs
from fab.units import fixed, inches

Key = tuple[str, ...]

MM_PLACES = 3
INCH_PLACES = 4
# what a value may lose when it is written in inches
ROUNDING_MM = 0.5 * 25.4 * 10**-INCH_PLACES + 1e-9


@dataclass(frozen=True)
class Rewrite:
    """A change that is ready to be written."""

    path: Path
    key: Key
    before: str  # the value that holds now, as it stands in the file or under it
    after: str  # as it will stand
    old: bytes
    new: bytes
    line: int  # of the value in the new text

    @property
    def diff(self) -> tuple[str, ...]:
        """The lines that change: "- old" and "+ new"."""
        old, new = _lines(self.old), _lines(self.new)
        rows: list[str] = []
        for tag, a0, a1, b0, b1 in difflib.SequenceMatcher(None, old, new, False).get_opcodes():
            if tag != "equal":
                rows += [f"- {clean(row)}" for row in old[a0:a1]] + [
                    f"+ {clean(row)}" for row in new[b0:b1]
                ]
        return tuple(rows)


def rewrite(path: Path, key: Key, value_mm: float) -> Rewrite:
    """The change of one number of a shop file, a length in the unit that the maker writes there.

    Nothing is written.

    Raises InputError when the file has faults, the key is not in the shop, or the file is written
    in a way that can't be kept (it says which line to change by hand then).
    """
    shown = clean(str(path))
    old = read_bytes(path, shown)
    shop = shop_of(path, old)
    now = _value(shop, key, shown)
    bom = old.startswith(b"\xef\xbb\xbf")
    text = old.decode("utf-8-sig")
    raw = _raw(tomllib.loads(text.replace("\r\n", "\n")), key)
    wanted = _in_unit_of(raw if raw is not None else _neighbour(shop, key, text), value_mm)
    by_hand = InputError([_by_hand(shown, key, wanted)])
    try:
        new_text = _changed(text, key, wanted) if raw is not None else _added(text, key, wanted)
    except (ValueError, LookupError, TypeError, AttributeError):
        # what the round-trip library can't read or reach
        raise by_hand from None
    new = (b"\xef\xbb\xbf" if bom else b"") + new_text.encode("utf-8")
    if not _same_but_for(key, wanted, old, new):
        raise by_hand
    if abs(_value(shop_of(path, new), key, shown) - value_mm) > ROUNDING_MM:
        raise by_hand
    before = (
        show(raw)
        if raw is not None
        else f"{fixed(now, 6)} (not in this file: from the file that it extends, or the default)"
    )
    after = show(wanted)
    return Rewrite(path, key, before, after, old, new, _line_of(_lines(old), _lines(new)))


def write(change: Rewrite) -> None:
    """Put the new text in the file's place, in one step. Raises OutputError."""
    replace_file(change.path, change.new, expected=change.old)


def _value(shop: Shop, key: Key, shown: str) -> float:
    """The value that holds now. A stock that the shop does not have is refused."""
    value: Any = shop
    for place, part in enumerate(key):
        if isinstance(value, dict):
            if part not in value:
                near = difflib.get_close_matches(part, value, n=1)
                works = (
                    f"Did you mean {near[0]}?" if near else f"It has {', '.join(value) or 'none'}."
                )
                raise refused(
                    "is not in this shop.", works, where=shown, key=show_key(key[: place + 1])
                )
            value = value[part]
        else:
            value = getattr(value, part)
    return float(value)


def _raw(values: dict[str, Any], key: Key) -> Any:
    """The value as it stands in this very file, or None."""
    found: Any = values
    for part in key:
        if not isinstance(found, dict) or part not in found:
            return None
        found = found[part]
    return found


def _neighbour(shop: Shop, key: Key, text: str) -> Any:
    """An example of how this maker writes such a value, for one that is not in the file yet: a
    length in inches where the shop has some; a factor always as a bare number.
    """
    holder: Any = shop
    for part in key[:-1]:
        holder = holder[part] if isinstance(holder, dict) else getattr(holder, part)
    if not isinstance(holder, dict) and specs(holder.__class__)[key[-1]].kind != "length":
        return 0.0
    return "0 in" if shop.units == "in" and re.search(r'=\s*"[^"\n]*\bin"', text) else 0.0


def _in_unit_of(example: Any, value_mm: float) -> float | str:
    """The value as a bare number of mm, or in the unit that the example has."""
    if not isinstance(example, str):
        return float(fixed(value_mm, MM_PLACES))
    if is_inches(example):
        return f"{fixed(inches(value_mm), INCH_PLACES)} in"
    return f"{fixed(value_mm, MM_PLACES)} mm"


def _changed(text: str, key: Key, wanted: float | str) -> str:
    """The text with the value of a key that stands in it replaced; its comment stays."""
    import tomlkit

    document = tomlkit.parse(text)
    table: Any = document
    for part in key[:-1]:
        table = table[part]
    table[key[-1]] = wanted
    return tomlkit.dumps(document)


def _added(text: str, key: Key, wanted: float | str) -> str:
    """The text with the key put first under its table's header, or in a new table at the end."""
    import tomlkit

    value = tomlkit.item(wanted).as_string()
    newline = "\r\n" if "\r\n" in text else "\n"
    row = f"{_bare(key[-1])} = {value}{newline}"
    header = re.compile(
        r"\s*\[\s*"
        + r"\s*\.\s*".join(f"[\"']?{re.escape(part)}[\"']?" for part in key[:-1])
        + r"\s*\]"
    )
    rows = text.splitlines(keepends=True)
    for place, line in enumerate(rows):
        if header.match(line):
            ended = line if line.endswith("\n") else line + newline
            return "".join([*rows[:place], ended, row, *rows[place + 1 :]])
    document = tomlkit.parse(text)
    table: Any = document
    for part in key[:-1]:
        if part not in table:
            table = None
            break
        table = table[part]
    # an inline table takes it where it stands
    if table is not None and not hasattr(table, "is_super_table"):
        table[key[-1]] = wanted
        return tomlkit.dumps(document)
    gap = (
        ""
        if text.endswith(("\n\n", "\r\n\r\n")) or not text
        else newline
        if text.endswith("\n")
        else newline * 2
    )
    return f"{text}{gap}[{'.'.join(_bare(part) for part in key[:-1])}]{newline}{row}"


def _bare(part: str) -> str:
    return part if re.fullmatch(r"[A-Za-z0-9_-]+", part) else f'"{part}"'


def _by_hand(shown: str, key: Key, wanted: float | str) -> Fault:
    return Fault(
        show_key(key),
        "this file cannot be changed without losing comments or layout.",
        f"Write it by hand: {_bare(key[-1])} = {show(wanted)} in"
        f" [{'.'.join(_bare(part) for part in key[:-1])}].",
        where=shown,
    )


def _same_but_for(key: Key, wanted: float | str, old: bytes, new: bytes) -> bool:
    """True when the text reads as the old one with this value, and differs in one place only."""
    before = tomllib.loads(old.decode("utf-8-sig").replace("\r\n", "\n"))
    try:
        after = tomllib.loads(new.decode("utf-8-sig").replace("\r\n", "\n"))
    except ValueError:
        return False
    table = before
    for part in key[:-1]:
        table = table.setdefault(part, {})
        if not isinstance(table, dict):
            return False
    table[key[-1]] = wanted
    places = [
        op
        for op in difflib.SequenceMatcher(None, _lines(old), _lines(new), False).get_opcodes()
        if op[0] != "equal"
    ]
    small = all(
        tag == "insert" or (tag == "replace" and a1 - a0 == b1 - b0 == 1)
        for tag, a0, a1, b0, b1 in places
    )
    return before == after and small and len(places) <= 1


def _lines(data: bytes) -> list[str]:
    return data.decode("utf-8-sig").splitlines()


def _line_of(old: list[str], new: list[str]) -> int:
    """The last changed line of the new text, from 1."""
    ops = difflib.SequenceMatcher(None, old, new, False).get_opcodes()
    return max((b1 for tag, _, _, _, b1 in ops if tag != "equal"), default=0)
