"""No-fit regions: where one piece's origin may not lie because of another piece, or of the sheet's
edge.

A piece is cut into convex bits; the forbidden translations of B against A are the union of the
convex sums of A's bits with B's bits mirrored through the origin, swollen by the gap. Parts may lie
in holes and bays of others: where B fits into a hole of A, the union has a hole. Needs shapely 2.1
or newer.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cached_property
from typing import TYPE_CHECKING

from fab.outlines.buffers import buffered, joined
from fab.outlines.contour import Arc, Outline, Point
from fab.outlines.facets import facets, without_repeats
from fab.sheets.convex import is_convex, minkowski
from fab.sheets.model import Sheet
from fab.sheets.paths import Path

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

SEARCH_TOL_MM = 0.01  # facets of the search; the audit proves the true curves
TOUCH_MM = 1e-4  # parts may miss the gap by this, so that what fits exactly is found
_MOST_FACETS = 64  # of a circle in a piece that has to be cut into convex bits
_MOST_CORNERS = 90  # of a piece in the search
_MOST_COARSE = 1e-3  # share of its length by which a coarse outline may stand off
_QUAD_SEGS = 16  # chords per quarter turn of a swollen corner
# Puts those chords outside the true curve. The library rounds their number, so one may turn by half
# as much again.
_SWELL = 1.0 / math.cos(1.5 * math.pi / (4 * _QUAD_SEGS))

Pose = tuple[float, float, float]


class Shape:
    """One piece at one turn, its origin where the piece's frame has it.

    Holes smaller than `least_hole_mm2` are closed: when no piece of a job fits into one, it only
    costs time.
    """

    def __init__(self, path: Path, turn_deg: float, least_hole_mm2: float = 0.0) -> None:
        self.path, self.turn_deg = path, turn_deg
        outline: Outline = (
            path.outline if turn_deg == 0 else path.outline.turned(math.radians(turn_deg))
        )
        self.box = outline.edge.box
        self.area = outline.area_mm2
        outline = Outline(
            outline.edge, tuple(hole for hole in outline.holes if -hole.area_mm2 >= least_hole_mm2)
        )
        coarse = _coarse(outline) if outline.holes or path.convex is None else SEARCH_TOL_MM
        edge = without_repeats(facets(outline.edge, coarse, outside=True))
        holes = tuple(without_repeats(facets(hole, coarse, outside=True)) for hole in outline.holes)
        self.edge, self.holes = few_corners(edge, holes)

    @property
    def key(self) -> tuple[str, float]:
        """Name and turn: what no-fit regions are kept by."""
        return (self.path.piece.name, self.turn_deg)

    @property
    def width(self) -> float:
        """Width of the box, mm."""
        return self.box[2] - self.box[0]

    @property
    def height(self) -> float:
        """Height of the box, mm."""
        return self.box[3] - self.box[1]

    @cached_property
    def polygon(self) -> BaseGeometry:
        """The shape with its holes as the geometry library has it."""
        import shapely

        return shapely.Polygon(self.edge, self.holes)

    @cached_property
    def bits(self) -> tuple[tuple[Point, ...], ...]:
        """Convex bits, anticlockwise, that make up the material."""
        if not self.holes and is_convex(self.edge):
            return (self.edge,)
        return convex_bits(self.polygon)


def _coarse(outline: Outline) -> float:
    """A facet tolerance that keeps curved pieces with holes or bays affordable."""
    radii = [
        seg.radius_mm for loop in outline.contours for seg in loop.segments if isinstance(seg, Arc)
    ]
    return max(SEARCH_TOL_MM, max(radii, default=0.0) * (1 / math.cos(math.pi / _MOST_FACETS) - 1))


Ring = tuple[Point, ...]


def few_corners(edge: Ring, holes: tuple[Ring, ...]) -> tuple[Ring, tuple[Ring, ...]]:
    """The same region, or one that holds it and has at most `_MOST_CORNERS` corners; small holes
    may close.

    Imported outlines can have a million corners; the search needs a few, the audit takes them all.
    """
    if len(edge) + sum(map(len, holes)) <= _MOST_CORNERS:
        return edge, holes
    import shapely

    region = buffered(shapely.Polygon(edge, holes), 0)
    tol = SEARCH_TOL_MM
    while True:
        coarse = buffered(region, tol, join_style="mitre", mitre_limit=2.0).simplify(tol)
        if (
            shapely.get_num_coordinates(coarse) <= _MOST_CORNERS
            or tol > _MOST_COARSE * region.length
        ):
            break
        tol *= 2
    if coarse.geom_type != "Polygon":
        return edge, holes
    return _ring(coarse), tuple(_loop(hole)[::-1] for hole in coarse.interiors)


def convex_bits(region: BaseGeometry) -> tuple[tuple[Point, ...], ...]:
    """A shapely polygon cut into convex bits: triangles, merged while they stay convex (Hertel and
    Mehlhorn's way).
    """
    import shapely

    triangles = [
        _ring(t) for t in shapely.constrained_delaunay_triangles(region).geoms if t.area > 1e-9
    ]
    bits: dict[int, tuple[Point, ...]] = dict(enumerate(triangles))
    sides: dict[tuple[Point, Point], int] = {}
    for k, bit in bits.items():
        for side in zip(bit, (*bit[1:], bit[0]), strict=True):
            sides[side] = k
    # long inner sides first: they leave the fewest, fattest bits
    inner = sorted(
        (s for s in sides if s < s[::-1] and s[::-1] in sides), key=lambda s: (-math.dist(*s), s)
    )
    for a, b in inner:
        k, j = sides[(a, b)], sides[(b, a)]
        if k == j:
            continue
        merged = _merged(bits[k], bits[j], a, b)
        if merged is None:
            continue
        del bits[j]
        bits[k] = merged
        for side in zip(merged, (*merged[1:], merged[0]), strict=True):
            sides[side] = k
    return tuple(bits.values())


def _ring(polygon: BaseGeometry) -> Ring:
    return _loop(polygon.exterior)


def _loop(ring: BaseGeometry) -> Ring:
    """A shapely ring anticlockwise, not closed."""
    import shapely

    points = list(ring.coords)[:-1]
    if not shapely.is_ccw(ring):
        points.reverse()
    return tuple((float(x), float(y)) for x, y in points)


def _merged(
    first: tuple[Point, ...], second: tuple[Point, ...], a: Point, b: Point
) -> tuple[Point, ...] | None:
    """Two bits joined along their side a-b (b-a of the second), or None when that is not convex."""
    i, j = first.index(b), second.index(a)
    ring = (first[i:] + first[:i])[:-1] + (second[j:] + second[:j])[:-1]
    return ring if is_convex(ring) else None


class NoFit:
    """Forbidden regions of all pairs, worked out when first asked for."""

    def __init__(self, gap_mm: float) -> None:
        self.gap_mm = gap_mm
        self._pairs: dict[tuple[object, object], BaseGeometry] = {}
        self._fields: dict[tuple[object, object], BaseGeometry] = {}

    def pair(self, fixed: Shape, moving: Shape) -> BaseGeometry:
        """Open region that the origin of `moving` must avoid, with that of `fixed` at (0, 0)."""
        key = (fixed.key, moving.key)
        if key not in self._pairs:
            turned = self._pairs.get((moving.key, fixed.key))
            if turned is not None:
                import shapely

                self._pairs[key] = shapely.transform(turned, lambda c: -c)
            else:
                self._pairs[key] = self._swollen(_sums(fixed.bits, moving.bits))
        return self._pairs[key]

    def _swollen(self, region: BaseGeometry) -> BaseGeometry:
        if self.gap_mm > 0:
            return buffered(region, self.gap_mm * _SWELL - TOUCH_MM, quad_segs=_QUAD_SEGS)
        return buffered(region, -TOUCH_MM, join_style="mitre")

    def field(self, sheet: Sheet, moving: Shape) -> BaseGeometry:
        """Region for the origin of `moving` on an empty sheet; possibly empty."""
        import shapely

        key = ((sheet.outline, sheet.holes, sheet.margin), moving.key)
        if key not in self._fields:
            left, low, right, top = moving.box
            m = sheet.margin - TOUCH_MM / 2
            box = (m - left, m - low, sheet.width - m - right, sheet.height - m - top)
            if box[2] <= box[0] or box[3] <= box[1]:
                self._fields[key] = shapely.Polygon()
            elif sheet.is_rectangle:
                self._fields[key] = shapely.box(*box)
            else:
                self._fields[key] = shapely.box(*box).difference(
                    _sums(_outside(sheet, m), moving.bits)
                )
        return self._fields[key]


def _sums(fixed: Sequence[Sequence[Point]], moving: Sequence[Sequence[Point]]) -> BaseGeometry:
    import shapely

    mirrored = [[(-x, -y) for x, y in bit] for bit in moving]
    sums = [shapely.Polygon(minkowski(a, b)) for a in fixed for b in mirrored]
    return sums[0] if len(sums) == 1 else joined(sums)


def _outside(sheet: Sheet, margin: float) -> tuple[tuple[Point, ...], ...]:
    """Convex bits of all that a cut path must not enter: round the sheet, its margin, holes and bad
    spots.
    """
    import shapely

    free = buffered(shapely.Polygon(sheet.outline, sheet.holes), 0)
    if margin > 0:
        free = buffered(free, -margin * _SWELL, quad_segs=_QUAD_SEGS)
    frame = shapely.box(-1.0, -1.0, sheet.width + 1.0, sheet.height + 1.0).difference(free)
    parts = [frame] if frame.geom_type == "Polygon" else list(frame.geoms)
    return tuple(bit for part in parts for bit in convex_bits(part))
