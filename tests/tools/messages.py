"""Print every sentence of the package that a user may read, with its file and line.

    python tests/tools/messages.py [ROOM ...]

A sentence is a text in the source of two words or more that is no docstring: refusals, labels of
results, remedies, help of commands, descriptions of parameters. What is put in is shown by its
expression in braces. Texts of file formats (markup, style sheets, paths) are left out.
"""

from __future__ import annotations

import ast
import re
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

FAB = Path(__file__).parents[2] / "fab"
WORDS = re.compile(r"(?:^|\s)[\"'(]?[A-Za-z][a-z]+[\"'),.:;?]*\s+[\"'(]?[A-Za-z{]")
FORMAT = re.compile(r"[<>]\w|\w<|[{};]\s*[\w-]+:\s|\\[dwsb]|^\s*(?:SELECT|import|from)\b|xmlns")


@dataclass(frozen=True)
class Message:
    """A sentence of the source and its place."""

    file: str  # from the package's folder on, "checks/rules.py"
    line: int
    text: str

    def __str__(self) -> str:
        return f"{self.file}:{self.line}: {' '.join(self.text.split())}"


def _text(node: ast.AST) -> str | None:
    """Return the text of a literal, with its parts in braces; None for all other nodes."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.JoinedStr):
        parts = []
        for part in node.values:
            if isinstance(part, ast.FormattedValue):
                parts.append("{" + ast.unparse(part.value) + "}")
            else:
                parts.append(str(part.value) if isinstance(part, ast.Constant) else "")
        return "".join(parts)
    return None


def _docstrings(tree: ast.AST) -> Iterator[ast.AST]:
    """Yield texts that stand as statements: docstrings of modules, classes, functions, fields."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            yield node.value


def _literals(node: ast.AST, left_out: frozenset[ast.AST]) -> Iterator[tuple[int, str]]:
    """Yield line and text of each literal, those within what an f-string puts in as well."""
    if node in left_out:
        return
    text = _text(node)
    if text is not None:
        yield getattr(node, "lineno", 0), text
    for child in ast.iter_child_nodes(node):
        if text is None or isinstance(child, ast.FormattedValue):
            yield from _literals(child, left_out)


def of_source(source: str, file: str = "") -> list[Message]:
    """Return the sentences of one module's source, in order."""
    tree = ast.parse(source)
    left_out = frozenset(_docstrings(tree))
    return [
        Message(file, line, text)
        for line, text in _literals(tree, left_out)
        if WORDS.search(text) and not FORMAT.search(text)
    ]


@cache
def messages(*rooms: str) -> tuple[Message, ...]:
    """Return the sentences of some rooms (all, where none is named), sorted by file and line."""
    files = sorted(FAB.rglob("*.py"))
    found: list[Message] = []
    for path in files:
        file = path.relative_to(FAB).as_posix()
        if not rooms or file.removesuffix(".py").split("/")[0] in rooms:
            found += of_source(path.read_text(encoding="utf-8"), file)
    return tuple(found)


if __name__ == "__main__":
    for message in messages(*sys.argv[1:]):
        print(message)
