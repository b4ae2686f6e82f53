"""The build book's page as plain words: its text, its tables, and its pairs of name and value."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache
from html.parser import HTMLParser

from fab.proof.tree import Tree

PAGE = "book/index.html"
QUIET = {"script", "style", "svg"}
ENDS = {
    "p",
    "li",
    "tr",
    "h1",
    "h2",
    "h3",
    "h4",
    "dt",
    "dd",
    "div",
    "caption",
    "figcaption",
    "table",
    "section",
}


@dataclass
class Book:
    """Text, tables by caption (rows of cells, the head first), and facts by name."""

    text: str = ""
    tables: list[tuple[str, list[list[str]]]] = field(default_factory=list)
    facts: dict[str, str] = field(default_factory=dict)

    def table(self, words: str) -> list[list[str]]:
        """The first table whose caption begins with these words; empty when there is none."""
        return next(
            (rows for caption, rows in self.tables if caption.lower().startswith(words.lower())), []
        )


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.book, self.quiet, self.parts = Book(), 0, []  # type: ignore[var-annotated]
        self.cell: list[str] | None = None
        self.row: list[str] | None = None
        self.name = ""

    def handle_starttag(self, tag: str, attrs: object) -> None:
        if tag in QUIET:
            self.quiet += 1
        elif tag == "table":
            self.book.tables.append(("", []))
        elif tag == "tr":
            self.row = []
        elif tag in ("td", "th", "dt", "dd", "caption"):
            self.cell = []

    def handle_endtag(self, tag: str) -> None:
        if tag in QUIET:
            self.quiet = max(self.quiet - 1, 0)
        if tag in ENDS:
            self.parts.append(" ")
        words = " ".join("".join(self.cell or ()).split())
        if tag in ("td", "th") and self.row is not None:
            self.row.append(words)
            self.cell = None
        elif tag == "caption" and self.book.tables:
            self.book.tables[-1] = (words, self.book.tables[-1][1])
            self.cell = None
        elif tag == "dt":
            self.name, self.cell = words, None
        elif tag == "dd":
            self.book.facts.setdefault(self.name, words)
            self.cell = None
        elif tag == "tr" and self.row is not None and self.book.tables:
            self.book.tables[-1][1].append(self.row)
            if len(self.row) == 2:
                self.book.facts.setdefault(self.row[0], self.row[1])
            self.row = None

    def handle_data(self, data: str) -> None:
        if self.quiet:
            return
        self.parts.append(data)
        if self.cell is not None:
            self.cell.append(data)


def read_page(tree: Tree) -> Book:
    """The page. Raises Unreadable when it is missing or no text."""
    return _book(tree.text(PAGE))


@lru_cache(maxsize=2)
def _book(text: str) -> Book:
    reader = _Reader()
    reader.feed(text)
    reader.book.text = " ".join("".join(reader.parts).split())
    return reader.book
