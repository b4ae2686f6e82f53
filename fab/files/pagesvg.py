"""SVG of one page or picture: fills, strokes, text, groups with ids, titles and links.

Text stays text (selectable, found by search); the font is asked for by name with a list to fall back on.
"""

from __future__ import annotations

import re
from xml.etree import ElementTree as ET

from fab.errors import BrokenGeometry
from fab.files.svg import document, root_element
from fab.files.svgpath import PLACES, Flip
from fab.files.words import writable
from fab.outlines.page import Fill, Group, Item, Page, Stroke, Text
from fab.units import fixed

FONTS = "DejaVu Sans, Verdana, sans-serif"

_LINK = re.compile(r"#[\w.%-]+|(\./|(\.\./)+)?\w[\w./%-]*(#[\w.%-]*)?", re.ASCII)  # inside the page, or beside it


def page_svg(page: Page) -> bytes:
    """The page as a file of its own, its size in mm."""
    return document(_root(page, ""))


def page_fragment(page: Page, prefix: str) -> str:
    """The page as an <svg> element to stand inside HTML. `prefix` keeps the ids of two pictures apart."""
    root = _root(page, prefix)
    ET.indent(root, " ")
    return ET.tostring(root, encoding="unicode")


def identifier(text: str) -> str:
    """An id out of any text: letters, figures, - and . stay, all else becomes _ and its code; two texts never clash."""
    return "".join(char if re.fullmatch(r"[A-Za-z0-9.-]", char) else f"_{ord(char):x}_" for char in text)


def _root(page: Page, prefix: str) -> ET.Element:
    root = root_element(page.width, page.height)
    root.set("font-family", FONTS)
    root.set("role", "group" if _has_links(page.items) else "img")
    named = [(tag, text) for tag, text in (("title", page.title), ("desc", page.says)) if text]
    if named:
        root.set("aria-labelledby", " ".join(f"{prefix}{tag}" for tag, _ in named))
    for tag, text in named:
        ET.SubElement(root, tag, {"id": f"{prefix}{tag}"}).text = writable(text)
    _Writer(Flip(page.height), prefix).draw(root, page.items)
    return root


def _has_links(items: tuple[Item, ...]) -> bool:
    return any(isinstance(item, Group) and (item.href or _has_links(item.items)) for item in items)


class _Writer:
    """Puts items under an element; counts the clips of one picture."""

    def __init__(self, flip: Flip, prefix: str) -> None:
        self.flip, self.prefix, self.clips = flip, prefix, 0

    def draw(self, parent: ET.Element, items: tuple[Item, ...]) -> None:
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

    def _stroke(self, parent: ET.Element, item: Stroke) -> None:
        attributes = {
            "d": self.flip.path(item.segments, closed=item.closed),
            "fill": "none",
            "stroke": item.colour,
            "stroke-width": fixed(item.width_mm, PLACES),
        }
        if item.dash:
            attributes["stroke-dasharray"] = " ".join(fixed(part, PLACES) for part in item.dash)
        ET.SubElement(parent, "path", attributes)

    def _fill(self, parent: ET.Element, item: Fill) -> None:
        attributes = {
            "d": " ".join(self.flip.path(contour.segments, closed=True) for contour in item.contours),
            "fill": item.colour,
            "fill-rule": "evenodd",
        }
        if item.opacity < 1.0:
            attributes["fill-opacity"] = fixed(item.opacity)
        ET.SubElement(parent, "path", attributes)

    def _text(self, parent: ET.Element, item: Text) -> None:
        x, y = (fixed(value, PLACES) for value in self.flip.xy((item.x, item.y)))
        attributes = {"x": x, "y": y, "font-size": fixed(item.size_mm, PLACES), "fill": item.colour}
        if item.anchor != "start":
            attributes["text-anchor"] = item.anchor
        if item.bold:
            attributes["font-weight"] = "bold"
        if item.turn_deg % 360:
            attributes["transform"] = f"rotate({fixed(-item.turn_deg, PLACES)} {x} {y})"
        ET.SubElement(parent, "text", attributes).text = writable(item.text)

    def _group(self, parent: ET.Element, item: Group) -> None:
        if item.href:
            if not _LINK.fullmatch(item.href):
                raise BrokenGeometry(f"a picture may link to a file beside it or to #id, not to {item.href!r}")
            parent = ET.SubElement(parent, "a", {"href": item.href})
        attributes = {"id": self.prefix + identifier(item.id)} if item.id else {}
        if item.css:
            attributes["class"] = writable(item.css)
        dx, dy = item.shift
        if dx or dy:
            attributes["transform"] = f"translate({fixed(dx, PLACES)} {fixed(-dy, PLACES)})"
        group = ET.SubElement(parent, "g", attributes)
        if item.title:
            ET.SubElement(group, "title").text = writable(item.title)
        if item.clip:
            group.set("clip-path", f"url(#{self._clip(group, item.clip)})")
        self.draw(group, item.items)

    def _clip(self, group: ET.Element, box: tuple[float, float, float, float]) -> str:
        self.clips += 1
        name = f"{self.prefix}clip{self.clips}"
        x, y = self.flip.xy((box[0], box[3]))
        values = {"x": x, "y": y, "width": box[2] - box[0], "height": box[3] - box[1]}
        clip = ET.SubElement(group, "clipPath", {"id": name})
        ET.SubElement(clip, "rect", {key: fixed(value, PLACES) for key, value in values.items()})
        return name
