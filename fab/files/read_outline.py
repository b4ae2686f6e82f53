"""Loose lines and arcs out of a DXF or SVG that somebody else drew; `outlines/loops.py` makes outlines of them.

True arcs stay arcs; ellipses, splines and Bezier curves become chords that stray at most 0.005 mm. Lengths come back
in mm: by the DXF's $INSUNITS, by the SVG's width, height and viewBox; a file without units is taken as mm (DXF) or as
CSS pixels of 1/96 in (SVG), and the notes say so.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

from fab.errors import BrokenGeometry, Fault, InputError
from fab.files.manylines import dxf_entities, dxf_places, too_many
from fab.files.read_svg import svg_segments
from fab.files.xmlguard import has_root
from fab.outlines.contour import Arc, Line, Point, Segment
from fab.units import JOIN_TOL_MM

FLAT_MM = 0.005
MOST_SEGMENTS = 1_200_000
FAR_MM = 100_000.0
MOST_PARTS = 300_000  # of blocks and polylines: a few lines can ask for blocks in blocks without end
# $INSUNITS of the DXF reference to mm
_UNITS = {1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0, 8: 25.4e-6, 9: 0.0254, 10: 914.4, 13: 1e-3, 14: 100.0}


@dataclass(frozen=True)
class Loose:
    """What a file holds: segments in mm, and what a maker should know about the reading."""

    segments: tuple[Segment, ...]
    notes: tuple[str, ...] = ()


def read_outline(data: bytes, name: str, unit_mm: float | None = None, most: int = MOST_SEGMENTS) -> Loose:
    """The segments of a DXF (ASCII or binary) or SVG, told apart by their content.

    `unit_mm`: what one unit of a DXF is, whatever the file says. `most`: of lines, arcs and chords; a file that
    surely holds more is refused before it is read.

    Raises InputError, naming the file, for anything that can't be read, coordinates that are not finite, or no lines.
    """
    try:
        is_svg = b"<svg" in data[:4096].lower() or has_root(data, "svg")
        segments, notes = svg_segments(data, FLAT_MM, most) if is_svg else _dxf(data, unit_mm, most)
    except InputError as error:
        raise InputError([replace(fault, where=fault.where or name) for fault in error.faults]) from None
    except (BrokenGeometry, ArithmeticError, ValueError) as error:  # numbers that overflow on the way to a line
        raise _refused(f"it has numbers that make no line ({error}).", "Export it again, in mm.", name) from None
    if not segments:
        raise _refused("there is no line in it.", "Draw the outline as lines, arcs, polylines or paths.", name)
    if len(segments) > most:
        raise too_many(len(segments), most, name)
    return Loose(tuple(segments), tuple(f"{name}: {note}" for note in notes))


def _dxf(data: bytes, unit_mm: float | None, most: int) -> tuple[list[Segment], list[str]]:
    from ezdxf import DXFError, recover

    if (places := dxf_places(data)) > most:
        raise too_many(places, most)
    if (entities := dxf_entities(data)) > MOST_PARTS:
        says = f"it holds {entities:,} single lines, arcs and corners; at most {MOST_PARTS:,} are read."
        raise _refused(says, "Join them to polylines of DXF R2000, or simplify the drawing.")
    try:
        document, _ = recover.read(io.BytesIO(data))
        return _of_document(document, unit_mm)
    except InputError:
        raise
    except Exception as error:  # a damaged file of a stranger brings the library to any of its own assertions
        why = str(error) if isinstance(error, (OSError, DXFError, ValueError)) else "it is damaged"
        says = f"this is neither a DXF nor an SVG that can be read ({why})."
        raise _refused(says, "Export it as DXF R2000 or plain SVG.") from None


def _refused(says: str, works: str, name: str = "") -> InputError:
    return InputError([Fault(name, "", says, works)])


def _of_document(document: Any, unit_mm: float | None) -> tuple[list[Segment], list[str]]:
    units = int(document.header.get("$INSUNITS", 0))
    notes = []
    if units not in _UNITS and unit_mm is None:
        notes.append("no usable unit in the file: taken as millimetres")
    scale = _UNITS.get(units, 1.0) if unit_mm is None else unit_mm
    if _many(document.modelspace(), {}, ()) > MOST_PARTS:
        raise _refused(f"with its blocks taken apart it has more than {MOST_PARTS:,} lines: blocks in blocks without end.", "Explode them in the drawing program, and save it again.")
    left: dict[str, int] = {}
    found: list[Segment] = []
    for entity in document.modelspace():
        found += _entity(entity, scale, left, 0)
    for kind, count in sorted(left.items()):
        notes.append(f"{count} {kind} left out: no lines to cut")
    return found, notes


def _entity(entity: Any, scale: float, left: dict[str, int], depth: int) -> list[Segment]:
    """Segments of one entity; blocks and polylines are taken apart."""
    kind = entity.dxftype()
    if kind == "LINE":
        return _line(entity.dxf.start, entity.dxf.end, scale)
    if kind in ("ARC", "CIRCLE"):
        return _round(entity, scale)
    if kind in ("LWPOLYLINE", "POLYLINE", "INSERT") and depth < 16:
        if kind == "POLYLINE" and not entity.is_2d_polyline and not entity.is_3d_polyline:
            left[kind] = left.get(kind, 0) + 1
            return []
        if kind == "INSERT" and (entity.block() is None or entity.block().block.is_xref):
            left["external reference"] = left.get("external reference", 0) + 1
            return []
        found: list[Segment] = []
        for part in _parts(entity):
            found += _entity(part, scale, left, depth + 1)
        return found
    if kind in ("ELLIPSE", "SPLINE"):
        _in_reach(entity, scale)
        flat = list(entity.flattening(FLAT_MM / scale))
        return [seg for a, b in pairwise(flat) for seg in _line(a, b, scale)]
    left[kind] = left.get(kind, 0) + 1
    return []


def _in_reach(entity: Any, scale: float) -> None:
    """A curve of the size of a country has more chords than a computer has room for."""
    if entity.dxftype() == "SPLINE":
        points = [*entity.control_points, *entity.fit_points]
    else:
        points = [entity.dxf.center, entity.dxf.major_axis]
    if any(not abs(value) * scale <= FAR_MM for point in points for value in (point[0], point[1])):
        raise _refused("a curve reaches further than 100 m.", "Is the unit of the file right?")


def _many(space: Any, known: dict[str, int], within: tuple[str, ...]) -> int:
    """How many entities a layout or block holds when all its blocks are taken apart; nothing is taken apart for it."""
    total = 0
    for entity in space:
        total += 1
        if entity.dxftype() != "INSERT" or entity.block() is None:
            continue
        name = entity.dxf.name
        if name in within:
            raise _refused(f'block "{name}" holds itself.', "Mend it in the drawing program, and save it again.")
        if name not in known:
            known[name] = _many(entity.block(), known, (*within, name))
        total += known[name] * max(entity.mcount, 1)
    return total


def _parts(entity: Any) -> Iterator[Any]:
    """What a block or polyline is made of; a block set in rows and columns as often as it is set."""
    if entity.dxftype() == "INSERT" and entity.mcount > 1:
        for single in entity.multi_insert():
            yield from single.virtual_entities()
    else:
        yield from entity.virtual_entities()


def _line(a: Any, b: Any, scale: float) -> list[Segment]:
    start, end = (a.x * scale, a.y * scale), (b.x * scale, b.y * scale)
    _finite(start, end)
    return [Line(start, end)] if math.dist(start, end) > JOIN_TOL_MM else []


def _round(entity: Any, scale: float) -> list[Segment]:
    """An arc or circle; one that is seen from behind (extrusion -Z) runs the other way."""
    ocs = entity.ocs()
    centre = ocs.to_wcs(entity.dxf.center)
    radius = float(entity.dxf.radius) * scale
    at = (centre.x * scale, centre.y * scale)
    behind = entity.dxf.extrusion.z < 0
    _finite(at, (radius, 0.0))
    if radius <= JOIN_TOL_MM:
        return []
    if entity.dxftype() == "CIRCLE":
        begin, sweep = 0.0, 2 * math.pi
    else:
        begin = math.radians(entity.dxf.start_angle)
        sweep = math.radians((entity.dxf.end_angle - entity.dxf.start_angle) % 360.0) or 2 * math.pi
    if behind:
        begin, sweep = math.pi - begin, -sweep
    start = (at[0] + radius * math.cos(begin), at[1] + radius * math.sin(begin))
    if abs(sweep) * radius <= JOIN_TOL_MM:
        return []
    if abs(sweep) <= math.pi:
        return [Arc(start, at, sweep)]
    half = Arc(start, at, sweep / 2)
    return [half, Arc(half.end, at, sweep / 2)]


def _finite(*points: Point) -> None:
    if not all(math.isfinite(value) for point in points for value in point):
        raise _refused("a coordinate is not a number.", "Export the drawing again.")
