"""A document as values: chapters of headings, text, tables and figures.

One value, two writers: HTML and PDF.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from fab.outlines.page import Page

MARKS = {"pass": "pass", "warn": "look", "fail": "FAIL"}  # marks of a row by their words


@dataclass(frozen=True)
class Heading:
    """A heading inside a chapter."""

    text: str
    anchor: str = ""


@dataclass(frozen=True)
class Para:
    text: str


@dataclass(frozen=True)
class Caution:
    """A warning of harm to people, at the step where it matters."""

    text: str


@dataclass(frozen=True)
class Step:
    """One step of the work, with one picture: what to take, what to do in a few short sentences,
    how to know that it is right, and the way back. `caution`: what can hurt someone in this step.
    """

    title: str
    page: Page
    do: str
    take: str = ""
    right: str = ""
    otherwise: str = ""
    caution: str = ""
    anchor: str = ""

    @property
    def texts(self) -> tuple[tuple[str, str], ...]:
        """Its paragraphs in the order in which they are read, each with its label."""
        labelled = (
            ("Take", self.take),
            ("Do", self.do),
            ("Right when", self.right),
            ("If not", self.otherwise),
        )
        return tuple((label, text) for label, text in labelled if text)

    @property
    def wide(self) -> bool:
        """True when its picture needs the whole width, so that the texts stand below it."""
        return self.page.width > SMALL_MM


@dataclass(frozen=True)
class Facts:
    """Name and value pairs."""

    rows: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class TableLine:
    """A row of a table with all that belongs to it, "" for what it lacks."""

    cells: tuple[tuple[str, str], ...]  # text and href
    mark: str
    anchor: str
    tick: str

    @property
    def word(self) -> str:
        """Its mark in a word."""
        return MARKS.get(self.mark, "")


@dataclass(frozen=True)
class Table:
    """A table with a header row.

    `ticks` gives each row a box to tick off, kept under that key in the browser.
    """

    caption: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numeric: tuple[int, ...] = ()  # columns set to the right
    ticks: tuple[str, ...] = ()
    anchors: tuple[str, ...] = ()
    marks: tuple[str, ...] = ()  # "pass", "warn", "fail" or "" a row, shown by word and colour
    links: tuple[tuple[str, ...], ...] = ()  # href a cell, "" for none

    def lines(self) -> Iterator[TableLine]:
        """Its rows in order."""
        for number, row in enumerate(self.rows):
            links = self.links[number] if self.links else ("",) * len(row)
            mark, anchor, tick = (
                each[number] if each else "" for each in (self.marks, self.anchors, self.ticks)
            )
            yield TableLine(tuple(zip(row, links, strict=True)), mark, anchor, tick)


@dataclass(frozen=True)
class Figure:
    """A picture with its caption; `wide` pictures take the whole width of the page."""

    page: Page
    caption: str
    anchor: str = ""
    wide: bool = False


@dataclass(frozen=True)
class Picture:
    """A PNG with its caption."""

    png: bytes
    width: int
    height: int
    caption: str
    says: str


@dataclass(frozen=True)
class Sketches:
    """SVG files of ours side by side, each under its name."""

    caption: str
    pictures: tuple[tuple[str, bytes], ...]


@dataclass(frozen=True)
class Viewer:
    """The view in three dimensions; print and browsers without it show the still figure, if any."""

    scene: str  # JSON
    script: str
    still: Figure | None = None


def signalled(text: str) -> tuple[str, str]:
    """The signal word of a caution, and its text: death or serious injury is a warning."""
    word, colon, rest = text.partition(": ")
    return ("Warning.", rest) if colon and word == "WARNING" else ("Caution.", text)


Block = Heading | Para | Caution | Step | Facts | Table | Figure | Picture | Sketches | Viewer


@dataclass(frozen=True)
class Chapter:
    title: str
    anchor: str
    blocks: tuple[Block, ...]
    folded: bool = False  # closed on the page, an appendix on paper


@dataclass(frozen=True)
class Document:
    title: str
    subtitle: str
    chapters: tuple[Chapter, ...]
    key: str  # under which a browser keeps what was ticked off
    footer: str = ""


SMALL_MM = 75.0  # pictures up to this width leave room beside them


def runs(blocks: Sequence[Block]) -> Iterator[tuple[Block, ...]]:
    """The blocks in order; small pictures in a row come together, to stand side by side."""
    for small, run in itertools.groupby(blocks, _small):
        if small:
            yield tuple(run)
        else:
            yield from ((block,) for block in run)


def spans(text: str) -> list[tuple[bool, str]]:
    """Pieces of a text, each with True when it stands between backticks: a command."""
    parts = text.split("`")
    if len(parts) % 2 == 0:  # the last backtick stands alone
        parts[-2:] = ["`".join(parts[-2:])]
    return [(k % 2 == 1, part) for k, part in enumerate(parts)]


def _small(block: Block) -> bool:
    return isinstance(block, Figure) and not block.wide and block.page.width <= SMALL_MM
