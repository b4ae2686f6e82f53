"""Loose lines and arcs out of a DXF or SVG that somebody else drew; `outlines/loops.py` makes
outlines of them.

True arcs stay arcs; ellipses, splines and Bezier curves become chords that stray at most 0.005 mm.
Lengths come back in mm: by the DXF's $INSUNITS, by the SVG's width, height and viewBox; a file
without units is taken as mm (DXF) or as CSS pixels of 1/96 in (SVG), and the notes say so.
"""

from __future__ import annotations

import gzip
import io
import math
import zlib
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

from fab.errors import BrokenGeometry, Fault, InputError
from fab.files.drawn import Drawn
from fab.files.line_count import BINARY, dxf_entities, dxf_places, too_many
from fab.files.read_svg import svg_drawn
from fab.files.xmlguard import has_root
from fab.outlines.contour import Arc, Line, Point, Segment
from fab.units import JOIN_TOL_MM

FLAT_MM = 0.005
MOST_CORNERS = 180_000  # read and joined in 15 s and 500 MB
FAR_MM = 100_000.0
MOST_UNPACKED = 256 * 1024 * 1024
_STRAIGHT = 1e-9  # bulge of a bow that no file can tell from a line
_DEEPEST = 16  # blocks in blocks
# of blocks and polylines: a few lines can ask for blocks in blocks without end
MOST_PARTS = 120_000
# $INSUNITS of the DXF reference to mm
_UNITS = {
    1: 25.4,
    2: 304.8,
    4: 1.0,
    5: 10.0,
    6: 1000.0,
    8: 25.4e-6,
    9: 0.0254,
    10: 914.4,
    13: 1e-3,
    14: 100.0,
}


@dataclass(frozen=True)
class Loose:
    """The contents of a file: segments in mm, and remarks on the reading for the maker."""

    drawn: tuple[Drawn, ...]
    notes: tuple[str, ...] = ()

    @property
    def segments(self) -> tuple[Segment, ...]:
        """All lines and arcs of the drawing in the order of the file, mm."""
        return tuple(seg for one in self.drawn for seg in one.segments)


def read_outline(
    data: bytes, name: str, unit_mm: float | None = None, most: int = MOST_CORNERS
) -> Loose:
    """The segments of a DXF (ASCII or binary) or SVG, told apart by their content.

    `unit_mm`: what one unit of a DXF is, whatever the file says. `most`: of lines, chords and
    arcs, which count twice; a file that surely holds more is refused before it is read.

    Raises InputError, naming the file, for anything that can't be read, coordinates that are not
    finite, or no lines.
    """
    if not data.strip():
        raise _refused("the file is empty.", "Export the drawing again.", name)
    try:
        data = _unpacked(data)
        is_svg = b"<svg" in data[:4096].lower() or has_root(data, "svg")
        drawn, notes = svg_drawn(data, FLAT_MM, most) if is_svg else _dxf(data, unit_mm, most)
    except InputError as error:
        raise InputError(
            [replace(fault, where=fault.where or name) for fault in error.faults]
        ) from None
    except (
        BrokenGeometry,
        ArithmeticError,
        ValueError,
    ) as error:  # numbers that overflow on the way to a line
        raise _refused(
            f"it has numbers that cannot be read as a line ({error}).",
            ("Export the drawing again, in mm."),
            name,
        ) from None
    if not drawn:
        hidden = [note for note in notes if "left out" in note]
        why = f" that can be seen ({'; '.join(hidden)})" if hidden else ""
        raise _refused(
            f"there is no line in it{why}.",
            "Draw the outline as lines, arcs, polylines or paths.",
            name,
        )
    return Loose(tuple(drawn), tuple(f"{name}: {note}" for note in notes))


def _unpacked(data: bytes) -> bytes:
    """The file as it is, or out of its gzip wrapping (.svgz), no further than `MOST_UNPACKED`."""
    if not data.startswith(b"\x1f\x8b"):
        return data
    try:
        with gzip.open(io.BytesIO(data)) as stream:
            plain = stream.read(MOST_UNPACKED + 1)
    except (OSError, EOFError, zlib.error) as error:
        raise _refused(
            f"it is compressed (gzip) and cannot be unpacked: {error}.", "Save it as plain SVG."
        ) from None
    if len(plain) > MOST_UNPACKED:
        raise _refused(
            f"unpacked it has more than {MOST_UNPACKED // 2**20} MB.", "Simplify the drawing."
        )
    return plain


