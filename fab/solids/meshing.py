"""Solid to welded mesh, at one fixed pair of tolerances so that a mesh never depends on what was
made before it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fab.errors import BrokenGeometry
from fab.solids.kernel import Solid
from fab.solids.loading import kernel
from fab.solids.mesh import Mesh, alike
from fab.units import MESH_TOL_MM, MESH_TOL_RAD

if TYPE_CHECKING:
    import numpy as np

WELD_PLACES = 5  # corners that agree to 1e-5 mm are one


def mesh(solid: Solid, name: str = "part", *, kept: bool = False) -> Mesh:
    """A closed mesh of the solid; BrokenGeometry when an edge does not belong to exactly two
    triangles. `kept`: faces that `meshed` made triangles for keep them.
    """
    made = net(solid, kept=kept)
    if len(made.triangles) == 0 or not is_closed(made):
        raise BrokenGeometry(f"the mesh of part {name} is not closed")
    return made


def meshed(shape: Any, *, kept: bool = False) -> Any:
    """The shape with triangles on its faces. The kernel remembers them, so they are taken off
    first unless they are to be `kept`.
    """
    kernel()
    from OCP.BRepTools import BRepTools

    if not kept:
        BRepTools.Clean_s(shape.wrapped)
    shape.mesh(MESH_TOL_MM, MESH_TOL_RAD)
    return shape


def net(shape: Any, *, kept: bool = False) -> Mesh:
    """The welded triangles of a shape's faces, closed or not. The kernel's come unwelded."""
    meshed(shape, kept=kept)
    corners, faces = _read(shape)
    unique, place = alike(corners.round(WELD_PLACES) + 0.0)
    triangles = place[faces].astype("int32")
    whole = (
        (triangles[:, 0] != triangles[:, 1])
        & (triangles[:, 1] != triangles[:, 2])
        & (triangles[:, 2] != triangles[:, 0])
    )
    return Mesh(unique, triangles[whole])


def _read(solid: Any) -> tuple[np.ndarray, np.ndarray]:
    """Corners (n, 3) and triangles (m, 3) that the kernel left on the faces, face by face.

    The library's own reader makes an object of every corner and takes twice as long; its lists of
    triangles are slow to walk through, so triangles are asked for by number.
    """
    import numpy as np
    from OCP.BRep import BRep_Tool
    from OCP.TopAbs import TopAbs_Orientation
    from OCP.TopLoc import TopLoc_Location

    corners, triangles, count = [np.zeros((0, 3))], [np.zeros((0, 3), np.int64)], 0
    for face in solid.Faces():
        place = TopLoc_Location()
        net = BRep_Tool.Triangulation_s(face.wrapped, place)
        if net is None:
            continue
        nodes = np.array([net.Node(k).Coord() for k in range(1, net.NbNodes() + 1)])
        if not place.IsIdentity():
            to = place.Transformation()
            turn = np.array([[to.Value(row, k) for k in range(1, 5)] for row in (1, 2, 3)])
            nodes = nodes @ turn[:, :3].T + turn[:, 3]
        three = np.array(
            [net.Triangle(k).Get() for k in range(1, net.NbTriangles() + 1)], np.int64
        ).reshape(-1, 3)
        if face.wrapped.Orientation() == TopAbs_Orientation.TopAbs_REVERSED:
            three = three[:, [0, 2, 1]]
        triangles.append(three + (count - 1))
        corners.append(nodes)
        count += len(nodes)
    return np.concatenate(corners), np.concatenate(triangles)


def is_closed(made: Mesh) -> bool:
    """Every directed edge once, and its opposite once."""
    import numpy as np

    tri = made.triangles.astype(np.int64)
    edges = np.concatenate([tri[:, [0, 1]], tri[:, [1, 2]], tri[:, [2, 0]]])
    base = int(tri.max()) + 1
    there, back = (
        np.sort(edges[:, 0] * base + edges[:, 1]),
        np.sort(edges[:, 1] * base + edges[:, 0]),
    )
    return bool((there == back).all() and (np.diff(there) != 0).all())
