"""Segments in mm out of an SVG: shapes, paths, groups, transforms, viewBox. With the standard library alone.

What is only shown (text, pictures, clip paths, definitions) is left out and told. Style is not looked at: every shape
counts as a line to cut, unless it is switched off (display none).
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from xml.etree import ElementTree as ET

from fab.errors import Fault, InputError
from fab.files.manylines import path_steps, point_steps, too_many
from fab.files.svg_curves import Matrix, Turtle, curve_steps, multiply
from fab.files.xmlguard import DeclaresEntities, parsed
from fab.outlines.contour import Point, Segment

_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_CALL = re.compile(r"(matrix|translate|scale|rotate|skewX|skewY)\s*\(([^)]*)\)")
_PATH = re.compile(r"([MmLlHhVvCcSsQqTtAaZz])|([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)|([\s,]+)|(.)")
_SIZE = re.compile(r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(mm|cm|in|pt|pc|px|q|)\s*$", re.IGNORECASE)
_UNITS = {
    "mm": 1.0,
    "cm": 10.0,
    "in": 25.4,
    "pt": 25.4 / 72,
    "pc": 25.4 / 6,
    "px": 25.4 / 96,
    "": 25.4 / 96,
    "q": 0.25,
}  # CSS
_ASIDE = {"defs", "symbol", "clippath", "mask", "pattern", "marker", "metadata", "title", "desc", "style", "script"}
_SHOWN_ONLY = {"text", "image", "use", "foreignobject"}
_CURES = {"script": "nothing is run here"}
_TAKES = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}


def svg_segments(data: bytes, flat_mm: float, most: int) -> tuple[list[Segment], list[str]]:
    """Segments with y up and mm, and notes. Raises InputError for what can't be read, and for more than `most`."""
    try:
        root = parsed(data)
    except DeclaresEntities:
        raise _refused("the SVG declares entities of its own.", "Save it as plain SVG.") from None
    except (ET.ParseError, ValueError, LookupError) as error:
        raise _refused(f"the SVG can't be read: {error}.", "Save it again as plain SVG.") from None
    page, notes = _page(root)
    left: dict[str, int] = {}
    found: list[Segment] = []
    try:
        if (least := _steps(root)) > most:
            raise too_many(least, most, at_least=True)
        for turtle in _shapes(root, page, flat_mm, left, most):
            found += turtle.segments
            if len(found) > most:
                raise too_many(len(found), most, at_least=True)
    except (ValueError, OverflowError) as error:
        raise _refused(f"the SVG has a value that can't be read: {error}.", "Save it again as plain SVG.") from None
    except RecursionError:
        raise _refused("groups are nested too deep in the SVG.", "Ungroup them.") from None
    if any(not math.isfinite(v) for seg in found for v in (*seg.start, *seg.end)):
        raise _refused("a coordinate is not a number.", "Export the drawing again.")
    notes += [
        f"{count} <{tag}> left out: {_CURES.get(tag, 'turn it into paths to have it cut')}"
        for tag, count in sorted(left.items())
    ]
    return found, notes


def _refused(says: str, works: str) -> InputError:
    return InputError([Fault("", "", says, works)])


def _page(root: ET.Element) -> tuple[Matrix, list[str]]:
    """From user units to mm with y up."""
    notes: list[str] = []
    view = [float(word) for word in _NUMBER.findall(root.get("viewBox", ""))]
    sizes = [_SIZE.match(root.get(name, "")) for name in ("width", "height")]
    mm = [float(size[1]) * _UNITS[size[2].lower()] if size else 0.0 for size in sizes]
    if len(view) == 4 and view[2] > 0 and view[3] > 0:
        if all(mm):
            scale = min(mm[0] / view[2], mm[1] / view[3])
        elif any(mm):
            scale = mm[0] / view[2] if mm[0] else mm[1] / view[3]
        else:
            scale = _UNITS["px"]
            notes.append("no size in the file: one unit taken as 1/96 in")
        return (scale, 0.0, 0.0, -scale, -view[0] * scale, (view[1] + view[3]) * scale), notes
    scale = _UNITS["px"]
    if not (sizes[0] and sizes[0][2].lower() == "px"):
        notes.append("no viewBox in the file: one unit taken as 1/96 in")
    return (scale, 0.0, 0.0, -scale, 0.0, mm[1]), notes


def _steps(element: ET.Element) -> int:
    """Lines and curves that the shapes ask for, or fewer."""
    tag = element.tag.rsplit("}", 1)[-1].lower() if isinstance(element.tag, str) else ""
    if not tag or tag in _ASIDE or tag in _SHOWN_ONLY or _hidden(element):
        return 0
    own = path_steps(element.get("d", "")) if tag == "path" else point_steps(element.get("points", ""))
    return max(own, 0) + sum(_steps(child) for child in element)


def _shapes(
    element: ET.Element, matrix: Matrix, flat_mm: float, left: dict[str, int], most: int
) -> Iterator[Turtle]:
    tag = element.tag.rsplit("}", 1)[-1].lower() if isinstance(element.tag, str) else ""
    if not tag or tag in _ASIDE or _hidden(element):
        if tag == "script":
            left[tag] = left.get(tag, 0) + 1
        return
    if tag in _SHOWN_ONLY:
        left[tag] = left.get(tag, 0) + 1
        return
    matrix = multiply(matrix, _transform(element.get("transform", "")))
    turtle = Turtle(matrix, flat_mm, most)
    if tag == "path":
        _path(element.get("d", ""), turtle)
    elif tag in ("polyline", "polygon"):
        values = [float(word) for word in _NUMBER.findall(element.get("points", ""))]
        points = list(zip(values[::2], values[1::2], strict=False))
        _polyline(points, tag == "polygon", turtle)
    elif tag in ("rect", "circle", "ellipse", "line"):
        _basic(tag, element, turtle)
    if turtle.segments:
        yield turtle
    for child in element:
        yield from _shapes(child, matrix, flat_mm, left, most)


