"""SVG of one page or picture: fills, strokes, text, groups with ids, titles and links.

Text stays text (selectable, found by search); the font is asked for by name with a list to fall
back on.
"""

from __future__ import annotations

import base64
import re
from collections.abc import Mapping
from typing import Any

from fab.errors import BrokenGeometry
from fab.files.svg import document, element, path, root_element, text
from fab.files.svgpath import PLACES, Flip
from fab.files.words import writable
from fab.outlines.page import Fill, Group, Image, Item, Page, Stroke, Text
from fab.units import fixed

FRAGMENT_PLACES = 2  # a picture inside a page is looked at, not made from
FONTS = "DejaVu Sans, Verdana, sans-serif"

# inside the page, or beside it
_LINK = re.compile(r"#[\w.%-]+|(\./|(\.\./)+)?\w[\w./%-]*(#[\w.%-]*)?", re.ASCII)


def page_svg(page: Page) -> bytes:
    """The page as a file of its own, its size in mm."""
    return document(_root(page, "", PLACES))


def page_fragment(page: Page, prefix: str) -> str:
    """The page as an <svg> element to stand inside HTML.

    `prefix` keeps the ids of two pictures apart.
    """
    return text(_root(page, prefix, FRAGMENT_PLACES))


def identifier(name: str) -> str:
    """An id out of any text: letters, figures, - and . stay, all else is coded; none clash."""
    return "".join(
        char if re.fullmatch(r"[A-Za-z0-9.-]", char) else f"_{ord(char):x}_" for char in name
    )


def _root(page: Page, prefix: str, places: int) -> Any:
    root = root_element(page.width, page.height)
    role = "group" if _has_links(page.items) else "img"
    root.attribs |= {"font-family": FONTS, "role": role}
    words = (("title", page.title), ("desc", page.says))
    named = [(tag, f"{prefix}{tag}", says) for tag, says in words if says]
    if named:
        root.attribs["aria-labelledby"] = " ".join(name for _, name, _ in named)
    for tag, name, says in named:
        root.add(_words(tag, says, {"id": name}))
    _Writer(Flip(page.height, places), prefix).draw(root, page.items)
    return root


def _has_links(items: tuple[Item, ...]) -> bool:
    return any(isinstance(item, Group) and (item.href or _has_links(item.items)) for item in items)


class _Writer:
    """Puts items under an element; counts the clips of one picture."""

    def __init__(self, flip: Flip, prefix: str) -> None:
        self.flip, self.prefix, self.clips = flip, prefix, 0

    def _number(self, value: float) -> str:
        return fixed(value, self.flip.places)

    def draw(self, parent: Any, items: tuple[Item, ...]) -> None:
        for item in items:
            match item:
                case Stroke():
                    self._stroke(parent, item)
                case Fill():
                    self._fill(parent, item)
                case Text():
                    self._text(parent, item)
                case Group():
                    self._group(parent, item)
                case Image():
                    self._image(parent, item)

    def _stroke(self, parent: Any, item: Stroke) -> None:
        attributes = {
            "fill": "none",
            "stroke": item.colour,
            "stroke-width": self._number(item.width_mm),
        }
        if item.dash:
            attributes["stroke-dasharray"] = " ".join(self._number(part) for part in item.dash)
        parent.add(path(self.flip.path(item.segments, closed=item.closed), attributes))

    def _fill(self, parent: Any, item: Fill) -> None:
        data = " ".join(self.flip.path(contour.segments, closed=True) for contour in item.contours)
        attributes = {"fill": item.colour, "fill-rule": "evenodd"}
        if item.opacity < 1.0:
            attributes["fill-opacity"] = fixed(item.opacity)
        parent.add(path(data, attributes))

    def _text(self, parent: Any, item: Text) -> None:
        from svgwrite.text import Text as Line

        x, y = (self._number(value) for value in self.flip.xy((item.x, item.y)))
        attributes = {"x": x, "y": y, "font-size": self._number(item.size_mm), "fill": item.colour}
        if item.anchor != "start":
            attributes["text-anchor"] = item.anchor
        if item.bold:
            attributes["font-weight"] = "bold"
        if item.turn_deg % 360:
            attributes["transform"] = f"rotate({self._number(-item.turn_deg)} {x} {y})"
        parent.add(element(Line, attributes, writable(item.text)))

    def _image(self, parent: Any, item: Image) -> None:
        from svgwrite.image import Image as Points

        x, y = self.flip.xy((item.x, item.y + item.height))
        values = {"x": x, "y": y, "width": item.width, "height": item.height}
        attributes = {key: self._number(value) for key, value in values.items()}
        made = element(lambda **extra: Points("", **extra), attributes)
        made.attribs["href"] = "data:image/png;base64," + base64.b64encode(item.png).decode()
        made.attribs.pop("xlink:href", None)
        parent.add(made)

    def _group(self, parent: Any, item: Group) -> None:
        from svgwrite.container import Group as G

        if item.href:
            if not _LINK.fullmatch(item.href):
                raise BrokenGeometry(
                    f"a picture may link to a file beside it or to #id, not to {item.href!r}"
                )
            parent = parent.add(element(_link, {"href": item.href}))
        attributes = {"id": self.prefix + identifier(item.id)} if item.id else {}
        if item.css:
            attributes["class"] = writable(item.css)
        dx, dy = item.shift
        if dx or dy:
            attributes["transform"] = f"translate({self._number(dx)} {self._number(-dy)})"
        group = parent.add(element(G, attributes))
        if item.title:
            group.add(_words("title", item.title))
        if item.clip:
            group.attribs["clip-path"] = f"url(#{self._clip(group, item.clip)})"
        self.draw(group, item.items)

    def _clip(self, group: Any, box: tuple[float, float, float, float]) -> str:
        from svgwrite.masking import ClipPath
        from svgwrite.shapes import Rect

        self.clips += 1
        name = f"{self.prefix}clip{self.clips}"
        x, y = self.flip.xy((box[0], box[3]))
        values = {"x": x, "y": y, "width": box[2] - box[0], "height": box[3] - box[1]}
        clip = group.add(element(ClipPath, {"id": name}))
        clip.add(element(Rect, {key: self._number(value) for key, value in values.items()}))
        return name


def _link(**extra: Any) -> Any:
    """The library's <a>, without the window that it would open."""
    from svgwrite.container import Hyperlink

    link = Hyperlink("", **extra)
    link.attribs.clear()
    return link


def _words(tag: str, says: str, attributes: Mapping[str, str] | None = None) -> Any:
    """A <title> or <desc>; the library's own take no id."""
    from svgwrite.text import TSpan

    made = element(TSpan, attributes or {}, writable(says))
    made.elementname = tag
    return made
