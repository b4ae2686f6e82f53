"""The shapes a browser draws of an SVG: styles, visibility, clones, nested pictures, units.

`svgelements` reads transforms, lengths and the fit of a `viewBox`. What changes the shape that is
seen and is not followed here (clip paths, masks, selectors with more than one part) is refused by
name and place. What is only paint (text, images, patterns, filters, markers) is left out and
reported.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from operator import itemgetter
from typing import Any
from xml.etree import ElementTree as ET

from fab.errors import refused
from fab.files.svg_style import PAINT, STYLED, Rule, declared, rules_of, tag_of
from fab.files.svg_values import hexed, length, transform, view_box

SHAPES = {"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"}
# with all clones drawn: a few lines can ask for clones of clones without end
MOST_ELEMENTS = 100_000
_MOST_MATCHES = 1_000_000  # of elements with rules of style sheets

_HOLDERS = {"svg", "g", "a", "switch"}
_SHOWN_ONLY = {"text", "image", "foreignobject"}
_DEEPEST = 200
_LABEL = "{http://www.inkscape.org/namespaces/inkscape}label"
_HREFS = ("href", "{http://www.w3.org/1999/xlink}href")


@dataclass(frozen=True)
class Shown:
    """A shape as seen: element, matrix to mm with y up, layers (innermost first), colour."""

    element: ET.Element
    tag: str
    matrix: Any
    viewport: tuple[float, float]  # what percentages are of
    layers: tuple[str, ...]
    colour: str
    path: str  # data of a path
    # box in mm of the nested picture that hides what is beyond it
    frame: tuple[float, float, float, float] | None


@dataclass(frozen=True)
class _Place:
    """The properties that an element inherits from those round it."""

    matrix: Any
    viewport: tuple[float, float]
    layers: tuple[str, ...] = ()
    style: Mapping[str, str] = field(default_factory=dict)
    frame: tuple[float, float, float, float] | None = None
    within: tuple[str, ...] = ()  # clones that this stands in


class SvgWalk:
    """Walks a picture; `left` counts what was left out."""

    def __init__(self, root: ET.Element) -> None:
        self.left: Counter[str] = Counter()
        self.count = self.matches = 0
        self.ids = {name: element for element in root.iter() if (name := element.get("id"))}
        # by the word that an element must have, with their order: a picture may have thousands
        self.rules: dict[str, list[tuple[int, Rule]]] = {}
        for order, rule in enumerate(sorted(rules_of(root), key=lambda rule: rule[0])):
            _, kind, name, wanted, _ = rule
            key = f"#{name}" if name else f".{min(wanted)}" if wanted else kind or "*"
            self.rules.setdefault(key, []).append((order, rule))

    def shown(
        self, root: ET.Element, matrix: Any, viewport: tuple[float, float]
    ) -> Iterator[Shown]:
        """The shapes in the order in which they are painted."""
        place = _Place(matrix, viewport)
        own = self._own(root, "svg")
        yield from self._children(root, place, own, 0)

    def _walk(self, element: ET.Element, place: _Place, depth: int) -> Iterator[Shown]:
        tag = tag_of(element)
        if tag == "script":
            self.left["script"] += 1
        if tag not in _HOLDERS and tag not in SHAPES and tag != "use" and tag not in _SHOWN_ONLY:
            return
        self.count += 1
        if self.count > MOST_ELEMENTS:
            raise refused(
                f"with its clones drawn it has more than {MOST_ELEMENTS:,} elements.",
                "Unlink the clones.",
            )
        if depth > _DEEPEST:
            raise refused("groups are nested too deeply in the SVG.", "Ungroup them.")
        own = self._own(element, tag)
        if own.get("display") == "none":
            self.left["hidden"] += 1
            return
        if tag in _SHOWN_ONLY:
            self.left[tag] += 1
            return
        self._refuse(element, tag, own)
        place = self._inside(element, tag, own, place)
        if tag == "use":
            yield from self._clone(element, own, place, depth)
        elif tag in SHAPES:
            yield from self._shape(element, tag, own, place)
        else:
            yield from self._children(element, place, own, depth)

    def _children(
        self, element: ET.Element, place: _Place, own: Mapping[str, str], depth: int
    ) -> Iterator[Shown]:
        inner = _styled(place, own)
        switch = tag_of(element) == "switch"
        for child in element:
            if child.get("requiredExtensions") or (switch and not tag_of(child)):
                continue
            yield from self._walk(child, inner, depth + 1)
            if switch and tag_of(child) in _HOLDERS | SHAPES | {"use"}:
                break

    def _own(self, element: ET.Element, tag: str) -> dict[str, str]:
        """The element's style: attributes, style sheets by weight, then its `style`."""
        own = {key: value.strip() for key, value in element.attrib.items() if key in STYLED}
        if not self.rules:
            return own | declared(element.get("style", ""))
        classes = set(element.get("class", "").split())
        keys = (f"#{element.get('id')}", *(f".{name}" for name in classes), tag, "*")
        found = [pair for key in keys for pair in self.rules.get(key, ())]
        self.matches += len(found)
        if self.matches > _MOST_MATCHES:
            raise refused(
                f"its style sheets have more than {_MOST_MATCHES:,} rules for its elements.",
                "Save it as plain SVG with style attributes.",
            )
        for _, (_, kind, _, wanted, values) in sorted(found, key=itemgetter(0)):
            if kind in ("", "*", tag) and wanted <= classes:
                own |= values
        return own | declared(element.get("style", ""))

    def _refuse(self, element: ET.Element, tag: str, own: Mapping[str, str]) -> None:
        name = f'<{tag} id="{element.get("id")}">' if element.get("id") else f"a <{tag}>"
        for key in ("clip-path", "mask", "clip"):
            if own.get(key, "none") not in ("none", "auto"):
                raise refused(
                    f"{name} is cut to shape by a {key}, which panejig does not read.",
                    "Release it in the drawing program and cut the shape itself.",
                )
        for key in ("transform-origin", "transform-box"):
            if own.get(key, "0 0") not in ("0 0", "0px 0px", "view-box"):
                raise refused(
                    f"{name} has a {key}, which panejig does not read.", "Save it as plain SVG."
                )
        if "d" in own and "d" not in element.attrib:
            raise refused(f"{name} has its path in a style sheet.", "Save it as plain SVG.")
        for key in PAINT & own.keys():
            if own[key] not in ("none", ""):
                self.left[key] += 1
        if any(own.get(key, "").startswith("url(") for key in ("fill", "stroke")):
            self.left["pattern or gradient"] += 1

    def _inside(
        self, element: ET.Element, tag: str, own: Mapping[str, str], place: _Place
    ) -> _Place:
        """The place that the element makes for itself and its children."""
        moved = own.get("transform", "none") or "none"
        matrix = place.matrix if moved == "none" else transform(moved) * place.matrix
        layers = place.layers
        name = element.get(_LABEL) or element.get("id")
        if tag in ("g", "svg", "use") and name:
            layers = (name, *layers)
        changed = replace(place, matrix=matrix, layers=layers)
        return self._nested(element, changed, own, {}) if tag == "svg" else changed

    def _nested(
        self, element: ET.Element, place: _Place, own: Mapping[str, str], sizes: Mapping[str, str]
    ) -> _Place:
        """The place inside a nested picture or a symbol."""
        from svgelements import Matrix, Viewbox

        wide, high = place.viewport
        given = {**element.attrib, **sizes}
        x, y = length(given.get("x", "0"), wide), length(given.get("y", "0"), high)
        width = length(given.get("width", "100%"), wide)
        height = length(given.get("height", "100%"), high)
        view = view_box(element)
        matrix, viewport = Matrix(1, 0, 0, 1, x, y) * place.matrix, (width, height)
        if view:
            fit = Viewbox.viewbox_transform(
                x, y, width, height, *view, element.get("preserveAspectRatio", "xMidYMid")
            )
            matrix, viewport = Matrix(fit) * place.matrix, (view[2], view[3])
        corners = [
            place.matrix.point_in_matrix_space((a, b))
            for a in (x, x + width)
            for b in (y, y + height)
        ]
        xs, ys = [point.x for point in corners], [point.y for point in corners]
        frame = (min(xs), min(ys), max(xs), max(ys))
        if own.get("overflow", "hidden") in ("visible", "auto"):
            frame = place.frame if place.frame else (-1e9, -1e9, 1e9, 1e9)
        return replace(place, matrix=matrix, viewport=viewport, frame=frame)

    def _clone(
        self, element: ET.Element, own: Mapping[str, str], place: _Place, depth: int
    ) -> Iterator[Shown]:
        """The elements that a <use> shows."""
        from svgelements import Matrix

        name = next((value for key in _HREFS if (value := element.get(key))), "")
        target = self.ids.get(name.removeprefix("#")) if name.startswith("#") else None
        if target is None:
            self.left["use of an element that is not in the file"] += 1
            return
        if name in place.within:
            raise refused(f"the clone of {name} contains itself.", "Unlink the clones.")
        x = length(element.get("x", "0"), place.viewport[0])
        y = length(element.get("y", "0"), place.viewport[1])
        style = _styled(place, own).style
        at = Matrix(1, 0, 0, 1, x, y) * place.matrix
        inner = replace(place, matrix=at, style=style, within=(*place.within, name))
        if tag_of(target) != "symbol":
            yield from self._walk(target, inner, depth + 1)
            return
        own = self._own(target, "symbol")
        self._refuse(target, "symbol", own)
        sizes = {"x": "0", "y": "0"} | {
            key: value for key in ("width", "height") if (value := element.get(key))
        }
        yield from self._children(target, self._nested(target, inner, own, sizes), own, depth + 1)

    def _shape(
        self, element: ET.Element, tag: str, own: Mapping[str, str], place: _Place
    ) -> Iterator[Shown]:
        style = _styled(place, own).style
        if style.get("visibility", "visible") != "visible" or style.get("opacity") in ("0", "0%"):
            self.left["hidden"] += 1
            return
        stroke, fill = style.get("stroke", "none"), style.get("fill", "black")
        if stroke in ("none", "transparent") and fill in ("none", "transparent"):
            self.left["without line or fill"] += 1
            return
        colour = fill if stroke in ("none", "transparent") else stroke
        colour = style.get("color", "black") if colour.lower() == "currentcolor" else colour
        yield Shown(
            element,
            tag,
            place.matrix,
            place.viewport,
            place.layers,
            hexed(colour),
            element.get("d", ""),
            place.frame,
        )


def _styled(place: _Place, own: Mapping[str, str]) -> _Place:
    """The place with what the children take over of a style."""
    kept = {
        key: own[key]
        for key in ("visibility", "stroke", "fill", "color")
        if own.get(key, "inherit") != "inherit"
    }
    if own.get("opacity") in ("0", "0%"):
        kept["opacity"] = "0"
    if not kept:
        return place
    return replace(place, style={**place.style, **kept})
