"""Reading a book's page with the standard library's parser: chapters with their texts, tables and
pictures.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path

SAID = {
    "h1",
    "h2",
    "h3",
    "p",
    "li",
    "dt",
    "dd",
    "caption",
    "figcaption",
}  # elements that hold one text each
LEFT_OUT = {
    "script",
    "style",
    "noscript",
    "nav",
    "svg",
    "title",
    "button",
}  # of these, the print has none or its own
EMPTY = {"meta", "link", "img", "input", "br"}


@dataclass
class Grid:
    """A table: caption, header and rows; the column of boxes left out."""

    caption: str
    rows: list[list[str]] = field(default_factory=list)

    @property
    def header(self) -> list[str]:
        return self.rows[0]

    def column(self, name: str) -> list[str]:
        """The cells below a header."""
        return [row[self.header.index(name)] for row in self.rows[1:]]


@dataclass
class Drawn:
    """A picture: its caption, its title or alt text, what is written in it, and how many shapes it
    has (dots: -1).
    """

    caption: str = ""
    step: str = ""  # its heading, where the picture is that of a step
    says: str = ""
    texts: list[str] = field(default_factory=list)
    shapes: int = 0
    dots: int = 0  # pictures of points in it


@dataclass
class Part:
    """A chapter."""

    anchor: str
    texts: list[tuple[str, str]] = field(default_factory=list)  # element and text, in order
    grids: list[Grid] = field(default_factory=list)
    pictures: list[Drawn] = field(default_factory=list)

    def facts(self) -> dict[str, str]:
        """Name and value pairs."""
        names = [text for tag, text in self.texts if tag == "dt"]
        return dict(zip(names, (text for tag, text in self.texts if tag == "dd"), strict=True))

    def grid(self, caption: str) -> Grid:
        return next(grid for grid in self.grids if grid.caption == caption)


def squeezed(text: str) -> str:
    """Text without blanks: a print breaks its lines where it likes."""
    return re.sub(r"\s+", "", text)


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.parts: dict[str, Part] = {}
        self.front = Part("")
        self.part = self.front
        self.open: list[str] = []
        self.words: list[str] = []
        self.drawn: Drawn | None = None
        self.in_step = False  # the next picture is that of a step
        self.tags: list[tuple[str, tuple[str, ...]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        named = dict(attrs)
        self.tags.append((tag, tuple(sorted(named))))
        if tag in EMPTY:
            if tag == "img" and self.drawn is not None:
                self.drawn.says, self.drawn.shapes = named.get("alt") or "", -1
            return
        self.open.append(tag)
        if (named.get("class") or "").split()[:1] == ["step"]:
            self.in_step = True
        if tag == "section":
            self.part = self.parts.setdefault(named.get("id") or "", Part(named.get("id") or ""))
        elif tag == "figure":
            heads = [text for kind, text in self.part.texts if kind == "h3"]
            self.drawn = Drawn(step=heads[-1] if self.in_step else "")
            self.part.pictures.append(self.drawn)
        elif tag == "table":
            self.part.grids.append(Grid(""))
        elif tag == "tr":
            self.part.grids[-1].rows.append([])
        elif tag == "image" and self.drawn is not None:
            self.drawn.dots += 1
        elif (
            tag in ("path", "circle", "rect", "line", "polyline", "polygon")
            and self.drawn is not None
            and "clippath" not in self.open
        ):
            self.drawn.shapes += 1
        if tag in SAID or tag in ("th", "td", "title", "text"):
            self.words = []

    def handle_data(self, data: str) -> None:
        self.words.append(data)

    def handle_endtag(self, tag: str) -> None:
        while self.open and self.open.pop() != tag:
            pass
        text = re.sub(r"\s+", " ", "".join(self.words)).strip()
        if tag == "section":
            self.part = self.front
        elif tag == "figure":
            self.drawn, self.in_step = None, False
        elif "svg" in self.open and self.drawn is not None:
            if tag == "title" and not self.drawn.says:
                self.drawn.says = text
            elif tag == "text":
                self.drawn.texts.append(text)
        elif not LEFT_OUT.intersection(self.open):
            self._keep(tag, text)
        if tag in SAID or tag in ("th", "td", "title", "text"):
            self.words = []

    def _keep(self, tag: str, text: str) -> None:
        if tag in ("th", "td"):
            self.part.grids[-1].rows[-1].append(text)
        elif tag in SAID and text:
            self.part.texts.append((tag, text))
            if tag == "caption":
                self.part.grids[-1].caption = text
            elif tag == "figcaption" and self.drawn is not None:
                self.drawn.caption = text


@dataclass(frozen=True)
class Opened:
    """A page as it stands: head and foot, chapters by their anchors, elements with the names of
    their attributes.
    """

    front: Part
    parts: dict[str, Part]
    tags: list[tuple[str, tuple[str, ...]]]

    @property
    def all(self) -> list[Part]:
        return [self.front, *self.parts.values()]

    @property
    def pictures(self) -> list[Drawn]:
        return [picture for part in self.all for picture in part.pictures]


def opened(page: bytes | Path) -> Opened:
    """The page, read."""
    reader = _Reader()
    reader.feed((page.read_bytes() if isinstance(page, Path) else page).decode("utf-8"))
    reader.close()
    for part in (reader.front, *reader.parts.values()):
        for grid in part.grids:
            if grid.rows and grid.rows[0][0] == "done":
                grid.rows = [row[1:] for row in grid.rows]
    return Opened(reader.front, reader.parts, reader.tags)
