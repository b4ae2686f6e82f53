"""Solid to welded mesh, at one fixed pair of tolerances so that a mesh never depends on what was made before it."""

from __future__ import annotations

from fab.errors import BrokenGeometry
from fab.solids.kernel import Solid, kernel
from fab.solids.mesh import Mesh
from fab.units import MESH_TOL_MM, MESH_TOL_RAD

WELD_PLACES = 5  # corners that agree to 1e-5 mm are one


def mesh(solid: Solid, name: str = "part") -> Mesh:
    """A closed mesh of the solid; BrokenGeometry when an edge does not belong to exactly two triangles.

    The kernel remembers a mesh on the shape, so it is cleaned first. Its corners come unwelded.
    """
    import numpy as np

    kernel()
    from OCP.BRepTools import BRepTools

    BRepTools.Clean_s(solid.wrapped)
    corners, faces = solid.tessellate(MESH_TOL_MM, MESH_TOL_RAD)
    loose = np.array([(v.x, v.y, v.z) for v in corners], dtype=np.float64).round(WELD_PLACES) + 0.0
    unique, inverse = np.unique(loose, axis=0, return_inverse=True)
    triangles = inverse.reshape(-1)[np.array(faces, dtype=np.int64)].astype(np.int32)
    whole = (
        (triangles[:, 0] != triangles[:, 1]) & (triangles[:, 1] != triangles[:, 2]) & (triangles[:, 2] != triangles[:, 0])
    )
    triangles = triangles[whole]
    made = Mesh(unique, triangles)
    if not is_closed(made):
        raise BrokenGeometry(f"the mesh of part {name} is not closed")
    return made


def is_closed(made: Mesh) -> bool:
    """Every directed edge once, and its opposite once."""
    import numpy as np

    tri = made.triangles.astype(np.int64)
    edges = np.concatenate([tri[:, [0, 1]], tri[:, [1, 2]], tri[:, [2, 0]]])
    base = int(tri.max()) + 1
    there, back = np.sort(edges[:, 0] * base + edges[:, 1]), np.sort(edges[:, 1] * base + edges[:, 0])
    return bool((there == back).all() and (np.diff(there) != 0).all())
