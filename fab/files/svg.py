"""SVG for cutting: the drawing 1:1 in millimetres, one group a layer, one path a contour, lines only.

Written with the standard library's XML tree: the usual SVG library is no longer kept up, lets NaN through and refuses
the roles that readers for the blind need. Size in mm and viewBox in mm, so one unit is one millimetre in every reader
(CSS px are 1/96 in: width and height without a unit would scale the part).
"""

from __future__ import annotations

from itertools import pairwise
from xml.etree import ElementTree as ET

from fab.files.svgpath import PLACES, Flip
from fab.files.words import writable
from fab.outlines.contour import Contour, Line
from fab.outlines.drawing import Drawing
from fab.units import fixed

SVG = "http://www.w3.org/2000/svg"


def svg(drawing: Drawing, *, line_mm: float) -> bytes:
    """The drawing as SVG 1.1 text in UTF-8; `line_mm` is the width of the lines (hairline to the cutter).

    Contours and strokes stand in the drawing's order; a full circle is a <circle>. Title and notes are metadata.
    Raises ValueError for a coordinate that is not finite.
    """
    flip = Flip(drawing.height)
    root = root_element(drawing.width, drawing.height)
    if drawing.title:
        ET.SubElement(root, "title").text = writable(drawing.title)
    if drawing.notes:
        ET.SubElement(root, "desc").text = writable("; ".join(drawing.notes))
    for layer in drawing.layers:
        look = {"fill": "none", "stroke": layer.colour, "stroke-width": fixed(line_mm, PLACES)}
        group = ET.SubElement(root, "g", {"id": writable(layer.name), **look})
        for contour in layer.contours:
            _contour(group, contour, flip)
        for points in layer.strokes:
            lines = [Line(a, b) for a, b in pairwise(points)]
            ET.SubElement(group, "path", {"d": flip.path(lines, closed=False)})
        for run in layer.runs:
            ET.SubElement(group, "path", {"d": flip.path(run, closed=False)})
    return document(root)


def root_element(width: float, height: float) -> ET.Element:
    """An <svg> whose unit is one millimetre."""
    wide, high = fixed(width, PLACES), fixed(height, PLACES)
    return ET.Element(
        "svg",
        {"xmlns": SVG, "version": "1.1", "width": f"{wide}mm", "height": f"{high}mm", "viewBox": f"0 0 {wide} {high}"},
    )


def document(root: ET.Element) -> bytes:
    """The bytes of a whole SVG file."""
    ET.indent(root, " ")
    return b'<?xml version="1.0" encoding="UTF-8"?>\n' + ET.tostring(root, encoding="utf-8") + b"\n"


def _contour(group: ET.Element, contour: Contour, flip: Flip) -> None:
    round_one = contour.circle()
    if round_one:
        centre, radius = round_one
        x, y = flip.xy(centre)
        ET.SubElement(group, "circle", {"cx": fixed(x, PLACES), "cy": fixed(y, PLACES), "r": fixed(radius, PLACES)})
    else:
        ET.SubElement(group, "path", {"d": flip.path(contour.started_straight().segments, closed=True)})
