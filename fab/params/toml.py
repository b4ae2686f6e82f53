"""TOML text to a tree with places, and every way a text can fail to be TOML, for a maker."""

from __future__ import annotations

import re
import tomllib
from functools import lru_cache
from typing import Any

from fab.errors import InputError, refused
from fab.params.locate import Path, has_endless_key, lines
from fab.params.quoting import clean, short
from fab.params.tree import Leaf, Node, Source, TableNode, Tables, Where

MOST_DEPTH = 12  # tables within tables; ours need 5

_AT = re.compile(r" ?\(at (?:line (\d+), column (\d+)|end of document)\)")
_UNQUOTED_LENGTH = re.compile(
    r'=\s*\[?\s*([+-]?[0-9][0-9./ -]*\s*(?:mm|cm|m|inch|inches|in|"|″|\'))(?![\w])'
)
_COMMA_NUMBER = re.compile(r"=\s*([+-]?[0-9]+),([0-9]+)\s*(?:#.*)?$")
_UNQUOTED_WORD = re.compile(r"=\s*([A-Za-z_][\w.\-/\\ ]*?)\s*(?:#.*)?$")
_HALF_NUMBER = re.compile(r"=\s*[+-]?(?:([0-9]+)\.|\.([0-9]+))(?![0-9.])")
_LEADING_ZERO = re.compile(r"=\s*[+-]?0+([1-9][0-9]*)\b")
_LAYER = re.compile(r"\s*\[?\s*(?:shop|panel|designs)\b")
_TABLE = re.compile(r"^\s*(\[{1,2})\s*([A-Za-z0-9_.\-]+)\s*\]?\s*(?:#.*)?$")
_NUMBER_UNIT = re.compile(
    r"=\s*([+-]?[0-9]+(?:\.[0-9]+)?)\s*(?:V|A|mA|W|N|g|kg|%|degC|deg)\s*(?:#.*)?$"
)
_COLON = re.compile(r"^\s*[\w.-]+\s*:\s*\S")
_NO_VALUE = re.compile(r"=\s*(?:#.*)?$")
_SAYS = (
    (re.compile("Cannot overwrite a value"), "the key is given a second time"),
    (re.compile("Cannot declare .* twice"), "the table is given a second time"),
    (
        re.compile("Cannot mutate immutable namespace|Cannot redefine namespace|mutable"),
        "the table was closed before",
    ),
    (re.compile("Unescaped"), "a backslash in a quoted text begins an escape"),
    (re.compile("Expected '=' after a key"), "a key must be followed by ="),
    (re.compile(r"Illegal character '\\[rn]'"), "a quoted text is not closed on its line"),
    (re.compile("Illegal character"), "this character is not allowed in a TOML file"),
    (re.compile("Expected newline or end of document"), "there is extra text after the value"),
    (re.compile("Invalid value"), "this is not a value"),
    (
        re.compile("Unterminated string|Found invalid character|Expected \"'\"|Expected '\"'"),
        "a quoted text is not closed",
    ),
    (re.compile("Unclosed array|Unclosed inline table"), "a bracket is not closed"),
)


@lru_cache(maxsize=16)  # a job is read again and again over the same presets
def parse(data: bytes, source: Source) -> TableNode:
    """The tree of a TOML file. Raises InputError when the bytes are no TOML."""
    text = _decode(data, source)
    if not text.strip():
        raise _refused(
            Where(source), "the file is empty.", "`panejig new` writes a file to start from."
        )
    if has_endless_key(text):
        raise _refused(
            Where(source),
            "a key has more than 16 parts.",
            ("Keys of panejig have 5 parts or fewer."),
        )
    try:
        values = tomllib.loads(text)
    except RecursionError:
        raise _refused(
            Where(source),
            "brackets are nested too deeply.",
            ("Lists of panejig are nested 3 deep or less."),
        ) from None
    except ValueError as fault:  # also from int() for a number with thousands of digits
        raise _syntax(fault, text, source) from None
    return _table(values, (), lines(text), Where(source, 1), 0)


def parse_value(text: str) -> tuple[bool, Any]:
    """A flag, true when `text` is one TOML value, and the value."""
    if has_endless_key(text):
        return False, None
    try:
        found = tomllib.loads(f"value = {text}")
    except (ValueError, RecursionError):
        return False, None
    return (True, found["value"]) if found.keys() == {"value"} else (False, None)


def annotate(value: Any, where: Where, raw: str | None = None) -> Node:
    """A value that stands at one place, as a tree."""
    node = _node(value, (), {}, where, 0)
    return Leaf(node.value, where, raw) if isinstance(node, Leaf) else node


