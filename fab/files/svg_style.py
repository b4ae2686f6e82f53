"""The style sheets of an SVG as rules, those that change the shape that is seen."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from xml.etree import ElementTree as ET

from fab.errors import refused

PAINT = {"filter", "marker", "marker-start", "marker-mid", "marker-end", "stroke-dasharray"}
STYLED = {
    "display",
    "visibility",
    "stroke",
    "fill",
    "color",
    "opacity",
    "transform",
    "overflow",
    "clip-path",
    "clip",
    "mask",
    "transform-origin",
    "transform-box",
    "d",
    *PAINT,
}
_MOST_STYLE = 2 * 1024 * 1024  # characters of all style sheets
_SELECTOR = re.compile(r"(\*|[\w-]+)?(#[\w-]+)?((?:\.[\w-]+)*)")

# weight, tag, id, classes, values
Rule = tuple[tuple[int, int, int], str, str, frozenset[str], dict[str, str]]


def tag_of(element: ET.Element) -> str:
    """The tag in small letters without its namespace; "" for comments and other vocabularies."""
    if not isinstance(element.tag, str):
        return ""
    space, _, name = element.tag.rpartition("}")
    return name.lower() if space in ("", "{http://www.w3.org/2000/svg") else ""


def declared(text: str) -> dict[str, str]:
    """The properties of one block of declarations."""
    pairs = (part.partition(":") for part in text.split(";"))
    return {
        key.strip().lower(): value.replace("!important", "").strip()
        for key, mark, value in pairs
        if mark
    }


def rules_of(root: ET.Element) -> Iterator[Rule]:
    """The rules of all style sheets that touch what is read here."""
    total = 0
    for element in root.iter():
        if tag_of(element) != "style":
            continue
        text = "".join(element.itertext())
        if (total := total + len(text)) > _MOST_STYLE:
            raise refused(
                f"its style sheets have more than {_MOST_STYLE // 2**20} MB.",
                "Save it as plain SVG with style attributes.",
            )
        # patterns that go over the text once, whatever it is
        text = re.sub(r"/\*.*?(?:\*/|\Z)|<!--|-->", "", text, flags=re.DOTALL)
        text = re.sub(r"@(namespace|charset)[^;{@]*;|@font-face\s*\{[^}]*(?:\}|\Z)", "", text)
        for part in text.split("}")[:-1]:
            head, _, body = part.rpartition("{")
            selectors = head.rpartition("{")[2]
            if not selectors:
                continue
            values = {key: value for key, value in declared(body).items() if key in STYLED}
            if values:
                yield from _selected(selectors.split(","), values)
        if re.search(r"@", text):
            raise refused(
                "a style sheet has rules with @ (@media, @import), which panejig does not read.",
                "Save it as plain SVG with style attributes.",
            )


def _selected(selectors: Sequence[str], values: dict[str, str]) -> Iterator[Rule]:
    for selector in selectors:
        found = _SELECTOR.fullmatch(selector.strip())
        if not found or not selector.strip():
            raise refused(
                f"the style sheet's selector {selector.strip()[:40]!r} is not read by panejig.",
                "Save it as plain SVG with style attributes.",
            )
        tag, name, classes = (word or "" for word in found.groups())
        wanted = frozenset(classes.split(".")) - {""}
        yield (
            (int(bool(name)), len(wanted), int(tag not in ("", "*"))),
            tag.lower(),
            name[1:],
            wanted,
            values,
        )
