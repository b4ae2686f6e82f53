"""Rests of a sheet that are worth keeping: new offcuts for the rack."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from fab.outlines.buffers import buffered
from fab.outlines.contour import Line, Point
from fab.outlines.facets import to_shapely, without_repeats
from fab.outlines.kerf import kerf_compensated
from fab.params.shop import Laser, Offcut, Stock
from fab.sheets.model import Layup, Piece
from fab.units import fixed

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

LEAST_WIDTH_MM = 80.0  # a strip narrower than this is waste
LEAST_AREA_MM2 = 15_000.0
_SIMPLE_MM = 1.0  # corners of a rest may move by this much, so that it has few


@dataclass(frozen=True)
class Rest:
    """A rest: the entry for the rack, and where its corner lies on the sheet it comes from."""

    offcut: Offcut
    x: float
    y: float
    area: float

    @property
    def outline(self) -> tuple[Point, ...]:
        """Corners in the frame of the sheet it comes from."""
        return tuple((px + self.x, py + self.y) for px, py in self.offcut.outline)

    @property
    def holes(self) -> tuple[tuple[Point, ...], ...]:
        """Holes of the rest in the frame of the sheet it comes from."""
        return tuple(
            tuple((px + self.x, py + self.y) for px, py in ring) for ring in self.offcut.holes
        )


def leftovers(
    layup: Layup,
    pieces: Sequence[Piece],
    *,
    gap_mm: float,
    kerf_mm: float,
    name: str,
    least_width_mm: float = LEAST_WIDTH_MM,
    least_area_mm2: float = LEAST_AREA_MM2,
) -> tuple[Rest, ...]:
    """The usable rests of a sheet, largest first, each a polygon that keeps the gap to every cut
    path.

    A place belongs to a rest when a disk of `least_width_mm` across that is free of cuts covers it;
    so bridges and slivers between parts are never counted. `name` is written on them
    ("name-rest-1").
    """
    import shapely

    by_name = {piece.name: piece for piece in pieces}
    cut = {p.piece: kerf_compensated(by_name[p.piece].outline, kerf_mm) for p in layup.placed}
    keep = max(gap_mm, kerf_mm) + _SIMPLE_MM
    taken = [
        buffered(to_shapely(p.outline(cut[p.piece]), 0.01, outside=True), keep)
        for p in layup.placed
    ]
    field = shapely.Polygon(layup.sheet.outline, layup.sheet.holes)
    found = [
        shape
        for part in polygons(field.difference(shapely.union_all(taken)))
        for shape in polygons(_usable(part, least_width_mm / 2, field))
        if shape.area >= least_area_mm2
    ]
    found.sort(key=lambda shape: (-round(shape.area, 3), shape.bounds))
    rests = [
        _rest(shape, layup.sheet.stock, f"{name}-rest-{k + 1}") for k, shape in enumerate(found)
    ]
    # a shape whose corners fold over each other when they are rounded is too ragged to keep
    return tuple(rest for rest in rests if shapely.Polygon(rest.outline, rest.holes).is_valid)


def rest_lines(
    layup: Layup, pieces: Sequence[Piece], laser: Laser, stock: Stock
) -> list[tuple[Line, ...]]:
    """The lines that cut the usable rests of a sheet free: their edges inside sheet and bed."""
    import shapely

    rests = leftovers(layup, pieces, gap_mm=laser.part_gap, kerf_mm=stock.kerf, name="")
    rings = [shapely.Polygon(rest.outline, rest.holes).boundary for rest in rests]
    if not rings:
        return []
    edge = shapely.Polygon(layup.sheet.outline, layup.sheet.holes).boundary
    inside = shapely.unary_union(rings).difference(buffered(edge, _SIMPLE_MM))
    inside = inside.intersection(shapely.box(0.0, 0.0, *laser.bed))
    runs = shapely.line_merge(inside)
    found = []
    for run in sorted(getattr(runs, "geoms", [runs]), key=lambda one: one.bounds):
        if run.is_empty:
            continue
        points = _to_edge([(float(x), float(y)) for x, y in run.coords], edge)
        lines = tuple(Line(a, b) for a, b in pairwise(points) if a != b)
        if lines:
            found.append(lines)
    return found


def _to_edge(points: list[Point], edge: BaseGeometry) -> list[Point]:
    """The run with those of its ends that lie near the edge of the sheet drawn on to it."""
    import shapely

    if points[0] == points[-1]:
        return points
    ends = []
    for end, before in ((points[0], points[1]), (points[-1], points[-2])):
        far = math.dist(end, before)
        x, y = ((end[k] - before[k]) / far * 3 * _SIMPLE_MM for k in (0, 1))
        on = shapely.LineString([end, (end[0] + x, end[1] + y)]).intersection(edge)
        ends.append(() if on.is_empty else ((float(on.centroid.x), float(on.centroid.y)),))
    return [*ends[0], *points, *ends[1]]


def _usable(free: BaseGeometry, radius: float, field: BaseGeometry) -> BaseGeometry:
    """Opening with a disk, corners kept sharp where the region's own are; then fewer corners.

    Simplifying moves corners by less than `_SIMPLE_MM`, which was kept free beyond the gap.
    """
    core = buffered(free, -radius, join_style="mitre", mitre_limit=2.0)
    if core.is_empty:
        return core
    opened = buffered(core, radius, join_style="mitre", mitre_limit=2.0).intersection(free)
    return opened.simplify(_SIMPLE_MM * 0.9).intersection(field)


def polygons(shape: BaseGeometry) -> list[BaseGeometry]:
    """The polygons of any shapely value."""
    if shape.is_empty:
        return []
    if shape.geom_type == "Polygon":
        return [shape]
    return [
        part
        for part in getattr(shape, "geoms", ())
        if part.geom_type == "Polygon" and not part.is_empty
    ]


def _rest(shape: BaseGeometry, stock: str, name: str) -> Rest:
    left, low = (
        math.ceil(shape.bounds[0] * 10 - 1e-6) / 10,
        math.ceil(shape.bounds[1] * 10 - 1e-6) / 10,
    )

    def ring(coords: BaseGeometry) -> tuple[Point, ...]:
        points = [(round(x - left, 1) + 0.0, round(y - low, 1) + 0.0) for x, y in list(coords)[:-1]]
        return without_repeats(tuple((max(x, 0.0), max(y, 0.0)) for x, y in points))

    shape = shape.normalize()
    outline = ring(shape.exterior.coords)
    holes = tuple(ring(hole.coords) for hole in shape.interiors)
    return Rest(
        Offcut(stock=stock, outline=outline, holes=holes, count=1, name=name), left, low, shape.area
    )


HEAD = (
    "# offcuts of this job: write its name on each, and copy the tables into the shop file, or"
    " use --book\n"
)


def offcuts_toml(offcuts: Sequence[Offcut], head: str = HEAD) -> str:
    """The rests as `[[offcut]]` tables, ready for the shop file."""
    if not offcuts:
        return "# no offcut is large enough to keep\n"
    tables = [head] if head else []
    for offcut in offcuts:
        tables.append(
            f"[[offcut]]\nname = {_quoted(offcut.name)}\nstock = {_quoted(offcut.stock)}\ncount ="
            f" {offcut.count}\noutline = {_ring(offcut.outline)}\n"
            + (
                f"holes = [{', '.join(_ring(hole) for hole in offcut.holes)}]\n"
                if offcut.holes
                else ""
            )
        )
    return "\n".join(tables)


def _ring(ring: Sequence[Point]) -> str:
    return "[" + ", ".join(f"[{fixed(x, 1)}, {fixed(y, 1)}]" for x, y in ring) + "]"


def _quoted(text: str) -> str:
    """A TOML basic string."""
    return json.dumps(text)
