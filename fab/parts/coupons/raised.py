"""Raised letters: strokes widened to lines two extrusions wide, joined where they touch, as prisms
to fuse on.
"""

from __future__ import annotations

from fab.outlines.contour import Contour, Outline, Point, polygon
from fab.outlines.facets import without_repeats
from fab.outlines.strokes import Anchor, strokes
from fab.params.shop import Printer
from fab.parts.coupons.model import LETTER_H, line_mm, rise_mm
from fab.solids import kernel
from fab.solids.kernel import Solid

SINK = 0.3  # letters reach into the body by this, so that they fuse
_ROUND = 3  # chords per quarter of a line's round end
_FLAT = 0.02  # a letter's edge may stray this far, mm: a tenth of what a nozzle shows


def letters(
    text: str,
    at: Point,
    printer: Printer,
    *,
    anchor: Anchor = "middle",
    turn_deg: float = 0.0,
    high: float = LETTER_H,
) -> tuple[Outline, ...]:
    """Outlines of one line of text, `high` mm from the middle of its lowest to that of its highest
    line.
    """
    from shapely.geometry import LineString
    from shapely.ops import unary_union

    lines = [LineString(path) for path in strokes(text, high, anchor, at, turn_deg)]
    joined = unary_union(
        [line.buffer(line_mm(printer) / 2, quad_segs=_ROUND) for line in lines]
    ).simplify(_FLAT)
    shapes = [joined] if joined.geom_type == "Polygon" else list(joined.geoms)
    found = []
    for shape in sorted(shapes, key=lambda each: each.bounds):
        rings = [_ring(list(ring.coords)) for ring in (shape.exterior, *shape.interiors)]
        found.append(Outline(rings[0], tuple(rings[1:])))
    return tuple(found)


def _ring(coordinates: list[Point]) -> Contour:
    """A closed ring of the geometry library, whose last point repeats the first."""
    points = tuple((round(x, 4) + 0.0, round(y, 4) + 0.0) for x, y in coordinates[:-1])
    return polygon(without_repeats(points))


def raised(outlines: tuple[Outline, ...], z: float, printer: Printer) -> list[Solid]:
    """The letters as solids that stand on a face at height `z`."""
    return [kernel.prism(outline, z - SINK, z + rise_mm(printer)) for outline in outlines]
