"""SVG for cutting: the drawing 1:1 in mm, a group a layer, a path a contour, lines only.

`svgwrite` holds the elements. Every number passes `units.fixed`, which refuses what is not finite:
the library itself writes NaN. Size in mm and viewBox in mm, so one unit is one millimetre in every
reader (CSS px are 1/96 in: width and height without a unit would scale the part).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from itertools import pairwise
from typing import Any
from xml.etree import ElementTree as ET

from fab.files.svgpath import PLACES, Flip
from fab.files.words import writable
from fab.outlines.contour import Contour, Line
from fab.outlines.drawing import Drawing
from fab.units import fixed

SVG = "http://www.w3.org/2000/svg"


def svg(drawing: Drawing, *, line_mm: float) -> bytes:
    """The drawing as SVG 1.1 text in UTF-8; `line_mm` is the width of the lines.

    Contours and strokes stand in the drawing's order; a full circle is a <circle>. Title and notes
    are metadata. Raises ValueError for a coordinate that is not finite.
    """
    from svgwrite.container import Group

    flip = Flip(drawing.height)
    root = root_element(drawing.width, drawing.height)
    root.set_desc(writable(drawing.title) or None, writable("; ".join(drawing.notes)) or None)
    for layer in drawing.layers:
        look = {"fill": "none", "stroke": layer.colour, "stroke-width": fixed(line_mm, PLACES)}
        group = root.add(element(Group, {"id": writable(layer.name), **look}))
        for contour in layer.contours:
            group.add(_contour(contour, flip))
        for points in layer.strokes:
            group.add(path(flip.path([Line(a, b) for a, b in pairwise(points)], closed=False)))
        for run in layer.runs:
            group.add(path(flip.path(run, closed=False)))
    return document(root)


def element(kind: Callable[..., Any], attributes: Mapping[str, str], *content: str) -> Any:
    """An element of the library with attributes as they stand in the file.

    The library's own checks are off: they know no `role` and no `aria-labelledby`.
    """
    made = kind(*content, debug=False)
    made.attribs.update(attributes)
    return made


def path(data: str, attributes: Mapping[str, str] | None = None) -> Any:
    """A <path>."""
    from svgwrite.path import Path

    return element(Path, attributes or {}, data)


def root_element(width: float, height: float) -> Any:
    """An <svg> whose unit is one millimetre."""
    from svgwrite.container import SVG as Root

    wide, high = fixed(width, PLACES), fixed(height, PLACES)
    size = {"width": f"{wide}mm", "height": f"{high}mm", "viewBox": f"0 0 {wide} {high}"}
    root = element(Root, {"xmlns": SVG, "version": "1.1", **size})
    root.elements.clear()  # an empty <defs>
    return root


def text(root: Any) -> str:
    """The element and all in it as indented XML."""
    tree = root.get_xml()
    ET.indent(tree, " ")
    return ET.tostring(tree, encoding="unicode")


def document(root: Any) -> bytes:
    """The bytes of a whole SVG file."""
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{text(root)}\n'.encode()


def _contour(contour: Contour, flip: Flip) -> Any:
    round_one = contour.circle()
    if not round_one:
        return path(flip.path(contour.started_straight().segments, closed=True))
    from svgwrite.shapes import Circle

    centre, radius = round_one
    x, y = (fixed(value, PLACES) for value in flip.xy(centre))
    return element(Circle, {"cx": x, "cy": y, "r": fixed(radius, PLACES)})
