"""The lines that a printer lays for one object, counted layer by layer: the length of every kind.

    outer    the line along every wall's face
    inner    the lines behind it, up to `perimeters` in all, and what fills the gap between two
             faces
    skin     solid fill under a top and over a floor, `skin_layers` deep
    bridge   the skin's first layer over air
    span     the skin's first layer over the loose fill: a bridge from line to line of it
    loose    the inside, filled by `infill` only

A line of width w and height h has the cross-section of `bead_mm2`: flat above and below, round at
both sides. Lines lie closer than they are wide (`spacing_mm`), so that no air is left between them.
A bridge hangs in the air: its lines are round threads of the nozzle's bore.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

from fab.errors import BrokenGeometry
from fab.params.shop import Printer
from fab.prints.sections import Sections, sections
from fab.solids.mesh import Mesh

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

AIR = -1  # in place of the number of a section: nothing is there
NARROW = 1  # lines: nothing loose is laid where not even one line has room
SHARP_DEG = 20.0  # the nozzle brakes at a corner that turns by more; common practice, no source
# The shortest way through n points drawn at random in an area A is near 0.7124 sqrt(n A). Source:
# Beardwood, Halton, Hammersley, Proc. Camb. Phil. Soc. 55 (1959) 299; the constant by Johnson and
# McGeoch (1996).
TOUR = 0.7124


@dataclass(frozen=True)
class Lines:
    """Lengths of the lines of one object or one layer, mm, and how often the nozzle stops on them.

    `loose_mm` is what a solid fill of the loose part would take; `rim_mm` the length of that part's
    edge.
    """

    outer_mm: float = 0.0
    inner_mm: float = 0.0
    skin_mm: float = 0.0
    bridge_mm: float = 0.0
    span_mm: float = 0.0
    loose_mm: float = 0.0
    rim_mm: float = 0.0
    travel_mm: float = 0.0
    outer_stops: float = 0.0
    inner_stops: float = 0.0
    skin_stops: float = 0.0
    bridge_stops: float = 0.0
    span_stops: float = 0.0
    starts: float = 0.0  # lines that begin after a travel

    def __add__(self, other: Lines) -> Lines:
        return Lines(*(getattr(self, f.name) + getattr(other, f.name) for f in fields(self)))

    def __mul__(self, count: float) -> Lines:
        return Lines(*(getattr(self, f.name) * count for f in fields(self)))


@dataclass(frozen=True)
class LayerCount:
    """One object: its layer on the bed, and all others together."""

    first: Lines
    rest: Lines

    def __mul__(self, count: float) -> LayerCount:
        return LayerCount(self.first * count, self.rest * count)


def bead_mm2(width_mm: float, layer_mm: float) -> float:
    """Cross-section of one printed line: flat above and below, round at both sides.

    From memory, common in slicing.
    """
    if width_mm < layer_mm:
        raise BrokenGeometry(f"a line {width_mm} mm wide cannot be {layer_mm} mm high")
    return (width_mm - layer_mm) * layer_mm + math.pi * layer_mm**2 / 4


def spacing_mm(printer: Printer) -> float:
    """Distance of two neighbouring lines that leave no air between them."""
    return bead_mm2(printer.extrusion_width, printer.layer) / printer.layer


def layer_count(mesh: Mesh, printer: Printer) -> LayerCount:
    """Lines of a closed mesh that stands on Z = 0, with this printer's widths, walls and skins."""
    found = sections(mesh, printer.layer)
    if not found.number:
        raise BrokenGeometry("an object without a layer cannot be printed")
    keys = _keys(found, printer.skin_layers)
    walls = [_walls(shape, printer) for shape in found.shapes]
    room_mm = NARROW * spacing_mm(printer)
    loose = {key: _loose(walls[key[0]][1], found, key, room_mm) for key in dict.fromkeys(keys)}
    first, rest = Lines(), Lines()
    for (key, under), often in Counter(zip(keys, [None, *keys], strict=False)).items():
        outline, inside = walls[key[0]]
        shape = found.shapes[key[0]]
        solid = inside.difference(loose[key])
        beneath = None if under is None else (found.shapes[under[0]], loose[under])
        lines = outline + _skins(solid, shape, beneath, printer) + _filling(loose[key], printer)
        lines += Lines(travel_mm=TOUR * math.sqrt(lines.starts * _box_mm2(shape)))
        if under is None:
            first += lines
        else:
            rest += lines * often
    return LayerCount(first, rest)


Key = tuple[int, tuple[int, ...], tuple[int, ...]]


def _keys(found: Sections, skin_layers: int) -> list[Key]:
    """For each layer its section, and those below and above that decide how deep its skins are, the
    nearest first.
    """
    number, keys = found.number, []
    for k, here in enumerate(number):
        below = [*reversed(number[max(k - skin_layers, 0) : k])]
        above = [*number[k + 1 : k + 1 + skin_layers]]
        below += [AIR] * (len(below) < skin_layers)
        above += [AIR] * (len(above) < skin_layers)
        keys.append((here, tuple(dict.fromkeys(below)), tuple(dict.fromkeys(above))))
    return keys


