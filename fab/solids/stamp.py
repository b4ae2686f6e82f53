"""Low prisms set on a flat face of a solid without a boolean: the same body to the last face, in a
fraction of the time.

          ____      ____          the face gets the footprint as a hole; sides and top of the
    _____|    |____|    |_____    prism join it along the hole's edges, which both share
    |         face            |

The mesh is put together likewise: the triangles of the face are drawn anew round the footprint, and
nothing else changes.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from fab.errors import BrokenGeometry
from fab.solids.kernel import Solid
from fab.solids.loading import kernel
from fab.solids.mesh import Mesh, alike
from fab.solids.meshing import WELD_PLACES, is_closed, net

if TYPE_CHECKING:
    import cadquery as cq
    import numpy as np
    from shapely.geometry.base import BaseGeometry

ON_MM = 1e-6  # how far a face may lie off its height


def raised(solid: Solid, feet: Sequence[BaseGeometry], z: float, high: float) -> Solid | None:
    """The solid with prisms `high` over the faces `feet`, which lie at height z inside one face of
    it that looks up.

    None when no face of the solid holds them all: then a boolean must do it.
    """
    cq = kernel()
    from OCP.BRep import BRep_Builder
    from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
    from OCP.gp import gp_Vec
    from OCP.TopAbs import TopAbs_Orientation
    from OCP.TopoDS import TopoDS_Shell, TopoDS_Solid

    floor = _holding(solid, feet, z)
    if floor is None or len(solid.Shells()) != 1:
        return None
    builder, shell = BRep_Builder(), TopoDS_Shell()
    builder.MakeShell(shell)
    for face in solid.Faces():
        if not face.wrapped.IsSame(floor.wrapped):
            builder.Add(shell, face.wrapped)
    backwards = floor.wrapped.Orientation() == TopAbs_Orientation.TopAbs_REVERSED
    forward = floor.wrapped.Oriented(TopAbs_Orientation.TopAbs_FORWARD)
    ground = forward.EmptyCopied()
    for ring in cq.Face(forward).Wires():
        builder.Add(ground, ring.wrapped)
    for foot in feet:
        prism = BRepPrimAPI_MakePrism(foot.wrapped, gp_Vec(0.0, 0.0, high))
        bottom = prism.FirstShape()
        for side in cq.Shape.cast(prism.Shape()).Faces():
            if not side.wrapped.IsSame(bottom):
                builder.Add(shell, side.wrapped)
        outer = _anticlockwise(foot.outerWire())
        builder.Add(ground, outer if backwards else outer.Reversed())
        for ring in foot.innerWires():
            island = cq.Face.makeFromWires(cq.Wire(_anticlockwise(ring))).wrapped
            builder.Add(shell, island if cq.Face(island).normalAt().z > 0 else island.Reversed())
    builder.Add(shell, ground.Oriented(floor.wrapped.Orientation()))
    shell.Closed(True)
    body = TopoDS_Solid()
    builder.MakeSolid(body)
    builder.Add(body, shell)
    stamped: Solid = cq.Solid(body)
    return stamped


def _anticlockwise(ring: cq.Wire) -> Any:
    """A flat wire that runs anticlockwise seen from above."""
    up = kernel().Face.makeFromWires(ring).normalAt().z > 0
    return ring.wrapped if up else ring.wrapped.Reversed()


def _holding(solid: Solid, feet: Sequence[BaseGeometry], z: float) -> Any | None:
    """The face of a solid that looks up at height z and holds all corners of the feet inside."""
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.BRepTopAdaptor import BRepTopAdaptor_FClass2d
    from OCP.ElSLib import ElSLib
    from OCP.GeomAbs import GeomAbs_SurfaceType
    from OCP.gp import gp_Pnt, gp_Pnt2d
    from OCP.TopAbs import TopAbs_Orientation, TopAbs_State

    corners = [gp_Pnt(*corner.toTuple()) for foot in feet for corner in foot.Vertices()]
    for face in solid.Faces():
        surface = BRepAdaptor_Surface(face.wrapped)
        if surface.GetType() != GeomAbs_SurfaceType.GeomAbs_Plane:
            continue
        plane = surface.Plane()
        up = plane.Axis().Direction().Z() * (1 if plane.Direct() else -1)
        if face.wrapped.Orientation() == TopAbs_Orientation.TopAbs_REVERSED:
            up = -up
        if up < 0.999 or abs(plane.Location().Z() - z) > ON_MM:
            continue
        inside = BRepTopAdaptor_FClass2d(face.wrapped, 1e-7)
        places = [gp_Pnt2d(*ElSLib.Parameters_s(plane, corner)) for corner in corners]
        if all(inside.Perform(place) == TopAbs_State.TopAbs_IN for place in places):
            return face
    return None


def raised_mesh(body: Mesh, feet: Sequence[BaseGeometry], z: float, high: float) -> Mesh:
    """The mesh of `raised` made of the mesh of the body.

    Raises BrokenGeometry when it does not come out closed.
    """
    import numpy as np
    import shapely

    corners = body.vertices[body.triangles]
    flat = np.abs(corners[:, :, 2] - z).max(axis=1) < 10.0**-WELD_PLACES
    flat &= np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])[:, 2] > 0
    soup, rings = [corners[~flat]], []
    for foot in feet:
        face = net(foot)
        down = face.triangles if foot.normalAt().z < 0 else face.triangles[:, ::-1]
        rings += _rims(down, face.vertices)
    soup += [_sides(ring, z, z + high) for ring in rings]
    ground, upper = shapely.Polygon(), shapely.Polygon()
    for ring in _rims(body.triangles[flat], body.vertices):
        ground = ground.symmetric_difference(shapely.Polygon(ring))
    for ring in rings:
        upper = upper.symmetric_difference(shapely.Polygon(ring))
    soup += [_triangles(ground.difference(upper), z), _triangles(upper, z + high)]
    every = np.concatenate(soup)
    unique, place = alike(every.reshape(-1, 3).round(WELD_PLACES) + 0.0)
    made = Mesh(unique, place.reshape(-1, 3).astype(np.int32))
    if not is_closed(made):
        raise BrokenGeometry("the mesh of a raised name is not closed")
    return made


def _sides(ring: np.ndarray, z0: float, z1: float) -> np.ndarray:
    """The upright wall over a ring that has the outside on its left, (n, 3, 3).

    Drawn here: the kernel leaves the choice of a diagonal to the last digit.
    """
    import numpy as np

    low, high = (np.concatenate([ring, np.full((len(ring), 1), z)], axis=1) for z in (z0, z1))
    next_low, next_high = (np.roll(rows, -1, axis=0) for rows in (low, high))
    return np.concatenate(
        [np.stack([next_low, low, high], axis=1), np.stack([next_low, high, next_high], axis=1)]
    )


def _rims(triangles: np.ndarray, vertices: np.ndarray) -> list[np.ndarray]:
    """The closed rings round a flat patch of triangles, (n, 2) each: edges that belong to one of
    them only.
    """
    import numpy as np

    edges = np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]])
    there = set(map(tuple, edges.tolist()))
    after: dict[int, list[int]] = {}
    for a, b in there:
        if (b, a) not in there:
            after.setdefault(a, []).append(b)
    rings = []
    while after:
        start = at = next(iter(after))
        ring = []
        while True:
            ring.append(at)
            ways = after[at]
            to = ways.pop()
            if not ways:
                del after[at]
            at = to
            if at == start:
                break
        rings.append(vertices[ring, :2])
    return rings


def _triangles(region: BaseGeometry, z: float) -> np.ndarray:
    """A flat region as triangles (n, 3, 3) that look up, without a corner that it does not have."""
    import numpy as np
    import shapely

    parts = shapely.get_parts(shapely.constrained_delaunay_triangles(region))
    flat = np.array([shapely.get_coordinates(part)[:3] for part in parts])
    (ax, ay), (bx, by), (cx, cy) = (flat[:, k].T for k in range(3))
    flipped = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax) < 0
    flat[flipped] = flat[flipped][:, ::-1]
    return np.concatenate([flat, np.full((len(flat), 3, 1), z)], axis=2)
