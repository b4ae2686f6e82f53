"""Meshes as a slicer reads them: STL and the objects of a 3MF plate; are they closed, how much do
they hold.

STL (binary): 80 bytes, a count, 50 bytes a triangle. 3MF: a zip with 3D/3dmodel.model (3MF Core
Specification 1.4).
"""

from __future__ import annotations

import io
import re
import zipfile
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING
from xml.sax.saxutils import unescape

from fab.proof.tree import MOST_BYTES, Unreadable

if TYPE_CHECKING:
    import numpy as np
    from shapely.geometry.base import BaseGeometry

MODEL = "3D/3dmodel.model"
UNITS_MM = {
    "micron": 0.001,
    "millimeter": 1.0,
    "centimeter": 10.0,
    "inch": 25.4,
    "foot": 304.8,
    "meter": 1000.0,
}
VERTEX = re.compile(r'<vertex\s+x="([^"]*)"\s+y="([^"]*)"\s+z="([^"]*)"\s*/>')
TRIANGLE = re.compile(r'<triangle\s+v1="(\d+)"\s+v2="(\d+)"\s+v3="(\d+)"')
OBJECT = re.compile(r"<object\s([^>]*)>(.*?)</object>", re.DOTALL)
ITEM = re.compile(r"<item\s([^>]*?)/?>")
ATTRIBUTE = re.compile(r'([\w:]+)="([^"]*)"')


