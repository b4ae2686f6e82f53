"""The most lattice cells wholly inside a region, found exactly for each turn of the lattice.

A cell lies inside when its middle lies in the region less half a cell (its erosion). All cells'
share of the erosion,
moved into one mesh of the lattice, overlap there; an offset of the lattice takes as many cells as
overlap at it. The
overlaps change at the boundaries only, so one point of each face between the boundaries tells all
there is.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from fab.layout.model import Cell, PlacedPanel
from fab.layout.place import lattice_pose
from fab.outlines.buffers import buffered, joined
from fab.outlines.contour import Point, turn
from fab.params.wallmap import At, pieces_of

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

TOUCH_MM = 0.01  # an outline that is drawn along the cells takes them
SIMPLER_MM = 0.002  # part of that by which an outline's lines may move, so that they are fewer
GRID_MM = 1e-5  # of the lines between the faces: far below what TOUCH_MM leaves between them
MOST_FACES = 24  # best faces that are compared for the number of groups
TURNS = {6: 60, 4: 90, 3: 60}  # after which a lattice looks the same


@dataclass(frozen=True)
class Filled:
    """Cells inside a region, and how the lattice lies in it."""

    cells: tuple[At, ...] = ()
    turn_deg: float = 0.0
    offset: Point = (0.0, 0.0)  # where the origin of the lattice lies in the region's frame
    groups: int = 0


def fill(region: BaseGeometry, cell: Cell, turns_deg: Iterable[float] = (0.0,)) -> Filled:
    """The most cells wholly inside a shapely region, over all offsets and the given turns.

    Of several with as many cells, those in fewer groups win, then the first turn. Nothing fits: no
    cells, 0 groups.
    """
    best = Filled()
    room = _room(region)
    for angle in turns_deg:
        found = _filled(room, cell, angle)
        if (len(found.cells), -found.groups) > (len(best.cells), -best.groups):
            best = found
    return best


def largest(region: BaseGeometry, cell: Cell, turns_deg: Sequence[float] = (0.0,)) -> float:
    """The largest cell that fits, as a share of `cell`; at most 1, exact within 1/1000."""
    low, high = 0.0, 1.0
    room = _room(region)
    # halving is sound because a cell that fits still fits when it shrinks
    while high - low > 0.001:
        share = (low + high) / 2
        small = Cell(cell.sides, cell.apothem * share)
        fits = any(
            not _eroded(_turned(room, -angle), _polygon(small, at)).is_empty
            for angle in turns_deg
            for at in _kinds(small)
        )
        low, high = (share, high) if fits else (low, share)
    return low


def turns_to_try(region: BaseGeometry, sides: int) -> list[float]:
    """Turns to try: 0, the outline's straight edges, every five degrees within the symmetry."""
    period = TURNS[sides]
    found = [0.0, *(float(step) for step in range(5, period, 5))]
    for ring in _rings(region):
        long = sorted(pairwise(ring), key=lambda edge: -math.dist(*edge))[:12]
        for (x, y), (to_x, to_y) in long:
            angle = round(math.degrees(math.atan2(to_y - y, to_x - x)) % period, 3) % period
            if all(abs(angle - other) > 0.01 for other in found):
                found.append(angle)
    return found


def _filled(room: BaseGeometry, cell: Cell, angle_deg: float) -> Filled:
    import shapely

    straight = _turned(room, -angle_deg)
    pieces: list[BaseGeometry] = []
    cells: list[At] = []
    mesh = shapely.Polygon(_mesh(cell))
    for kind in _kinds(cell):
        eroded = _eroded(straight, _polygon(cell, kind))
        if eroded.is_empty:
            continue
        shapely.prepare(eroded)
        for at in _near(cell, kind, eroded.bounds):
            x, y, _ = lattice_pose(cell, at)
            moved = _moved(mesh, x, y)
            if shapely.intersects(eroded, moved):
                pieces.append(_moved(shapely.intersection(eroded, moved), -x, -y))
                cells.append(at)
    best = Filled()
    if not pieces:
        return best
    for point in _deepest(mesh, pieces):
        inside = shapely.intersects(pieces, shapely.Point(point))
        taken = [at for at, yes in zip(cells, inside, strict=True) if yes]
        found = Filled(
            tuple(sorted(taken)),
            angle_deg,
            turn(point, math.radians(angle_deg)),
            pieces_of(taken, cell.sides),
        )
        if (len(found.cells), -found.groups) > (len(best.cells), -best.groups):
            best = found
    return _from_corner(best, cell)


