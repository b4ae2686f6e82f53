"""3MF packages after the Core Specification 1.4: named objects in mm, placed on the bed.

The kernel library's own writer gives ids from 0, unwelded corners and today's date; this one is
held against the format's reference implementation in the tests. The package is deflated; zlibs
differ, so across machines compare the parts inside, not the package.
"""

from __future__ import annotations

import io
import math
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from xml.etree import ElementTree as ET
from xml.sax.saxutils import escape, quoteattr

from fab.errors import BrokenGeometry
from fab.files.weld import welded
from fab.files.words import writable
from fab.solids.mesh import Mesh
from fab.units import fixed

# core specification, appendix C.3
CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
START_PART = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"  # C.2
MODEL_TYPE = "application/vnd.ms-package.3dmanufacturing-3dmodel+xml"  # C.1
# OPC, ECMA-376 part 2
RELATIONSHIPS = "http://schemas.openxmlformats.org/package/2006/relationships"
CONTENT_TYPES = "http://schemas.openxmlformats.org/package/2006/content-types"
RELATIONSHIPS_TYPE = "application/vnd.openxmlformats-package.relationships+xml"
MODEL = "3D/3dmodel.model"

PLACES = 5  # decimals of a corner in mm
_OLDEST = (1980, 1, 1, 0, 0, 0)  # the first date that a zip can hold


@dataclass(frozen=True)
class Object3mf:
    """A mesh with the name that a slicer's list shows."""

    name: str
    mesh: Mesh


@dataclass(frozen=True)
class Item3mf:
    """One copy on the bed: object number (from 0), moved to (x, y, z) after a turn about z."""

    index: int
    x: float = 0.0
    y: float = 0.0
    turn_deg: float = 0.0
    z: float = 0.0


def threemf(objects: Sequence[Object3mf], items: Sequence[Item3mf], title: str) -> bytes:
    """The package. BrokenGeometry: an open mesh, an unknown object, or nothing to build."""
    if not objects or not items:
        raise BrokenGeometry("a 3MF file needs at least one object and one copy of it")
    parts = {
        "[Content_Types].xml": _content_types(),
        "_rels/.rels": _relationships(),
        MODEL: _model(objects, items, title),
    }
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as package:
        for name, data in parts.items():
            entry = zipfile.ZipInfo(name, _OLDEST)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.create_system, entry.external_attr = 0, 0  # the same on every system
            package.writestr(entry, data)
    return stream.getvalue()


def _content_types() -> bytes:
    root = ET.Element("Types", {"xmlns": CONTENT_TYPES})
    ET.SubElement(root, "Default", {"Extension": "rels", "ContentType": RELATIONSHIPS_TYPE})
    ET.SubElement(root, "Default", {"Extension": "model", "ContentType": MODEL_TYPE})
    return _xml(root)


def _relationships() -> bytes:
    root = ET.Element("Relationships", {"xmlns": RELATIONSHIPS})
    ET.SubElement(root, "Relationship", {"Target": f"/{MODEL}", "Id": "rel0", "Type": START_PART})
    return _xml(root)


def _model(objects: Sequence[Object3mf], items: Sequence[Item3mf], title: str) -> bytes:
    """The model part as joined text: an XML tree of many triangles takes three times as long."""
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<model unit="millimeter" xml:lang="en-US" xmlns="{CORE}">',
        f'<metadata name="Title">{escape(writable(title))}</metadata>',
        '<metadata name="Application">panejig</metadata>',
        "<resources>",
        *(_object(number, each) for number, each in enumerate(objects, 1)),
        "</resources>",
        "<build>",
    ]
    for item in items:
        if not 0 <= item.index < len(objects):
            raise BrokenGeometry(f"a 3MF file has no object {item.index}")
        lines.append(f'<item objectid="{item.index + 1}" transform="{_transform(item)}"/>')
    return "\n".join([*lines, "</build>", "</model>", ""]).encode("utf-8")


def _object(number: int, each: Object3mf) -> str:
    import numpy as np

    corners = each.mesh.vertices.astype(np.float64, order="C").tobytes()
    triangles = each.mesh.triangles.astype(np.int32, order="C").tobytes()
    head = f'<object id="{number}" type="model" name={quoteattr(writable(each.name))}>'
    return f"{head}\n{_mesh(each.name, corners, triangles)}\n</object>"


@lru_cache(maxsize=8)
def _mesh(name: str, corners: bytes, triangles: bytes) -> str:
    """The mesh of an object: the same part is on many plates. float64 corners, int32 triangles."""
    import numpy as np

    loose = np.round(np.frombuffer(corners, np.float64).reshape(-1, 3), PLACES)
    vertices, faces = welded(loose, np.frombuffer(triangles, np.int32).reshape(-1, 3), name)
    # a part has far fewer numbers than corners
    values, place = np.unique(vertices, return_inverse=True)
    texts = [fixed(value, PLACES) for value in values.tolist()]
    return "\n".join(
        [
            "<mesh><vertices>",
            *(
                f'<vertex x="{texts[x]}" y="{texts[y]}" z="{texts[z]}"/>'
                for x, y, z in place.reshape(-1, 3).tolist()
            ),
            "</vertices><triangles>",
            *(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in faces.tolist()),
            "</triangles></mesh>",
        ]
    )


def _transform(item: Item3mf) -> str:
    """The 4 x 3 matrix, row by row (core specification 3.3: row vectors, translation last)."""
    angle = math.radians(item.turn_deg)
    cos, sin = math.cos(angle), math.sin(angle)
    values = (cos, sin, 0.0, -sin, cos, 0.0, 0.0, 0.0, 1.0, item.x, item.y, item.z)
    return " ".join(fixed(value, 9) for value in values)


def _xml(root: ET.Element) -> bytes:
    body: bytes = ET.tostring(root, encoding="utf-8")
    return b'<?xml version="1.0" encoding="UTF-8"?>\n' + body