def _dxf(data: bytes, unit_mm: float | None, most: int) -> tuple[list[Drawn], list[str]]:
    from ezdxf import recover
    from ezdxf.lldxf.const import DXFError

    if (places := dxf_places(data)) > most:
        raise too_many(places, most)
    if (entities := dxf_entities(data)) > MOST_PARTS:
        says = (
            f"it holds {entities:,} single lines, arcs and corners; at most {MOST_PARTS:,} are"
            " read."
        )
        raise _refused(says, "Join them to polylines of DXF R2000, or simplify the drawing.")
    try:
        if data.startswith(BINARY):
            from ezdxf.document import Drawing
            from ezdxf.lldxf.tagger import binary_tags_loader

            document = Drawing.load(binary_tags_loader(data))
        else:
            document = _plain(data) or recover.read(io.BytesIO(data))[0]
        return _of_document(document, unit_mm, most)
    except InputError:
        raise
    except (
        Exception
    ) as error:  # a damaged file of a stranger brings the library to any of its own assertions
        why = str(error) if isinstance(error, (OSError, DXFError, ValueError)) else "it is damaged"
        says = f"this is neither a DXF nor an SVG that can be read ({why})."
        raise _refused(says, "Export it as DXF R2000 or plain SVG.") from None


def _plain(data: bytes) -> Any:
    """A DXF without faults, read in half the time that a damaged one takes; None for any other."""
    from ezdxf.filemanagement import read

    if b"$INSUNITS" not in data:  # this reader would take it for metres
        return None
    try:
        text = data.decode("ascii")
        return read(io.StringIO(text.replace("\r\n", "\n")))
    except Exception:
        return None


def _refused(says: str, works: str, name: str = "") -> InputError:
    return InputError([Fault(name, "", says, works)])


def _of_document(document: Any, unit_mm: float | None, most: int) -> tuple[list[Drawn], list[str]]:
    units = int(document.header.get("$INSUNITS", 0))
    notes = []
    if units not in _UNITS and unit_mm is None:
        notes.append("no usable unit in the file: read as millimetres")
    scale = _UNITS.get(units, 1.0) if unit_mm is None else unit_mm
    if _many(document.modelspace(), {}, ()) > MOST_PARTS:
        says = (
            f"with its blocks taken apart it has more than {MOST_PARTS:,} lines: blocks in blocks"
            " without end."
        )
        raise _refused(says, "Explode them in the drawing program, and save it again.")
    reader = _Entities(document, scale)
    found: list[Drawn] = []
    corners = 0
    for entity in document.modelspace():
        for one in reader.drawn(entity, ("0", "#000000"), 0):
            found.append(one)
            corners += one.corners
        if corners > most:
            raise too_many(corners, most, at_least=True)
    if len(reader.off):
        layers = ", ".join(sorted(reader.off))
        notes.append(
            f"{sum(reader.off.values())} on layers that are off or frozen ({layers}): left out"
        )
    notes += [
        f"{count} {kind} left out: no lines to cut" for kind, count in sorted(reader.left.items())
    ]
    return found, notes


class _Entities:
    """Takes entities apart; `left` and `off` count what was left out."""

    def __init__(self, document: Any, scale: float) -> None:
        self.scale = scale
        self.layers = {layer.dxf.name.casefold(): layer for layer in document.layers}
        self.left: Counter[str] = Counter()
        self.off: Counter[str] = Counter()

    def drawn(self, entity: Any, block: tuple[str, str], depth: int) -> Iterator[Drawn]:
        """The lines of one entity. `block`: layer and colour of the block that it stands in."""
        kind = entity.dxftype()
        name = block[0] if entity.dxf.layer == "0" and depth else entity.dxf.layer
        layer = self.layers.get(name.casefold())
        if entity.dxf.get("invisible", 0):
            self.left["invisible entities"] += 1
            return
        if layer is not None and (layer.is_frozen() or (layer.is_off() and kind != "INSERT")):
            # a block on a layer that is off still shows what it holds on other layers
            self.off[name] += 1
            return
        colour = _colour(entity, layer, block[1])
        if kind in ("LWPOLYLINE", "POLYLINE", "INSERT"):
            yield from self._taken_apart(entity, (name, colour), depth)
            return
        segments = self._segments(entity, kind)
        if segments:
            yield Drawn(tuple(segments), (name,), colour)

    def _taken_apart(self, entity: Any, own: tuple[str, str], depth: int) -> Iterator[Drawn]:
        kind = entity.dxftype()
        if kind == "INSERT":
            if entity.block() is None or entity.block().block.is_xref:
                self.left["external reference"] += 1
            elif depth >= _DEEPEST:
                raise _refused(
                    f"blocks are nested more than {_DEEPEST} deep.",
                    "Explode them in the drawing program.",
                )
            else:
                for part in _parts(entity):
                    yield from self.drawn(part, own, depth + 1)
            return
        if kind == "POLYLINE" and not entity.is_2d_polyline and not entity.is_3d_polyline:
            self.left[kind] += 1
            return
        if kind == "LWPOLYLINE" and entity.dxf.extrusion.isclose((0, 0, 1)):
            parts = list(_bows(entity.get_points("xyb"), self.scale, closed=entity.closed))
        else:
            parts = [
                seg
                for part in entity.virtual_entities()
                for seg in self._segments(part, part.dxftype())
            ]
        if parts:
            yield Drawn(tuple(parts), (own[0],), own[1])

    def _segments(self, entity: Any, kind: str) -> list[Segment]:
        if kind == "LINE":
            return _line(entity.dxf.start, entity.dxf.end, self.scale)
        if kind in ("ARC", "CIRCLE"):
            return _round(entity, self.scale)
        if kind in ("ELLIPSE", "SPLINE"):
            _in_reach(entity, self.scale)
            flat = list(entity.flattening(FLAT_MM / self.scale))
            return [seg for a, b in pairwise(flat) for seg in _line(a, b, self.scale)]
        self.left[kind] += 1
        return []