def _hidden(element: ET.Element) -> bool:
    style = element.get("style", "").replace(" ", "")
    return element.get("display") == "none" or "display:none" in style


def _transform(text: str) -> Matrix:
    total: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    for name, inside in _CALL.findall(text):
        v = [float(word) for word in _NUMBER.findall(inside)]
        total = multiply(total, _one(name, v))
    return total


def _one(name: str, v: Sequence[float]) -> Matrix:
    if name == "matrix" and len(v) == 6:
        return (v[0], v[1], v[2], v[3], v[4], v[5])
    if name == "translate" and len(v) in (1, 2):
        return (1.0, 0.0, 0.0, 1.0, v[0], v[1] if len(v) == 2 else 0.0)
    if name == "scale" and len(v) in (1, 2):
        return (v[0], 0.0, 0.0, v[-1], 0.0, 0.0)
    if name == "rotate" and len(v) in (1, 3):
        cos, sin = math.cos(math.radians(v[0])), math.sin(math.radians(v[0]))
        x, y = (v[1], v[2]) if len(v) == 3 else (0.0, 0.0)
        return (cos, sin, -sin, cos, x - cos * x + sin * y, y - sin * x - cos * y)
    if name == "skewX" and len(v) == 1:
        return (1.0, 0.0, math.tan(math.radians(v[0])), 1.0, 0.0, 0.0)
    if name == "skewY" and len(v) == 1:
        return (1.0, math.tan(math.radians(v[0])), 0.0, 1.0, 0.0, 0.0)
    raise ValueError(f"transform {name} with {len(v)} numbers")


def _polyline(points: Sequence[Point], closed: bool, turtle: Turtle) -> None:
    if len(points) < 2:
        return
    turtle.move(points[0])
    for point in points[1:]:
        turtle.line(point)
    if closed:
        turtle.close()


def _basic(tag: str, element: ET.Element, turtle: Turtle) -> None:
    def value(name: str) -> float:
        size = _SIZE.match(element.get(name, "0"))
        if not size:
            raise ValueError(f"{name}={element.get(name)!r}")
        return float(size[1]) * (_UNITS[size[2].lower()] / _UNITS["px"] if size[2] else 1.0)

    if tag == "line":
        turtle.move((value("x1"), value("y1")))
        turtle.line((value("x2"), value("y2")))
        return
    if tag == "rect":
        x, y, w, h = value("x"), value("y"), value("width"), value("height")
        rx, ry = value("rx") or value("ry"), value("ry") or value("rx")
        rx, ry = min(rx, w / 2), min(ry, h / 2)
        if w <= 0 or h <= 0:
            return
        turtle.move((x + rx, y))
        for (lx, ly), (ax, ay) in (
            ((x + w - rx, y), (x + w, y + ry)),
            ((x + w, y + h - ry), (x + w - rx, y + h)),
            ((x + rx, y + h), (x, y + h - ry)),
            ((x, y + ry), (x + rx, y)),
        ):
            turtle.line((lx, ly))
            if rx > 0 and ry > 0:
                turtle.arc((ax, ay), (rx, ry), sweep=True)
        turtle.close()
        return
    rx = value("r") if tag == "circle" else value("rx")
    ry = value("r") if tag == "circle" else value("ry")
    cx, cy = value("cx"), value("cy")
    if rx <= 0 or ry <= 0:
        return
    turtle.move((cx + rx, cy))
    turtle.arc((cx - rx, cy), (rx, ry), sweep=True)
    turtle.arc((cx + rx, cy), (rx, ry), sweep=True)


def _path(data: str, turtle: Turtle) -> None:
    """The path grammar of SVG 1.1; flags of arcs may stand without a separator."""
    for command, values in _commands(data):
        curve_steps(command, values, turtle)


def _commands(data: str) -> Iterator[tuple[str, list[float]]]:
    place, command, waiting = 0, "", False
    while place < len(data):
        found = _PATH.match(data, place)
        if found is None or found[4]:
            raise ValueError(f"path data at {data[place : place + 12]!r}")
        if found[3]:
            place = found.end()
            continue
        if found[1]:
            if waiting:
                raise ValueError(f"path command {command} without numbers")
            command, place = found[1], found.end()
            waiting = command not in "Zz"
            if command in "Zz":
                yield command, []
            continue
        if not command or command in "Zz":
            raise ValueError(f"path data at {data[place : place + 12]!r}")
        values, place = _values(data, place, command)
        yield command, values
        waiting = False
        if command in "Mm":
            command = "l" if command == "m" else "L"


def _values(data: str, place: int, command: str) -> tuple[list[float], int]:
    values: list[float] = []
    while len(values) < _TAKES[command.upper()]:
        while place < len(data) and data[place] in " \t\r\n\f,":
            place += 1
        if command in "Aa" and len(values) in (3, 4):
            if place >= len(data) or data[place] not in "01":
                raise ValueError(f"an arc's flag at {data[place : place + 12]!r}")
            values.append(float(data[place]))
            place += 1
            continue
        found = _NUMBER.match(data, place)
        if found is None:
            raise ValueError(f"path data at {data[place : place + 12]!r}")
        values.append(float(found[0]))
        place = found.end()
    return values, place
