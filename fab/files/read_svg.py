"""Runs of lines and arcs in mm out of an SVG, as a browser draws it: `svg_tree` says what is seen.

`fontTools` reads the data of paths, `svgelements` the basic shapes.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from xml.etree import ElementTree as ET

from fab.errors import InputError, refused
from fab.files.drawn import Drawn
from fab.files.line_count import path_steps, point_steps, svg_elements, too_many
from fab.files.svg_curves import NotFinite, Turtle
from fab.files.svg_tree import MOST_ELEMENTS, Shown, SvgWalk
from fab.files.svg_values import PX_MM, length, view_box
from fab.files.xmlguard import DeclaresEntities, parsed
from fab.outlines.contour import box_of

# a million corners have some 20 MB; to read this takes the time of a nest
MOST_SVG = 40 * 1024 * 1024
_MOST_ATTRIBUTES = 1_000_000  # kept in 500 MB

_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_PATH = re.compile(r"[MmLlHhVvCcSsQqTtAaZz\d\s.,eE+-]*")
# of the viewport's width, height or diagonal
_LENGTHS = (
    dict.fromkeys(("x", "width", "rx", "cx", "x1", "x2"), 0)
    | dict.fromkeys(("y", "height", "ry", "cy", "y1", "y2"), 1)
    | {"r": 2}
)
_SIZES = {"rect": ("width", "height"), "circle": ("r",)}
_LEFT_OUT = {
    "script": "{} <script> left out: nothing is run here",
    "hidden": "{} hidden in the drawing: left out",
    "without line or fill": "{} without line and fill: invisible, left out",
    "use of an element that is not in the file": "{} <use> of what is not in the file: left out",
    "stroke-dasharray": "{} with dashes: read as solid lines",
    "filter": "{} with a filter: read without it",
    "pattern or gradient": "{} with a pattern or gradient: only the outline is read",
}


def svg_drawn(data: bytes, flat_mm: float, most: int) -> tuple[list[Drawn], list[str]]:
    """Runs with y up and mm, and notes.

    Raises InputError for what can't be read, and for more than `most` lines.
    """
    if len(data) > MOST_SVG:
        says = f"the SVG has {len(data) / 2**20:.0f} MB; at most {MOST_SVG // 2**20} MB are read."
        raise refused(says, "Simplify the drawing: nothing finer than 0.01 mm is cut.")
    if (elements := svg_elements(data)) > MOST_ELEMENTS:
        says = f"the SVG has {elements:,} elements; at most {MOST_ELEMENTS:,} are read."
        raise refused(says, "Join its lines to paths, or simplify the drawing.")
    if (attributes := data.count(b'="') + data.count(b"='")) > _MOST_ATTRIBUTES:
        says = f"the SVG has {attributes:,} attributes; at most {_MOST_ATTRIBUTES:,} are read."
        raise refused(says, "Simplify the drawing.")
    try:
        root = parsed(data)
    except DeclaresEntities:
        raise refused("the SVG declares entities of its own.", "Save it as plain SVG.") from None
    except (ET.ParseError, ValueError, LookupError) as error:
        raise refused(f"the SVG cannot be read: {error}.", "Save it again as plain SVG.") from None
    found: list[Drawn] = []
    total = 0
    try:
        matrix, viewport, notes = _page(root)
        tree = SvgWalk(root)
        shapes, steps, least = [], dict[int, int](), 0
        for shape in tree.shown(root, matrix, viewport):
            shapes.append(shape)
            key = id(shape.element)  # clones show one element often
            if key not in steps:
                steps[key] = max(_steps(shape), 0)
            least += steps[key]
            if least > most:
                raise too_many(least, most, at_least=True)
        for shape in shapes:
            turtle = _drawn(shape, flat_mm, most)
            if turtle.segments:
                found.append(Drawn(tuple(turtle.segments), shape.layers, shape.colour))
                _inside_frame(shape, found[-1])
                total += found[-1].corners
            if total > most:
                raise too_many(total, most, at_least=True)
    except (ValueError, OverflowError, ZeroDivisionError) as error:
        if isinstance(error, InputError):
            raise
        raise refused(
            f"the SVG has a value that cannot be read: {error}.", "Save it again as plain SVG."
        ) from None
    except RecursionError:
        raise refused("groups are nested too deeply in the SVG.", "Ungroup them.") from None
    notes += [
        _LEFT_OUT.get(what, "{} <" + what + "> left out: turn it into paths to have it cut").format(
            count
        )
        for what, count in sorted(tree.left.items())
    ]
    return found, notes


def _page(root: ET.Element) -> tuple[object, tuple[float, float], list[str]]:
    """From user units to mm with y up, the size in user units, and notes."""
    from svgelements import Matrix, Viewbox

    notes: list[str] = []
    view = view_box(root)
    sizes = [root.get(name, "") for name in ("width", "height")]
    px = [length(size, 0.0) if size and size != "auto" else 0.0 for size in sizes]
    if any(size and size != "auto" and length(size, 1.0) == 0 for size in sizes):
        raise refused("the SVG has a width or height of 0.", "Save it again with its size.")
    up = Matrix(PX_MM, 0, 0, -PX_MM, 0, 0)
    if not view:
        if not sizes[0].strip().lower().endswith(("px", "mm", "cm", "in", "pt", "pc", "q")):
            notes.append("no viewBox in the file: one unit is read as 1/96 in")
        return up * Matrix(1, 0, 0, 1, 0, px[1] * PX_MM), (px[0] or 300.0, px[1] or 150.0), notes
    if not any(px):
        notes.append("no size in the file: one unit is read as 1/96 in")
        px = [view[2], view[3]]
    px = [px[0] or px[1] * view[2] / view[3], px[1] or px[0] * view[3] / view[2]]
    fit = Viewbox.viewbox_transform(
        0, 0, px[0], px[1], *view, root.get("preserveAspectRatio", "xMidYMid")
    )
    return Matrix(fit) * up * Matrix(1, 0, 0, 1, 0, px[1] * PX_MM), (view[2], view[3]), notes


def _steps(shape: Shown) -> int:
    """Lines and curves that the shape asks for, or fewer."""
    if shape.tag == "path":
        return path_steps(shape.path)
    if shape.tag in _SIZES:  # four sides, or four arcs, unless a size is 0
        sizes = [shape.element.get(size, "auto") for size in _SIZES[shape.tag]]
        return 4 * all(size != "auto" and length(size, 1.0) > 0 for size in sizes)
    return point_steps(shape.element.get("points", ""))


def _drawn(shape: Shown, flat_mm: float, most: int) -> Turtle:
    m = shape.matrix
    turtle = Turtle((m.a, m.b, m.c, m.d, m.e, m.f), flat_mm, most)
    if shape.tag == "path":
        _path(shape.path, turtle)
    elif shape.tag in ("polyline", "polygon"):
        values = [float(word) for word in _NUMBER.findall(shape.element.get("points", ""))]
        _polyline(
            list(zip(values[::2], values[1::2], strict=False)),
            closed=shape.tag == "polygon",
            turtle=turtle,
        )
    else:
        _basic(shape, turtle)
    return turtle


def _path(data: str, turtle: Turtle) -> None:
    from fontTools.svgLib.path.parser import parse_path

    allowed = _PATH.match(data)
    if allowed is None or allowed.end() < len(data):
        at = allowed.end() if allowed else 0
        raise ValueError(f"path data at {data[at : at + 12]!r}")
    try:
        parse_path(data, turtle)
    except (InputError, NotFinite):
        raise
    except (ValueError, IndexError, TypeError) as error:  # its words hold the whole path
        raise ValueError(f"path data {data[:24]!r}") from error


def _polyline(points: Sequence[tuple[float, float]], *, closed: bool, turtle: Turtle) -> None:
    if len(points) < 2:
        return
    turtle.moveTo(points[0])
    for point in points[1:]:
        turtle.lineTo(point)
    if closed:
        turtle.closePath()


def _basic(shape: Shown, turtle: Turtle) -> None:
    """A rectangle, circle, ellipse or line: the library makes a path of it."""
    import svgelements as se

    wide, high = shape.viewport
    of = (wide, high, math.hypot(wide, high) / math.sqrt(2))
    given = shape.element.attrib
    values = {
        key: length(given[key], of[k])
        for key, k in _LENGTHS.items()
        if given.get(key, "auto") != "auto"
    }
    kinds = {"rect": se.Rect, "circle": se.Circle, "ellipse": se.Ellipse, "line": se.SimpleLine}
    made = kinds[shape.tag](values)
    if shape.tag == "line":
        _polyline(
            [
                (float(values.get("x1", 0)), float(values.get("y1", 0))),
                (float(values.get("x2", 0)), float(values.get("y2", 0))),
            ],
            closed=False,
            turtle=turtle,
        )
        return
    if made.is_degenerate() or any(values.get(key, 0) < 0 for key in ("width", "height", "r")):
        return
    for seg in se.Path(made):
        if isinstance(seg, se.Move):
            turtle.moveTo((seg.end.x, seg.end.y))
        elif isinstance(seg, se.Close):
            turtle.closePath()
        elif isinstance(seg, se.Arc):
            turn = math.degrees(seg.get_rotation())
            turtle.arcTo(
                seg.rx,
                seg.ry,
                turn,
                abs(seg.sweep) > math.pi,
                seg.sweep > 0,
                (seg.end.x, seg.end.y),
            )
        else:
            turtle.lineTo((seg.end.x, seg.end.y))


def _inside_frame(shape: Shown, drawn: Drawn) -> None:
    """Refuse a shape that a nested picture shows in part only."""
    if shape.frame is None:
        return
    x0, y0, x1, y1 = box_of(drawn.segments)
    left, low, right, top = shape.frame
    if x0 < left - 0.01 or y0 < low - 0.01 or x1 > right + 0.01 or y1 > top + 0.01:
        what = shape.element.get("id") or f"a <{shape.tag}>"
        raise refused(
            f"{what} reaches beyond the frame of the nested picture that it stands in, which hides"
            " the rest.",
            "Take the nested picture apart, and cut the shape itself.",
        )
