"""A TOML file as read, where every value knows the file and line that it comes from.

Leaf     a plain value, or an array without tables in it
Table    keys to nodes
Tables   an array of tables
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, TypeAlias


@dataclass(frozen=True, slots=True)
class Source:
    """A file, or a word of the command line."""

    shown: str  # as the maker would type it; for messages
    name: str  # the same on every machine; for lists and the book


@dataclass(frozen=True, slots=True)
class Where:
    """A line of a source; line 0 is the source as a whole."""

    source: Source
    line: int = 0

    def __str__(self) -> str:
        return f"{self.source.shown}:{self.line}" if self.line else self.source.shown

    @property
    def told(self) -> str:
        """The same on every machine."""
        return f"{self.source.name}:{self.line}" if self.line else self.source.name


@dataclass(frozen=True, slots=True)
class Leaf:
    """A value; `raw` is the text it was read from when it stood on the command line."""

    value: Any
    where: Where
    raw: str | None = None
    text_line: int = 0  # of the file, where the first row of a text of several rows stands


@dataclass(frozen=True, slots=True)
class TableNode:
    """Keys to nodes. A merge makes new tables; none is changed in place."""

    items: dict[str, Node]
    where: Where


@dataclass(frozen=True, slots=True)
class Tables:
    """An array of tables."""

    items: tuple[TableNode, ...]
    where: Where


Node: TypeAlias = Leaf | TableNode | Tables


def plain(node: Node) -> Any:
    """The node's value without its places."""
    if isinstance(node, TableNode):
        return {key: plain(item) for key, item in node.items.items()}
    if isinstance(node, Tables):
        return [plain(item) for item in node.items]
    return node.value


def where_of(table: TableNode, path: tuple[str | int, ...]) -> Where:
    """The place of the value behind a path, or of the nearest table above that stands in a file.

    A number behind a text of several rows leads to that row.
    """
    node: Node = table
    for part in path:
        below: Node | None = None
        if isinstance(node, TableNode) and isinstance(part, str):
            below = node.items.get(part)
        elif isinstance(node, Tables) and isinstance(part, int):
            below = node.items[part]
        elif isinstance(node, Leaf) and isinstance(part, int) and node.text_line:
            return Where(node.where.source, node.text_line + part)
        if below is None:
            break
        node = below
    return node.where
