"""A document as values: chapters of headings, text, tables and figures. One value, two writers: HTML and PDF."""

from __future__ import annotations

from dataclasses import dataclass

from fab.outlines.page import Page


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
    """What can hurt someone, at the step where it matters."""

    text: str


@dataclass(frozen=True)
class Steps:
    """A numbered list of things to do."""

    items: tuple[str, ...]


@dataclass(frozen=True)
class Facts:
    """Name and value pairs."""

    rows: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Table:
    """A table with a header row. `ticks` gives each row a box to tick off, kept under that key in the browser."""

    caption: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numeric: tuple[int, ...] = ()  # columns set to the right
    ticks: tuple[str, ...] = ()
    anchors: tuple[str, ...] = ()
    marks: tuple[str, ...] = ()  # "pass", "warn", "fail" or "" a row, shown by word and colour
    links: tuple[tuple[str, ...], ...] = ()  # href a cell, "" for none


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
    """The view in three dimensions; print and browsers without it show the still figure."""

    scene: str  # JSON
    script: str
    still: Figure


Block = Heading | Para | Caution | Steps | Facts | Table | Figure | Picture | Sketches | Viewer


@dataclass(frozen=True)
class Chapter:
    title: str
    anchor: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True)
class Document:
    title: str
    subtitle: str
    chapters: tuple[Chapter, ...]
    key: str  # under which a browser keeps what was ticked off
    footer: str = ""