def _deepest(mesh: BaseGeometry, pieces: Sequence[BaseGeometry]) -> list[Point]:
    """A point inside each of the largest faces where most pieces overlap."""
    import numpy as np
    import shapely

    # on a grid: lines that nearly lie on each other leave faces open, and those would be lost
    lines = shapely.union_all(
        [shapely.boundary(mesh), *(shapely.boundary(piece) for piece in pieces if piece.area > 0)],
        grid_size=GRID_MM,
    )
    faces = list(shapely.get_parts(shapely.polygonize([lines])))
    points = shapely.point_on_surface(faces)
    hits = shapely.STRtree(points).query(np.array(pieces), predicate="intersects")[1]
    depth = np.bincount(hits, minlength=len(faces))
    order = sorted(
        range(len(faces)),
        key=lambda k: (-depth[k], -round(faces[k].area, 6), points[k].x, points[k].y),
    )
    best = [k for k in order if depth[k] == depth[order[0]]][:MOST_FACES]
    return [(float(points[k].x), float(points[k].y)) for k in best]


def _eroded(region: BaseGeometry, polygon: Sequence[Point]) -> BaseGeometry:
    """The region for the middle of a convex polygon that lies in the region whole."""
    import numpy as np
    import shapely

    ends = [(a, b) for ring in _rings(region) for a, b in pairwise(ring)]
    if not ends:
        return region
    mirrored = -np.array(polygon)
    corners = np.concatenate([np.array(ends)[:, k, None, :] + mirrored for k in (0, 1)], axis=1)
    swept = shapely.convex_hull(shapely.multipoints([shapely.points(row) for row in corners]))
    return shapely.difference(region, joined(list(swept)))


def _room(region: BaseGeometry) -> BaseGeometry:
    """The region grown by TOUCH_MM at most, with fewer corners; it holds the region whole."""
    import shapely

    simpler = shapely.simplify(region, SIMPLER_MM)
    return buffered(simpler, TOUCH_MM - SIMPLER_MM, quad_segs=2)


def _rings(region: BaseGeometry) -> list[list[Point]]:
    import shapely

    return [
        [(float(x), float(y)) for x, y in shapely.get_coordinates(ring)]
        for part in shapely.get_parts(region)
        if part.geom_type == "Polygon"
        for ring in (part.exterior, *part.interiors)
    ]


def _moved(region: BaseGeometry, x: float, y: float) -> BaseGeometry:
    import numpy as np
    import shapely

    return shapely.transform(region, lambda points: points + np.array([x, y]))


def _turned(region: BaseGeometry, angle_deg: float) -> BaseGeometry:
    import numpy as np
    import shapely

    cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    return (
        shapely.transform(region, lambda points: points @ np.array([[cos, sin], [-sin, cos]]))
        if angle_deg
        else region
    )


def _kinds(cell: Cell) -> tuple[At, ...]:
    """One cell of each direction that the lattice has."""
    return ((0, 0), (1, 0)) if cell.sides == 3 else ((0, 0),)


def _mesh(cell: Cell) -> list[Point]:
    """The steps to a cell itself, the next one of its direction, that of the next row, and the
    first one of that row: corners of a mesh that the lattice repeats.
    """
    ends = ((0, 0), (2, 0), (3, 1), (1, 1)) if cell.sides == 3 else ((0, 0), (1, 0), (1, 1), (0, 1))
    low = lattice_pose(cell, (0, 0))[1]
    return [(x, y - low) for x, y, _ in (lattice_pose(cell, at) for at in ends)]


def _near(cell: Cell, kind: At, box: tuple[float, float, float, float]) -> Iterable[At]:
    """Cells of one direction whose mesh may meet a box."""
    _, (width, _), _, (lean, high) = _mesh(cell)
    x, y, _ = lattice_pose(cell, kind)
    step = 2 if cell.sides == 3 else 1
    for up in range(math.floor((box[1] - y) / high), math.floor((box[3] - y) / high) + 1):
        first = math.floor((box[0] - x - (up + 1) * lean) / width)
        last = math.floor((box[2] - x - up * lean) / width)
        for right in range(first, last + 1):
            yield (kind[0] + step * right + (up if cell.sides == 3 else 0), kind[1] + up)


def _polygon(cell: Cell, at: At) -> list[Point]:
    """Corners of a cell around its middle."""
    return list(PlacedPanel("", "", cell, 0.0, 0.0, lattice_pose(cell, at)[2]).corners)


def _from_corner(filled: Filled, cell: Cell) -> Filled:
    """The same with the lowest row as row 0 and the leftmost cell in column 0 or 1."""
    if not filled.cells:
        return filled
    row = min(y for _, y in filled.cells)
    if cell.sides == 6:
        column = min(2 * x + y for x, y in filled.cells)
        move = ((column - row) // 2, row)
    else:
        column = min(x for x, _ in filled.cells)
        move = (column - (column + row) % 2 if cell.sides == 3 else column, row)
    shift = [
        a - b
        for a, b in zip(lattice_pose(cell, move)[:2], lattice_pose(cell, (0, 0))[:2], strict=True)
    ]
    dx, dy = turn((shift[0], shift[1]), math.radians(filled.turn_deg))
    cells = tuple((x - move[0], y - move[1]) for x, y in filled.cells)
    return Filled(
        cells, filled.turn_deg, (filled.offset[0] + dx, filled.offset[1] + dy), filled.groups
    )