def _walls(shape: BaseGeometry, printer: Printer) -> tuple[Lines, BaseGeometry]:
    """Lines along the walls of a section, and the region inside them."""
    width, step = printer.extrusion_width, spacing_mm(printer)
    outer = _path(shape.buffer(-width / 2, join_style="mitre"))
    lines = [
        _path(shape.buffer(-width / 2 - k * step, join_style="mitre"))
        for k in range(1, printer.perimeters)
    ]
    depth = (width + step) / 2 + (printer.perimeters - 1) * step
    inside = shape.buffer(-depth, join_style="mitre")
    # what is between two faces is filled whole, also where no whole number of lines goes in
    rim = shape.length * (width - step) / 2
    filled = max(shape.area - inside.area - rim, 0.0) / step
    inner = max(filled - outer.length, 0.0)
    inner_stops = sum(line.corners for line in lines)
    starts = outer.rings + sum(line.rings for line in lines)
    found = Lines(
        outer_mm=outer.length,
        inner_mm=inner,
        outer_stops=outer.corners,
        inner_stops=inner_stops,
        starts=starts,
    )
    return found, inside


def _loose(inside: BaseGeometry, found: Sections, key: Key, room_mm: float) -> BaseGeometry:
    """The part of the inside that `skin_layers` sections above and below cover, and that so needs
    no solid fill.

    Where it is narrower than `room_mm` it is filled solid all the same.
    """
    import shapely

    here, below, above = key
    others = {*below, *above} - {here}
    if AIR in others:
        return shapely.Polygon()
    for other in others:
        inside = inside.intersection(found.shapes[other])
    return inside.buffer(-room_mm / 2).buffer(room_mm / 2).intersection(inside)


def _skins(
    solid: BaseGeometry,
    here: BaseGeometry,
    beneath: tuple[BaseGeometry, BaseGeometry] | None,
    printer: Printer,
) -> Lines:
    """Solid fill of one layer with the section `here`; `beneath` are the section and the loose
    region of the layer below.
    """
    import shapely

    step, wide = spacing_mm(printer), printer.extrusion_width
    nothing: BaseGeometry = shapely.Polygon()
    bridge, span = nothing, nothing
    if beneath is not None and not solid.is_empty:
        section, loose = beneath
        span = solid.intersection(loose)
        if section is not here:  # over its own section nothing hangs in the air
            bridge = solid.difference(section)
    skin = max(solid.area - bridge.area - span.area, 0.0)
    share = skin / solid.area if solid.area > 0 else 0.0
    return Lines(
        skin_mm=skin / step,
        bridge_mm=bridge.area / wide,
        span_mm=span.area / wide,
        skin_stops=_strokes(solid, step) * share,
        bridge_stops=_strokes(bridge, wide),
        span_stops=_strokes(span, wide),
        starts=_pieces(solid, step),
    )


def _filling(loose: BaseGeometry, printer: Printer) -> Lines:
    """The loose fill of one layer."""
    return Lines(
        loose_mm=loose.area / spacing_mm(printer),
        rim_mm=loose.length,
        starts=_pieces(loose, spacing_mm(printer)),
    )


@dataclass(frozen=True)
class _Path:
    length: float
    corners: int
    rings: int


def _path(region: BaseGeometry) -> _Path:
    """Length of a region's edges, their sharp corners and their number."""
    import numpy as np
    import shapely

    rings = shapely.get_rings(shapely.get_parts(region))
    corners = 0
    for ring in rings:
        points = shapely.get_coordinates(ring)
        way = np.diff(points, axis=0)
        heading = np.arctan2(way[:, 1], way[:, 0])
        turn = np.abs((np.roll(heading, -1) - heading + np.pi) % (2 * np.pi) - np.pi)
        corners += int((turn > math.radians(SHARP_DEG)).sum())
    return _Path(float(region.length), corners, len(rings))


def _strokes(region: BaseGeometry, step: float) -> float:
    """Straight lines that fill a region: its mean width across all directions over their distance,
    piece by piece.

    Mean width of a convex region: perimeter over pi (Cauchy). Regions that are not convex are cut
    into more lines.
    """
    return float(region.length) / math.pi / step


def _pieces(region: BaseGeometry, step: float) -> int:
    """Parts of a region large enough to be filled: nothing smaller than a line is wide is laid."""
    import shapely

    return sum(1 for part in shapely.get_parts(region) if part.area > step**2)


def _box_mm2(shape: BaseGeometry) -> float:
    if shape.is_empty:
        return 0.0
    x0, y0, x1, y1 = shape.bounds
    return float((x1 - x0) * (y1 - y0))
