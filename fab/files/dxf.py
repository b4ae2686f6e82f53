"""DXF for cutting: closed polylines with true arcs in mm, a layer an operation, none on 0.

Group codes and header variables are those of the DXF reference; `ezdxf` writes them. R2000 and R12
know colour indices only (true colour came with R2004), so a layer's #rrggbb stands in a comment.
"""

from __future__ import annotations

import io
import logging
import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, Literal

from fab.files.words import writable
from fab.outlines.contour import Arc, Segment, box_of
from fab.outlines.drawing import Drawing
from fab.units import FLAT_TOL_MM, fixed

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document

Version = Literal["R2000", "R12"]

# $INSUNITS, $MEASUREMENT, $LUNITS (DXF reference, header variables)
_MM = 4
_METRIC = 1
_DECIMAL = 2
_LINEWEIGHT = 9  # 0.09 mm, the thinnest that viewers show as a line of its own
# decimals of coordinates: the last bits of one machine's arithmetic never reach the file
_PLACES = 6
_BULGE_PLACES = 9

_Vertex = tuple[float, float, float]  # x, y, bulge of the segment that starts here


def dxf(drawing: Drawing, *, version: Version = "R2000", arcs: bool = True) -> bytes:
    """The drawing as ASCII DXF in its order; circles are CIRCLE, strokes and runs open polylines.

    R2000 is the oldest version with LWPOLYLINE and units; R12 gets POLYLINE and can't say that it
    is in millimetres (a comment at its head does). `arcs=False` writes chords within 0.01 mm of
    every arc and circle. Title and notes are comments at the head of the file. Raises ValueError
    for a coordinate that is not finite.
    """
    with _quiet_and_fixed():
        document = _document(drawing, version, arcs=arcs)
        stream = io.StringIO()
        document.write(stream)
    comments = [" ".join(writable(text).split()) for text in _comments(drawing, version)]
    head = "".join(f"999\n{text}\n" for text in comments)  # group code 999 is a comment
    return (
        (head + stream.getvalue())
        .replace("\n", "\r\n")
        .encode(document.output_encoding, errors="dxfreplace")
    )


def _document(drawing: Drawing, version: Version, *, arcs: bool) -> Document:
    from ezdxf.filemanagement import new

    document = new(version, setup=False)
    header, space = document.header, document.modelspace()
    header["$LUNITS"] = _DECIMAL
    if version != "R12":
        header["$INSUNITS"], header["$MEASUREMENT"] = _MM, _METRIC
    low, high = _extents(drawing)
    header["$EXTMIN"], header["$EXTMAX"] = low, high
    space.reset_extents(low, high)
    space.reset_limits((0.0, 0.0), (_round(drawing.width), _round(drawing.height)))
    for layer in drawing.layers:
        document.layers.add(layer.name, color=layer.aci, lineweight=_LINEWEIGHT)
        attributes = {"layer": layer.name}
        for contour in layer.contours:
            round_one = contour.circle()
            if round_one and arcs:
                (x, y), radius = round_one
                space.add_circle((_round(x), _round(y)), _round(radius), dxfattribs=attributes)
            else:
                _polyline(
                    space,
                    _vertices(contour.started_straight().segments, arcs=arcs),
                    attributes,
                    version,
                    closed=True,
                )
        for points in layer.strokes:
            _polyline(space, [(x, y, 0.0) for x, y in points], attributes, version, closed=False)
        for run in layer.runs:
            _polyline(
                space,
                [*_vertices(run, arcs=arcs), (*run[-1].end, 0.0)],
                attributes,
                version,
                closed=False,
            )
    return document


def _vertices(segments: Sequence[Segment], *, arcs: bool) -> list[_Vertex]:
    out: list[_Vertex] = []
    for seg in segments:
        bulge = seg.bulge if arcs and isinstance(seg, Arc) else 0.0
        out.append((*seg.start, bulge))
        if isinstance(seg, Arc) and not arcs:
            # sagitta r (1 - cos(step / 2))
            half = math.acos(max(1.0 - FLAT_TOL_MM / seg.radius_mm, 0.0))
            count = math.ceil(abs(seg.sweep_rad) / (2 * half) - 1e-9)
            out += [(*seg.at(k / count), 0.0) for k in range(1, count)]
    return out


def _polyline(
    space: Any,
    vertices: Sequence[_Vertex],
    attributes: dict[str, str],
    version: Version,
    *,
    closed: bool,
) -> None:
    rounded = [(_round(x), _round(y), _round(bulge, _BULGE_PLACES)) for x, y, bulge in vertices]
    add = space.add_polyline2d if version == "R12" else space.add_lwpolyline
    add(rounded, format="xyb", close=closed, dxfattribs=attributes)


def _round(value: float, places: int = _PLACES) -> float:
    if not math.isfinite(value):
        raise ValueError(f"{value} is not a number that a file can hold")
    return round(value, places) + 0.0  # never -0.0


def _extents(drawing: Drawing) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
    """The box of all that is drawn; the page's own box when nothing is."""
    xs, ys = [], []
    for layer in drawing.layers:
        for contour in layer.contours:
            box = contour.box
            xs += [box[0], box[2]]
            ys += [box[1], box[3]]
        for points in layer.strokes:
            xs += [x for x, _ in points]
            ys += [y for _, y in points]
        for run in layer.runs:
            box = box_of(run)
            xs += [box[0], box[2]]
            ys += [box[1], box[3]]
    xs, ys = xs or [0.0, drawing.width], ys or [0.0, drawing.height]
    return (_round(min(xs)), _round(min(ys)), 0.0), (_round(max(xs)), _round(max(ys)), 0.0)


def _comments(drawing: Drawing, version: Version) -> Iterator[str]:
    if drawing.title:
        yield drawing.title
    yield (
        "units: millimetres"
        if version != "R12"
        else "units: millimetres (this DXF version cannot store them)"
    )
    yield f"page: {fixed(drawing.width)} x {fixed(drawing.height)} mm"
    for layer in drawing.layers:
        yield f"layer {layer.name}: {layer.colour}"
    yield from drawing.notes


@contextmanager
def _quiet_and_fixed() -> Iterator[None]:
    """The library's dates and ids fixed: same drawing, same bytes.

    Its word on R12's units is held back.
    """
    from ezdxf._options import options

    log = logging.getLogger("ezdxf")
    before = options.write_fixed_meta_data_for_testing, log.level
    options.write_fixed_meta_data_for_testing = True
    log.setLevel(logging.ERROR)
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before[0]
        log.setLevel(before[1])
