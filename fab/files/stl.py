"""Binary STL: 80 bytes of header, a count, 50 bytes a triangle, little endian.

The format has no units; ours are mm.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from fab.files.weld import welded
from fab.solids.mesh import Mesh

if TYPE_CHECKING:
    import numpy as np

HEADER = 80


def stl(mesh: Mesh, name: str) -> bytes:
    """The mesh as binary STL, normals from the corners (right-hand rule).

    The header holds the name and the unit and never begins with "solid", by which readers tell the
    text form. Raises BrokenGeometry for a mesh that is empty or not closed at the precision of the
    file (float32).
    """
    import numpy as np

    vertices, faces = welded(mesh.vertices.astype("<f4"), mesh.triangles, name)
    corners = vertices[faces]
    records = np.zeros(
        len(faces), dtype=[("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")]
    )
    records["normal"] = _normals(corners.astype(np.float64))
    records["corners"] = corners
    plain = name.encode("ascii", "replace").decode()
    head = f"panejig {plain}, mm".encode()[:HEADER].ljust(HEADER)
    return head + len(faces).to_bytes(4, "little") + records.tobytes()


def _normals(corners: np.ndarray) -> np.ndarray:
    """Unit normals; zero where a sliver has none, which the format allows."""
    import numpy as np

    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    lengths = np.linalg.norm(normals, axis=1, keepdims=True)
    units: np.ndarray = np.divide(normals, lengths, out=np.zeros_like(normals), where=lengths > 0)
    return units + 0.0  # no negative zeros