@dataclass(frozen=True)
class ReadMesh:
    """Corners (n x 3, mm, each place once) and triangles (m x 3)."""

    corners: np.ndarray
    triangles: np.ndarray

    @cached_property
    def size(self) -> np.ndarray:
        """Extent along x, y and z, mm, shape (3,)."""
        extent: np.ndarray = self.corners.max(axis=0) - self.corners.min(axis=0)
        return extent

    @cached_property
    def volume_mm3(self) -> float:
        """By the divergence theorem; negative when it is inside out."""
        import numpy as np

        a, b, c = (self.corners[self.triangles[:, k]] for k in range(3))
        return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6.0)

    @cached_property
    def bad_edges(self) -> list[tuple[float, float, float]]:
        """Middles of edges that do not run once each way between two triangles."""
        import numpy as np

        starts, ends = self.triangles.ravel(), np.roll(self.triangles, -1, axis=1).ravel()
        count = len(self.corners)
        there, back = np.sort(starts * count + ends), np.sort(ends * count + starts)
        if (there == back).all() and (np.diff(there) > 0).all():
            return []
        keys, many = np.unique(there, return_counts=True)
        wrong = np.concatenate([keys[many > 1], np.setxor1d(keys, np.unique(back))])
        return [
            tuple((self.corners[k // count] + self.corners[k % count]) / 2)
            for k in wrong[:5].tolist()
        ]

    @cached_property
    def bodies(self) -> int:
        """Pieces that hang together."""
        from scipy.sparse import coo_matrix
        from scipy.sparse.csgraph import connected_components

        pairs = self.triangles[:, [0, 1, 1, 2]].reshape(-1, 2)
        n = len(self.corners)
        graph = coo_matrix(([1] * len(pairs), (pairs[:, 0], pairs[:, 1])), shape=(n, n))
        return int(connected_components(graph, directed=False)[0])


@dataclass(frozen=True)
class BedPlate:
    """The contents of a bed: objects by name, and each copy's name and 4 x 3 matrix."""

    objects: dict[str, ReadMesh]
    copies: tuple[tuple[str, np.ndarray], ...]


@lru_cache(maxsize=16)
def read_stl(path: str, data: bytes) -> ReadMesh:
    """A binary STL. Raises Unreadable."""
    import numpy as np

    if len(data) < 84 or (data[:6] == b"solid " and b"facet" in data[:400]):
        raise Unreadable(path, "is no binary STL")
    count = int.from_bytes(data[80:84], "little")
    if count == 0 or len(data) != 84 + 50 * count:
        raise Unreadable(path, f"says it has {count} triangles, but is {len(data)} bytes long")
    rows = np.frombuffer(data, np.uint8, offset=84).reshape(count, 50)
    loose = np.ascontiguousarray(rows[:, 12:48]).view("<f4").reshape(-1, 3)
    if not np.isfinite(loose).all():
        raise Unreadable(path, "has a corner that is not a number")
    loose = loose + np.float32(0.0)  # no negative zero: it is the same place
    keys = np.ascontiguousarray(loose).view(np.dtype((np.void, 12))).ravel()
    _, first, place = np.unique(keys, return_index=True, return_inverse=True)
    return ReadMesh(loose[first].astype(float), place.reshape(-1, 3).astype(np.int64))


def read_plate(path: str, data: bytes) -> BedPlate:
    """A 3MF package. Raises Unreadable."""
    import numpy as np

    try:
        with zipfile.ZipFile(io.BytesIO(data)) as package:
            if package.getinfo(MODEL).file_size > MOST_BYTES:
                raise Unreadable(path, f"unfolds to more than {MOST_BYTES // 1_000_000} MB")
            with package.open(MODEL) as file:
                text = file.read(MOST_BYTES).decode("utf-8")
    except (
        zipfile.BadZipFile,
        KeyError,
        UnicodeDecodeError,
        OSError,
        ValueError,
        NotImplementedError,
    ) as error:
        raise Unreadable(path, f"is no 3MF package ({error})") from error
    if "<!DOCTYPE" in text or "<!ENTITY" in text:
        raise Unreadable(path, "has a document type or entities, which are not read")
    head = re.search(r"<model\b[^>]*>", text)
    scale = UNITS_MM.get(
        dict(ATTRIBUTE.findall(head[0])).get("unit", "millimeter") if head else "", 0.0
    )
    if scale == 0.0:
        raise Unreadable(path, "has no unit of length that is known")
    names: dict[str, str] = {}
    objects: dict[str, ReadMesh] = {}
    try:
        for attributes, body in OBJECT.findall(text):
            told = dict(ATTRIBUTE.findall(attributes))
            name = unescape(str(told.get("name") or told["id"]), {"&quot;": '"'})
            corners = np.array(VERTEX.findall(body), dtype=float).reshape(-1, 3) * scale
            triangles = np.array(TRIANGLE.findall(body), dtype=np.int64).reshape(-1, 3)
            if (
                not len(triangles)
                or triangles.max() >= len(corners)
                or not np.isfinite(corners).all()
            ):
                raise ValueError(f"object {name} has no whole mesh")
            names[told["id"]] = name
            objects[name] = ReadMesh(corners, triangles)
        copies = []
        for attributes in ITEM.findall(text):
            told = dict(ATTRIBUTE.findall(attributes))
            values = [
                float(word) for word in told.get("transform", "1 0 0 0 1 0 0 0 1 0 0 0").split()
            ]
            matrix = np.array(values).reshape(4, 3)
            matrix[3] *= scale
            copies.append((names[told["objectid"]], matrix))
    except (KeyError, ValueError, TypeError) as error:
        raise Unreadable(path, f"cannot be read as a plate ({error})") from error
    return BedPlate(objects, tuple(copies))


def section(mesh: ReadMesh, z: float) -> BaseGeometry:
    """The mesh cut level at a height: polygons with their holes, as a shapely value (mm)."""
    import numpy as np
    import shapely

    above = mesh.corners[:, 2] > z
    mixed = above[mesh.triangles]
    cut = mesh.triangles[mixed.any(axis=1) & ~mixed.all(axis=1)]
    if not len(cut):
        return shapely.Polygon()
    after = np.roll(cut, -1, axis=1)
    crossed = above[cut] != above[after]  # two edges of each triangle
    low, high = np.minimum(cut, after)[crossed], np.maximum(cut, after)[crossed]
    a, b = mesh.corners[low], mesh.corners[high]
    share = (z - a[:, 2]) / (b[:, 2] - a[:, 2])
    points = a[:, :2] + (b - a)[:, :2] * share[:, None]
    keys = low * len(mesh.corners) + high
    rings = [points[ring] for ring in _rings(keys) if len(ring) > 2]
    shape = shapely.Polygon()
    polygons = sorted(
        (shapely.make_valid(shapely.Polygon(ring)) for ring in rings), key=lambda one: -one.area
    )
    for one in polygons:  # the even-odd rule: the largest first, each turns what it covers over
        shape = shape.symmetric_difference(one)
    return shape


def _rings(keys: np.ndarray) -> list[list[int]]:
    """Rings of segments, whose ends are two by two in `keys`; of each ring where its ends stand
    there, in their order along it.
    """
    import numpy as np

    _, first, node = np.unique(keys, return_index=True, return_inverse=True)
    order = np.argsort(node, kind="stable")
    other = node.reshape(-1, 2)[:, ::-1].ravel()[order].tolist()  # the ends beside each, by node
    begin = np.searchsorted(node[order], np.arange(len(first) + 1)).tolist()
    places, seen, rings = first.tolist(), bytearray(len(first)), []
    for start in np.argsort(first).tolist():
        ring, at = [], start
        while not seen[at]:
            seen[at] = 1
            ring.append(places[at])
            at = next((one for one in other[begin[at] : begin[at + 1]] if not seen[one]), at)
        rings.append(ring)
    return rings


def holes_of(shape: BaseGeometry) -> list[BaseGeometry]:
    """The inner rings of a section, as polygons."""
    import shapely

    parts = getattr(shape, "geoms", [shape])
    return [
        shapely.Polygon(ring)
        for part in parts
        if part.geom_type == "Polygon"
        for ring in part.interiors
    ]
