"""Lines of the keys of a TOML file. The standard library's reader keeps no positions.

Works on text that the standard library has read without fault. Goes through the text once, string
by string, so that nothing inside a string or a comment is taken for a key. Keys inside inline
tables have no line of their own: whoever asks takes the line of the table around them.
"""

from __future__ import annotations

import re

Path = tuple[str | int, ...]

_STRING_OR_COMMENT = (
    r'"""(?:[^"\\]|\\.|"(?!""))*+"{3,5}'
    r"|'''(?:[^']|'(?!''))*+'{3,5}"
    r'|"(?:[^"\\\n]|\\.)*+"'
    r"|'[^'\n]*+'"
    r"|\#[^\n]*+"
)
_SKIPPED = re.compile(_STRING_OR_COMMENT, re.DOTALL)
_TOKEN = re.compile(_STRING_OR_COMMENT + r"|\n|[\[\]{}=]|[^\n\[\]{}=\"'\#]++", re.DOTALL)
_PART = re.compile(r"""\s*(?:([A-Za-z0-9_-]+)|"((?:[^"\\]|\\.)*)"|'([^']*)')\s*(?:\.|$)""")
_ESCAPE = re.compile(r"\\(u[0-9A-Fa-f]{4}|U[0-9A-Fa-f]{8}|.)")
_ESCAPED = {"b": "\b", "t": "\t", "n": "\n", "f": "\f", "r": "\r", "e": "\x1b"}
_LONG_KEY = re.compile(r"(?<![\w-])(?:[\w-]++[ \t]*+\.[ \t]*+){16}")


def lines(text: str) -> dict[Path, int]:
    """Key path to line, from 1; an entry of an array of tables has its place, from 0.

    The first row of a text between three quotes has the text's path and 0.
    """
    found: dict[Path, int] = {}
    counts: dict[Path, int] = {}
    table: Path = ()
    value: Path = ()
    line, depth, in_value = 1, 0, False
    statement: list[str] = []
    for token in _TOKEN.findall(text):
        if token == "\n":
            line += 1
            if depth == 0:
                table = (
                    _header(statement, found, counts, line - 1) if _is_header(statement) else table
                )
                statement, in_value = [], False
        elif token.startswith("#"):
            continue
        elif in_value:
            depth += {"[": 1, "{": 1, "]": -1, "}": -1}.get(token, 0)
            if depth == 0 and token[:3] in ('"""', "'''") and "\\\n" not in token:
                found.setdefault((*value, 0), line + token.startswith("\n", 3))
            line += token.count("\n")
        elif token == "=":
            value = _note(found, table, _parts("".join(statement)), line)
            statement, in_value = [], True
        else:
            statement.append(token)
    if _is_header(statement):
        _header(statement, found, counts, line)
    return found


def has_endless_key(text: str) -> bool:
    """True when some key has more than 16 parts: the library's reader takes memory without end."""
    bare = _SKIPPED.sub(lambda word: "" if word[0].startswith("#") else "s", text)
    return _LONG_KEY.search(bare) is not None


def _is_header(statement: list[str]) -> bool:
    return next((word for word in statement if word.strip()), "") == "["


def _header(
    statement: list[str], found: dict[Path, int], counts: dict[Path, int], line: int
) -> Path:
    words = [word for word in statement if word.strip()]
    many = len(words) > 1 and words[1] == "["
    parts = _parts("".join(words).strip().strip("[]"))
    path: Path = ()
    for place, part in enumerate(parts):
        path = (*path, part)
        if path in counts and not (many and place == len(parts) - 1):
            path = (*path, counts[path] - 1)
        found.setdefault(path, line)
    if many:
        counts[path] = counts.get(path, 0) + 1
        path = (*path, counts[path] - 1)
    found[path] = line
    return path


def _note(found: dict[Path, int], table: Path, parts: list[str], line: int) -> Path:
    path = table
    for part in parts:
        path = (*path, part)
        found.setdefault(path, line)
    return path


def _parts(text: str) -> list[str]:
    parts = []
    for bare, basic, literal in _PART.findall(text):
        parts.append(bare or literal or _ESCAPE.sub(_unescape, basic))
    return parts


def _unescape(found: re.Match[str]) -> str:
    code = found[1]
    if len(code) > 1:
        value = int(code[1:], 16)
        return chr(value) if value <= 0x10FFFF else ""
    return _ESCAPED.get(code, code)
