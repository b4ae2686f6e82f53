"""Numbers printed in the build book's paper: the same facts and rows of tables as its page, found
by where they stand.

A line of a table is words at one height of a page. Numbers are compared, words may be broken over
lines.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from fab.checks.model import Verdict
from fab.proof.differences import same
from fab.proof.page import Book
from fab.proof.pdf import PdfPage, read_words
from fab.proof.tree import Tree

PRINT = "book/book.pdf"
LEVEL_MM = 0.7  # words of one line
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
FACTS = (
    "Panels",
    "Joints",
    "Open edges",
    "Inlets",
    "Screws in the wall",
    "Sheets to cut",
    "Plates to print",
    "LEDs",
    "Weight",
)
TABLES = (
    "holes",
    "panels",
    "parts to print",
    "shopping list",
)  # columns of joints are broken in print


def prove_print(tree: Tree, book: Book) -> list[Verdict]:
    """Verdicts on book/book.pdf against the page, whose figures are held against lists and
    counts.
    """
    if PRINT not in tree:
        return []
    lines = [line for page in read_words(PRINT, tree.read(PRINT)) for line in _lines(page)]
    return [_facts(book, lines), _tables(book, lines), _load(book, lines)]


def _lines(page: PdfPage) -> list[list[str]]:
    """The words of each height, from the left."""
    found: list[tuple[float, list[tuple[float, str]]]] = []
    for word in sorted(page.words, key=lambda one: (-one.y, one.x)):
        if not found or found[-1][0] - word.y > LEVEL_MM:
            found.append((word.y, []))
        found[-1][1].append((word.x, word.text.strip()))
    return [[text for _, text in sorted(words)] for _, words in found]


def _facts(book: Book, lines: Sequence[Sequence[str]]) -> Verdict:
    """A fact's number stands in the word behind its name."""
    wrong = []
    for name in FACTS:
        wanted = NUMBER.match(book.facts.get(name, ""))
        if wanted is None:
            continue
        said = [
            line[line.index(name) + 1]
            for line in lines
            if name in line and line.index(name) + 1 < len(line)
        ]
        if not any((first := NUMBER.match(text)) and first[0] == wanted[0] for text in said):
            wrong.append(f"{name}: {said[0] if said else 'nothing'}, the page says {wanted[0]}")
    return same(
        "proof.book-print",
        PRINT,
        wrong,
        "figures of the first chapter are those of the page",
        "figures",
    )


def _tables(book: Book, lines: Sequence[Sequence[str]]) -> Verdict:
    """Every row of the page's tables stands in the print: all its numbers, in their order, on one
    line.
    """
    printed = [" ".join(line) for line in lines]
    numbers = {tuple(NUMBER.findall(text)) for text in printed}
    wrong = []
    for caption in TABLES:
        for row in book.table(caption)[1:]:
            wanted = [cell.strip() for cell in row if NUMBER.fullmatch(cell.strip())]
            if wanted and not any(_within(wanted, line) for line in numbers):
                wrong.append(f"table {caption!r}: no line has the numbers {' '.join(wanted)}")
    return same(
        "proof.book-print",
        PRINT,
        wrong,
        "every row of the page's tables is printed with its numbers",
        "rows",
    )


def _within(wanted: Sequence[str], line: Sequence[str]) -> bool:
    """True when the wanted numbers stand in a line in this order."""
    rest = iter(line)
    return all(one in rest for one in wanted)


def _load(book: Book, lines: Sequence[Sequence[str]]) -> Verdict:
    """The load on a screw is that of the page, wherever it is printed."""
    pattern = re.compile(r"([\d.]+) N along the wall")
    wanted = set(pattern.findall(" ".join(book.facts.values()))) or set(pattern.findall(book.text))
    said = set(pattern.findall(" ".join(" ".join(line) for line in lines)))
    wrong = [
        f"{one} N along the wall, the page says {', '.join(sorted(wanted))} N"
        for one in sorted(said - wanted)
    ]
    return same(
        "proof.book-print", PRINT, wrong, "the load on a screw is that of the page", "figures"
    )
