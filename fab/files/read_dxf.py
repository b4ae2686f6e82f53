"""Lines and arcs in mm out of a DXF: blocks taken apart, layers that are off left out."""

from __future__ import annotations

import io
import math
from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import islice, pairwise
from typing import Any

from fab.errors import InputError, refused
from fab.files.drawn import FLAT_MM, Drawn
from fab.files.line_count import BINARY, dxf_entities, dxf_places, too_many
from fab.outlines.contour import Arc, Line, Point, Segment
from fab.units import JOIN_TOL_MM

FAR_MM = 100_000.0
_STRAIGHT = 1e-9  # bulge of a bow that no file can tell from a line
_DEEPEST = 16  # blocks in blocks
_MOST_FIT_POINTS = 3_000  # of a spline without control points: 200 MB
_LEAST_CHORDS = 4  # of ezdxf's flattening, from knot to knot
_CORNERS = {"LINE": 1, "ARC": 2, "CIRCLE": 4}  # an arc counts twice
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


def dxf_drawn(data: bytes, unit_mm: float | None, most: int) -> tuple[list[Drawn], list[str]]:
    """Runs in mm, and notes. Raises InputError for what can't be read, and for too many lines."""
    from ezdxf import recover
    from ezdxf.lldxf.const import DXFError

    if (places := dxf_places(data)) > most:
        raise too_many(places, most)
    if (entities := dxf_entities(data)) > MOST_PARTS:
        says = (
            f"it holds {entities:,} single lines, arcs and corners; at most {MOST_PARTS:,} are"
            " read."
        )
        raise refused(says, "Join them to polylines of DXF R2000, or simplify the drawing.")
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
    except Exception as error:
        # a damaged file of a stranger brings the library to any of its own assertions
        why = str(error) if isinstance(error, (OSError, DXFError, ValueError)) else "it is damaged"
        says = f"this is neither a DXF nor an SVG that can be read ({why})."
        raise refused(says, "Export it as DXF R2000 or plain SVG.") from None


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


def _of_document(document: Any, unit_mm: float | None, most: int) -> tuple[list[Drawn], list[str]]:
    units = int(document.header.get("$INSUNITS", 0))
    notes = []
    if units not in _UNITS and unit_mm is None:
        notes.append("no usable unit in the file: read as millimetres")
    scale = _UNITS.get(units, 1.0) if unit_mm is None else unit_mm
    reader = _Entities(document, scale, most)
    parts, least = reader.many(document.modelspace(), {}, ())
    if parts > MOST_PARTS:
        says = (
            f"with its blocks taken apart it has more than {MOST_PARTS:,} lines: blocks in blocks"
            " without end."
        )
        raise refused(says, "Explode them in the drawing program, and save it again.")
    if least > most:
        raise too_many(least, most, at_least=True)
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

    def __init__(self, document: Any, scale: float, most: int) -> None:
        self.scale, self.most = scale, most
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

    def many(
        self, space: Any, known: dict[str, tuple[int, int]], within: tuple[str, ...]
    ) -> tuple[int, int]:
        """Entities of a layout or block with all its blocks, and their corners or fewer, without
        taking any apart.
        """
        if len(within) > _DEEPEST:
            raise refused(
                f"blocks are nested more than {_DEEPEST} deep.",
                "Explode them in the drawing program.",
            )
        parts = corners = 0
        for entity in space:
            parts += 1
            layer = self.layers.get(entity.dxf.layer.casefold())
            if entity.dxf.get("invisible", 0) or (layer is not None and layer.is_frozen()):
                continue
            times, one = 1, (0, _CORNERS.get(entity.dxftype(), 0))
            if entity.dxftype() == "LWPOLYLINE":
                one = (0, len(entity) - 1)
            elif entity.dxftype() == "SPLINE":
                one = (0, _chords(entity))
            elif entity.dxftype() == "INSERT" and entity.block() is not None:
                times, name = max(entity.mcount, 1), entity.dxf.name
                if name in within:
                    raise refused(
                        f'block "{name}" contains itself.',
                        "Correct it in the drawing program, and save it again.",
                    )
                if name not in known:
                    known[name] = self.many(entity.block(), known, (*within, name))
                one = known[name]
            parts += times * one[0]
            if layer is None or not layer.is_off():
                corners += times * one[1]
        return parts, corners

    def _taken_apart(self, entity: Any, own: tuple[str, str], depth: int) -> Iterator[Drawn]:
        kind = entity.dxftype()
        if kind == "INSERT":
            if entity.block() is None or entity.block().block.is_xref:
                self.left["external reference"] += 1
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
            flat = list(islice(entity.flattening(FLAT_MM / self.scale), self.most + 2))
            if len(flat) > self.most + 1:
                raise too_many(len(flat) - 1, self.most, at_least=True)
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


def _chords(spline: Any) -> int:
    """Chords of a spline, or fewer: the library makes four at least from knot to knot.

    Raises InputError for one through many points: the library solves for its control points with
    a full matrix, which took all memory of the machine.
    """
    if not len(spline.control_points):
        if (points := len(spline.fit_points)) > _MOST_FIT_POINTS:
            raise refused(
                f"a spline goes through {points:,} points; at most {_MOST_FIT_POINTS:,} are read.",
                "Save it with control points, or as a polyline.",
            )
        return _LEAST_CHORDS * max(points - 1, 0)
    knots = {round(knot, 6) for knot in spline.knots}
    spans = len(knots) - 1 if knots else len(spline.control_points) - spline.dxf.degree
    return _LEAST_CHORDS * max(spans, 0)


def _in_reach(entity: Any, scale: float) -> None:
    """A curve of the size of a country has more chords than a computer has room for."""
    if entity.dxftype() == "SPLINE":
        points = [*entity.control_points, *entity.fit_points]
    else:
        points = [entity.dxf.center, entity.dxf.major_axis]
    if any(not abs(value) * scale <= FAR_MM for point in points for value in (point[0], point[1])):
        raise refused("a curve is more than 100 m from the origin.", "Check the unit of the file.")


def _parts(entity: Any) -> Iterator[Any]:
    """The entities of a block or polyline; a block in rows and columns as often as it is set."""
    if entity.dxftype() == "INSERT" and entity.mcount > 1:
        for single in entity.multi_insert():
            yield from single.virtual_entities()
    else:
        yield from entity.virtual_entities()


def _bows(corners: Sequence[Any], scale: float, *, closed: bool) -> Iterator[Segment]:
    """Lines and arcs of a polyline; a bulge is the tangent of a quarter of the next sweep."""
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
        raise refused("a coordinate is not a number.", "Export the drawing again.")
