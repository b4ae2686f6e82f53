"""A cutting SVG read back with the standard library's XML parser and a path reader of its own."""

from __future__ import annotations

import math
import re
from xml.etree import ElementTree as ET

from fab.files.readback_flat import SAME_MM, ReadLoop, cutting_faults, differences
from fab.outlines.drawing import Drawing

_NS = "{http://www.w3.org/2000/svg}"
_WORD = re.compile(r"[A-Za-z]|[^A-Za-z\s,]+")
_TAKES = {"M": 2, "L": 2, "A": 7, "Z": 0}


def check_svg(data: bytes, drawing: Drawing, *, cut: bool = True) -> list[str]:
    """Differences of an SVG from the `drawing` that it was written from; empty when there are none.

    `cut` as in `check_dxf`.
    """
    try:
        root = ET.fromstring(data)
        told = _frame_faults(root, drawing)
        loops = _loops(root, drawing.height, told)
    except (ET.ParseError, KeyError, ValueError, IndexError) as error:
        return [f"the SVG cannot be read: {error}"]
    if not loops:
        return [*told, "the SVG is empty"]
    told += differences(loops, drawing, SAME_MM)
    return told + (cutting_faults(loops) if cut else [])


def _frame_faults(root: ET.Element, drawing: Drawing) -> list[str]:
    told = []
    view = [float(word) for word in root.get("viewBox", "").split()]
    for place, (name, want) in enumerate((("width", drawing.width), ("height", drawing.height))):
        size = re.fullmatch(r"([\d.]+)mm", root.get(name, ""))
        if not size or abs(float(size[1]) - want) > SAME_MM:
            told.append(f"{name} is {root.get(name)}, should be {want:g}mm")
        elif len(view) != 4 or view[place] != 0 or view[place + 2] != float(size[1]):
            told.append(f"viewBox is {root.get('viewBox')}: one unit would not be one millimetre")
    for element in root.iter():
        tag = element.tag.removeprefix(_NS)
        if tag not in {"svg", "title", "desc", "g", "path", "circle"}:
            told.append(f"an element <{tag}> is not one that a cutter should meet")
        if {"transform", "style", "class"} & element.attrib.keys():
            told.append(f"<{tag}> is moved or styled from outside; cutters' software may miss that")
    return told


def _loops(root: ET.Element, height: float, told: list[str]) -> list[ReadLoop]:
    loops: list[ReadLoop] = []
    for group in root.iter(f"{_NS}g"):
        layer = group.attrib["id"]
        if group.get("fill") != "none" or not group.get("stroke"):
            told.append(f"layer {layer} is not drawn in lines")
        for element in group:
            if element.tag == f"{_NS}circle":
                x, y, radius = (float(element.attrib[name]) for name in ("cx", "cy", "r"))
                loops.append(
                    ReadLoop(
                        layer, ((x + radius, height - y, 1.0), (x - radius, height - y, 1.0)), True
                    )
                )
            else:
                loops.append(_path(layer, element.attrib["d"], height))
    return loops


def _path(layer: str, data: str, height: float) -> ReadLoop:
    words = _WORD.findall(data)
    points: list[tuple[float, float, float]] = []
    closed = False
    place = 0
    while place < len(words):
        command = words[place]
        if closed or (command == "M") != (not points):
            raise ValueError("a path is more than one contour")
        values = [float(word) for word in words[place + 1 : place + 1 + _TAKES[command]]]
        place += 1 + _TAKES[command]
        if not all(math.isfinite(value) for value in values):
            raise ValueError("a coordinate is not finite")
        if command == "Z":
            closed = True
            continue
        x, y = values[-2], height - values[-1]
        if command == "A":
            points[-1] = (*points[-1][:2], _bulge(math.dist(points[-1][:2], (x, y)), values))
        points.append((x, y, 0.0))
    if closed and math.dist(points[0][:2], points[-1][:2]) <= 1e-9:
        points.pop()  # the way back was written out
    return ReadLoop(layer, tuple(points), closed)


def _bulge(chord: float, values: list[float]) -> float:
    """Bulge of an A command: tan of a quarter of the angle; sweep 1 is clockwise to the eye."""
    rx, ry, _, large, sweep = values[:5]
    if rx != ry or chord == 0 or rx == 0:
        raise ValueError("an arc is not part of a circle, or goes all the way round")
    angle = 2 * math.asin(min(chord / 2 / rx, 1.0))
    return math.tan((2 * math.pi - angle if large else angle) / 4) * (-1 if sweep else 1)