def _decode(data: bytes, source: Source) -> str:
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise _refused(Where(source), "the file is written in UTF-16.", "Save it as UTF-8.")
    if b"\x00" in data:
        raise _refused(
            Where(source),
            "the file contains zero bytes: it is not a text file.",
            "Give a TOML file.",
        )
    try:
        # some editors put a byte order mark first; it means nothing
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        line = data.count(b"\n", 0, fault.start) + 1
        raise _refused(
            Where(source, line),
            f"byte 0x{data[fault.start]:02x} is not UTF-8.",
            "Save the file as UTF-8.",
        ) from None
    return text.replace("\r\n", "\n")


def _node(value: Any, path: Path, at: dict[Path, int], above: Where, depth: int) -> Node:
    line = at.get(path)
    where = above if line is None else Where(above.source, line)
    if isinstance(value, dict):
        return _table(value, path, at, where, depth)
    if isinstance(value, list) and value and all(isinstance(item, dict) for item in value):
        items = tuple(
            _node(item, (*path, place), at, where, depth + 1) for place, item in enumerate(value)
        )
        return Tables(tuple(item for item in items if isinstance(item, TableNode)), where)
    return Leaf(value, where, text_line=at.get((*path, 0), 0))


def _table(
    values: dict[str, Any], path: Path, at: dict[Path, int], where: Where, depth: int
) -> TableNode:
    if depth > MOST_DEPTH:
        raise _refused(
            where,
            f"tables are nested more than {MOST_DEPTH} deep.",
            ("Tables of panejig are nested 5 deep or less."),
        )
    return TableNode(
        {key: _node(value, (*path, key), at, where, depth + 1) for key, value in values.items()},
        where,
    )


def _syntax(fault: ValueError, text: str, source: Source) -> InputError:
    said = str(fault)
    if "integer string conversion" in said:
        return _refused(
            Where(source), "a number has too many digits.", "Write a number with fewer digits."
        )
    rows = text.split("\n")
    found = _AT.search(said)
    if found and found[1]:
        line, column = int(found[1]), int(found[2])
    else:
        line = max((place for place, row in enumerate(rows, 1) if row.strip()), default=1)
        column = len(rows[line - 1].rstrip()) + 1
    row = rows[min(line, len(rows)) - 1]
    works = _hint(row, said) or (
        _hint(rows[line - 2], said) if line > 1 and not row.strip() else ""
    )
    says = next(
        (ours for theirs, ours in _SAYS if theirs.search(said)), _lower(_AT.sub("", said).strip())
    )
    shown = clean(short(row.strip()))
    place = f"{source.shown}:{line}:{column}"
    return refused(
        f"TOML syntax error: {clean(says)}" + (f" in `{shown}`." if shown else "."),
        works,
        where=place,
    )


def _number_hint(row: str) -> str:
    """Return how a number of this row is written, "" where none is wrong."""
    if found := _UNQUOTED_LENGTH.search(row):
        value = found[1].replace('"', " in").replace("″", " in")
        return f'Put lengths with units in quotes: "{" ".join(value.split())}".'
    if found := _NUMBER_UNIT.search(row):
        return f"Write the number alone, without its unit: {found[1]}."
    if found := _COMMA_NUMBER.search(row):
        return f"Write a decimal point: {found[1]}.{found[2]}."
    if found := _HALF_NUMBER.search(row):
        whole, part = found[1] or "0", found[2] or "0"
        return f"A number has digits on both sides of its point: {whole}.{part}."
    if found := _LEADING_ZERO.search(row):
        return f"A number does not begin with 0: {found[1]}."
    return ""


def _hint(row: str, said: str) -> str:
    if (found := _TABLE.search(row)) and row.count("]") < len(found[1]):
        return f"Write {found[1]}{found[2]}{']' * len(found[1])}."
    if number := _number_hint(row):
        return number
    if found := _UNQUOTED_WORD.search(row):
        word = found[1]
        if word.lower() in ("true", "false"):
            return f"Write {word.lower()} in lower case."
        return (
            f'Put words in quotes: "{clean(short(word))}".'
            if word not in ("true", "false", "nan", "inf")
            else ""
        )
    if _NO_VALUE.search(row):
        return "Give the key a value, or take the line out."
    if _COLON.search(row):
        return "Write = in place of the colon."
    if "Unescaped" in said or "\\" in row:
        return "Write paths with /, or put the text in 'single quotes'."
    if "overwrite" in said and _LAYER.match(row):
        return 'Keep one of the two. To use a preset in a table, write extends = "...".'
    if "overwrite" in said or "twice" in said:
        return "Keep one of the two."
    if "Unterminated" in said or re.search(r"Illegal character '\\[rn]'|Expected [\"']{3}", said):
        return "Close the text with the same quote that opens it."
    return ""


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def _refused(where: Where, says: str, works: str) -> InputError:
    return refused(says, works, where=str(where))
