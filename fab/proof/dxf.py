"""DXF read by its group codes: units, layers, and the paths of the drawing.

No library, and none of the writer's.

Pairs of lines: a group code, a value. Source: the DXF reference, ENTITIES section. Entities that
cut nothing (text, points) are passed over; a block reference is refused, because what it draws
stands elsewhere.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from fab.proof.paths import CutPath, Segment, closed_if_it_is, round_path
from fab.proof.tree import Unreadable

MOST_ENTITIES = 500_000
UNITS_MM = {"": 1.0, "0": 1.0, "1": 25.4, "4": 1.0, "5": 10.0, "6": 1000.0}  # $INSUNITS
QUIET = {"TEXT", "MTEXT", "POINT", "DIMENSION", "VIEWPORT", "ATTDEF", "ATTRIB"}


@dataclass
class Entity:
    """One entity: its kind and its groups in the file's order; `line` is where it starts."""

    kind: str
    line: int
    groups: list[tuple[int, str]] = field(default_factory=list)

    def text(self, code: int, other: str = "") -> str:
        """The first value under a group code, `other` when there is none."""
        return next((value for key, value in self.groups if key == code), other)

    def number(self, code: int, other: float = 0.0) -> float:
        """The first value under a group code as a number. Raises ValueError for other text."""
        return float(self.text(code, str(other)))


def read_dxf(path: str, data: bytes) -> list[CutPath]:
    """All paths of a drawing, in mm. Raises Unreadable with the line."""
    lines = data.decode("latin-1").replace("\r\n", "\n").split("\n")
    entities, units = _entities(path, lines)
    scale = UNITS_MM.get(units)
    if scale is None:
        raise Unreadable(path, f"has $INSUNITS = {units}, which is no unit of length known here")
    found: list[CutPath] = []
    polyline: Entity | None = None
    vertices: list[Entity] = []
    for entity in entities:
        try:
            if entity.kind == "POLYLINE":
                polyline, vertices = entity, []
            elif entity.kind == "VERTEX":
                vertices.append(entity)
            elif entity.kind == "SEQEND":
                if polyline is not None:
                    corners = [(v.number(10), v.number(20), v.number(42)) for v in vertices]
                    found += _joined(polyline, corners)
                polyline = None
            else:
                found += _paths(entity)
        except (ValueError, ZeroDivisionError) as error:
            raise Unreadable(
                path, f"line {entity.line}: {entity.kind} cannot be read ({error})"
            ) from error
    for one in found:
        if not all(math.isfinite(value) for segment in one.segments for value in segment):
            raise Unreadable(path, "has a coordinate that is not a number")
    return found if scale == 1.0 else [_scaled(one, scale) for one in found]


def _entities(path: str, lines: list[str]) -> tuple[list[Entity], str]:
    found: list[Entity] = []
    section, units, wanted = "", "", ""
    for at in range(0, len(lines) - 1, 2):
        code, value = lines[at].strip(), lines[at + 1].strip()
        if not code.lstrip("-").isdigit():
            raise Unreadable(path, f"line {at + 1}: {code[:20]!r} is no group code")
        key = int(code)
        if key == 0 and value == "SECTION":
            section = "?"
        elif key == 0 and value == "ENDSEC":
            section = ""
        elif section == "?" and key == 2:
            section = value
        elif section == "HEADER" and key == 9:
            wanted = value
        elif section == "HEADER" and wanted == "$INSUNITS" and key == 70:
            units = value
        elif section == "ENTITIES" and key == 0:
            found.append(Entity(value, at + 1))
        elif section == "ENTITIES" and found:
            found[-1].groups.append((key, value))
        if len(found) > MOST_ENTITIES:
            raise Unreadable(path, f"has more than {MOST_ENTITIES} entities")
    if section or not any(line.strip() == "EOF" for line in lines[-4:]):
        raise Unreadable(path, f"ends in the middle (line {len(lines)})")
    return found, units


def _paths(entity: Entity) -> list[CutPath]:
    layer = entity.text(8)
    if entity.kind == "LWPOLYLINE":
        corners: list[tuple[float, float, float]] = []
        for key, value in entity.groups:
            if key == 10:
                corners.append((float(value), 0.0, 0.0))
            elif key == 20 and corners:
                corners[-1] = (corners[-1][0], float(value), corners[-1][2])
            elif key == 42 and corners:
                corners[-1] = (*corners[-1][:2], float(value))
        return _joined(entity, corners)
    if entity.kind == "CIRCLE":
        return [round_path(layer, entity.number(10), entity.number(20), entity.number(40))]
    if entity.kind == "LINE":
        ends = (entity.number(10), entity.number(20), entity.number(11), entity.number(21), 0.0)
        return [CutPath(layer, (ends,), False)]
    if entity.kind == "ARC":
        x, y, radius = (entity.number(code) for code in (10, 20, 40))
        start, end = math.radians(entity.number(50)), math.radians(entity.number(51))
        bulge = math.tan(((end - start) % (2 * math.pi)) / 4)
        at = [(x + radius * math.cos(a), y + radius * math.sin(a)) for a in (start, end)]
        return [CutPath(layer, ((*at[0], *at[1], bulge),), False)]
    if entity.kind in QUIET:
        return []
    raise ValueError("such an entity does not belong in a cut file")


def _joined(entity: Entity, corners: list[tuple[float, float, float]]) -> list[CutPath]:
    if len(corners) < 2:
        return []
    closed = int(entity.number(70)) & 1 == 1
    pairs = list(zip(corners, [*corners[1:], corners[0]] if closed else corners[1:], strict=False))
    segments: list[Segment] = [(a[0], a[1], b[0], b[1], a[2]) for a, b in pairs]
    real = [segment for segment in segments if math.dist(segment[:2], segment[2:4]) > 1e-9]
    return [closed_if_it_is(entity.text(8), real, said=closed)] if real else []


def _scaled(one: CutPath, by: float) -> CutPath:
    segments = tuple((a * by, b * by, c * by, d * by, bulge) for a, b, c, d, bulge in one.segments)
    return CutPath(one.layer, segments, one.closed)