def _colour(entity: Any, layer: Any, block: str) -> str:
    """#rrggbb of an entity: its own, its layer's, or that of the block it stands in."""
    from ezdxf import colors

    if entity.dxf.hasattr("true_color"):
        return "#{:02x}{:02x}{:02x}".format(*colors.int2rgb(entity.dxf.true_color))
    index = int(entity.dxf.get("color", colors.BYLAYER))
    if index == colors.BYBLOCK:
        return block
    if index == colors.BYLAYER and layer is not None:
        if layer.dxf.hasattr("true_color"):
            return "#{:02x}{:02x}{:02x}".format(*colors.int2rgb(layer.dxf.true_color))
        index = abs(int(layer.dxf.color))
    if index in (7, 256) or not 1 <= index <= 255:  # 7 is black on white paper
        return "#000000"
    return "#{:02x}{:02x}{:02x}".format(*colors.aci2rgb(index))


def _in_reach(entity: Any, scale: float) -> None:
    """A curve of the size of a country has more chords than a computer has room for."""
    if entity.dxftype() == "SPLINE":
        points = [*entity.control_points, *entity.fit_points]
    else:
        points = [entity.dxf.center, entity.dxf.major_axis]
    if any(not abs(value) * scale <= FAR_MM for point in points for value in (point[0], point[1])):
        raise _refused("a curve is more than 100 m from the origin.", "Check the unit of the file.")


def _many(space: Any, known: dict[str, int], within: tuple[str, ...]) -> int:
    """Number of entities that a layout or block holds when all its blocks are taken apart; nothing
    is taken apart for it.
    """
    total = 0
    for entity in space:
        total += 1
        if entity.dxftype() != "INSERT" or entity.block() is None:
            continue
        name = entity.dxf.name
        if name in within:
            raise _refused(
                f'block "{name}" contains itself.',
                "Correct it in the drawing program, and save it again.",
            )
        if name not in known:
            known[name] = _many(entity.block(), known, (*within, name))
        total += known[name] * max(entity.mcount, 1)
    return total


def _parts(entity: Any) -> Iterator[Any]:
    """The entities that a block or polyline is made of; a block set in rows and columns as often as
    it is set.
    """
    if entity.dxftype() == "INSERT" and entity.mcount > 1:
        for single in entity.multi_insert():
            yield from single.virtual_entities()
    else:
        yield from entity.virtual_entities()


def _bows(corners: Sequence[Any], scale: float, *, closed: bool) -> Iterator[Segment]:
    """Lines and arcs of a polyline; a corner's bulge is the tangent of a quarter of the sweep that
    starts there.
    """
    places = [(x * scale, y * scale) for x, y, _ in corners]
    _finite(*places)
    follow = [*places[1:], *places[:1]] if closed else places[1:]
    for (ax, ay), (bx, by), (_, _, bulge) in zip(places, follow, corners, strict=False):
        if math.hypot(bx - ax, by - ay) <= JOIN_TOL_MM:
            continue
        if abs(bulge) < _STRAIGHT:
            yield Line((ax, ay), (bx, by))
            continue
        _finite((bulge, 0.0))
        sweep, lift = 4 * math.atan(bulge), (1 - bulge * bulge) / (4 * bulge)
        centre = ((ax + bx) / 2 - (by - ay) * lift, (ay + by) / 2 + (bx - ax) * lift)
        if abs(sweep) <= math.pi:
            yield Arc((ax, ay), centre, sweep)
        else:
            half = Arc((ax, ay), centre, sweep / 2)
            yield from (half, Arc(half.end, centre, sweep / 2))


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
