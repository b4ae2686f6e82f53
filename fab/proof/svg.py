"""SVG read with the standard library's XML parser: the paths of a drawing by the group they stand
in, mm, y up.

Source of the path grammar and of the arc's centre: SVG 1.1, sections 8.3 and F.6. Entities and
document types are refused, so that a file can't unfold to more than its own size.
"""

from __future__ import annotations

import itertools
import math
import re
from dataclasses import dataclass
from xml.etree import ElementTree as ET

from fab.proof.paths import CutPath, Segment, closed_if_it_is, round_path
from fab.proof.tree import Unreadable

MM = {
    "mm": 1.0,
    "cm": 10.0,
    "in": 25.4,
    "pt": 25.4 / 72,
    "pc": 25.4 / 6,
    "px": 25.4 / 96,
    "": 25.4 / 96,
}
TOKEN = re.compile(r"[MmLlHhVvAaCcQqSsTtZz]|[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
TAKES = {"M": 2, "L": 2, "H": 1, "V": 1, "A": 7, "C": 6, "Q": 4, "Z": 0}


@dataclass(frozen=True)
class Sketch:
    """A drawing: its page, its paths, and what its description says."""

    width: float
    height: float
    paths: tuple[CutPath, ...]
    says: str


def parsed(path: str, data: bytes) -> ET.Element:
    """The XML tree. Raises Unreadable, for document types and entities too."""
    if b"<!DOCTYPE" in data or b"<!ENTITY" in data:
        raise Unreadable(path, "has a document type or entities, which are not read")
    try:
        return ET.fromstring(data)
    except ET.ParseError as error:
        raise Unreadable(path, f"is not XML: {error}") from error


def read_svg(path: str, data: bytes) -> Sketch:
    """The drawing in mm, y up from the page's lower edge. Raises Unreadable."""
    root = parsed(path, data)
    try:
        wide, high = (_length(root.get(side, "")) for side in ("width", "height"))
        box = [
            float(value)
            for value in root.get("viewBox", f"0 0 {wide} {high}").replace(",", " ").split()
        ]
        scale = wide / box[2]
        if abs(high / box[3] - scale) > 1e-4 * scale:
            raise ValueError("width and height scale differently")
        found: list[CutPath] = []
        says: list[str] = []
        _walk(root, "", found, says)
    except (ValueError, IndexError, ZeroDivisionError) as error:
        raise Unreadable(path, f"cannot be read as a drawing: {error}") from error
    left, top = box[0], box[1]
    paths = tuple(_flipped(one, left, top + box[3], scale) for one in found)
    return Sketch(wide, high, paths, " ".join(says))


def _length(text: str) -> float:
    match = re.fullmatch(r"\s*([-+0-9.eE]+)\s*([a-z]*)\s*", text)
    if (
        not match
        or match[2] not in MM
        or not math.isfinite(float(match[1]))
        or float(match[1]) <= 0
    ):
        raise ValueError(f"{text[:30]!r} is not a length")
    return float(match[1]) * MM[match[2]]


def _walk(element: ET.Element, layer: str, found: list[CutPath], says: list[str]) -> None:
    for one in element:
        name = one.tag.rpartition("}")[2] if isinstance(one.tag, str) else ""
        if one.get("transform"):
            raise ValueError("a transform moves what is drawn")
        here = one.get("id", layer) if name == "g" else layer
        if name in ("title", "desc"):
            says.append(one.text or "")
        elif name == "g":
            _walk(one, here, found, says)
        elif name == "path":
            found += _path(one.get("d", ""), here)
        elif name == "circle":
            x, y, radius = (float(one.get(key, "0")) for key in ("cx", "cy", "r"))
            found.append(round_path(here, x, y, radius))
        elif name == "line":
            x0, y0, x1, y1 = (float(one.get(key, "0")) for key in ("x1", "y1", "x2", "y2"))
            found.append(CutPath(here, ((x0, y0, x1, y1, 0.0),), False))
        elif name in ("polyline", "polygon"):
            found += _corners(one.get("points", ""), here, closed=name == "polygon")
        elif name == "rect":
            x, y, w, h = (float(one.get(key, "0")) for key in ("x", "y", "width", "height"))
            found += _corners(f"{x} {y} {x + w} {y} {x + w} {y + h} {x} {y + h}", here, closed=True)


def _corners(text: str, layer: str, *, closed: bool) -> list[CutPath]:
    values = [float(value) for value in text.replace(",", " ").split()]
    points = list(zip(values[::2], values[1::2], strict=True))
    segments: list[Segment] = [(*a, *b, 0.0) for a, b in itertools.pairwise(points) if a != b]
    return [closed_if_it_is(layer, segments, said=closed)] if segments else []


def _path(text: str, layer: str) -> list[CutPath]:
    tokens = TOKEN.findall(text)
    found: list[CutPath] = []
    segments: list[Segment] = []
    x = y = x0 = y0 = 0.0
    command, at = "", 0

    def end(*, closed: bool) -> None:
        nonlocal segments
        if segments:
            found.append(closed_if_it_is(layer, segments, said=closed))
        segments = []

    while at < len(tokens):
        if tokens[at].isalpha():
            command = tokens[at]
            at += 1
        kind, relative = command.upper(), command.islower()
        if kind not in TAKES:
            raise ValueError(f"path command {command!r} is not read")
        values = [float(token) for token in tokens[at : at + TAKES[kind]]]
        if len(values) < TAKES[kind]:
            raise ValueError("a path ends in the middle")
        at += TAKES[kind]
        if kind == "Z":
            end(closed=True)
            x, y = x0, y0
            command = ""
            continue
        dx, dy = (x, y) if relative else (0.0, 0.0)
        if kind == "H":
            nx, ny = values[0] + dx, y
        elif kind == "V":
            nx, ny = x, values[0] + dy
        else:
            nx, ny = values[-2] + dx, values[-1] + dy
        if kind == "M":
            end(closed=False)
            x0, y0 = nx, ny
            command = "l" if relative else "L"
        elif kind == "A":
            segments += _arc((x, y), (nx, ny), *values[:5])
        elif kind in "CQ":
            points = [(values[k] + dx, values[k + 1] + dy) for k in range(0, len(values) - 2, 2)]
            segments += _curve([(x, y), *points, (nx, ny)])
        elif (nx, ny) != (x, y):
            segments.append((x, y, nx, ny, 0.0))
        x, y = nx, ny
    end(closed=False)
    return found


def _arc(
    start: tuple[float, float],
    stop: tuple[float, float],
    rx: float,
    ry: float,
    _turn: float,
    large: float,
    sweep: float,
) -> list[Segment]:
    """A circular arc of the file's own frame (y down).

    Its bulge is signed for that frame; the flip turns it over.
    """
    if abs(rx - ry) > 1e-6 * max(rx, ry):
        raise ValueError("an elliptical arc")
    chord = math.dist(start, stop)
    if chord == 0.0 or rx == 0.0:
        return []
    half = math.asin(min(chord / (2 * rx), 1.0)) * 2  # the smaller sweep
    angle = 2 * math.pi - half if large else half
    bulge = math.tan(angle / 4) * (1.0 if sweep else -1.0)
    return [(*start, *stop, bulge)]


def _curve(points: list[tuple[float, float]], count: int = 32) -> list[Segment]:
    """A Bezier curve as chords (de Casteljau)."""
    spots = []
    for k in range(count + 1):
        level = points
        while len(level) > 1:
            level = [
                (a[0] + (b[0] - a[0]) * k / count, a[1] + (b[1] - a[1]) * k / count)
                for a, b in itertools.pairwise(level)
            ]
        spots.append(level[0])
    return [(*a, *b, 0.0) for a, b in itertools.pairwise(spots)]


def _flipped(one: CutPath, left: float, bottom: float, scale: float) -> CutPath:
    segments = tuple(
        ((a - left) * scale, (bottom - b) * scale, (c - left) * scale, (bottom - d) * scale, -bulge)
        for a, b, c, d, bulge in one.segments
    )
    return CutPath(one.layer, segments, one.closed)
