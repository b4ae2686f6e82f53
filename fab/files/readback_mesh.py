"""STL and 3MF read back from their bytes."""

from __future__ import annotations

import io
import zipfile
import zlib
from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

from fab.files.threemf import (
    CONTENT_TYPES,
    CORE,
    MODEL_TYPE,
    RELATIONSHIPS,
    START_PART,
    Item3mf,
    Object3mf,
)
from fab.solids.mesh import Mesh, alike
from fab.units import fixed

if TYPE_CHECKING:
    import numpy as np

_VOLUME_SHARE = 1e-4  # rounding to float32 or 0.00001 mm moves a volume by far less


def check_stl(data: bytes, mesh: Mesh, *, on_bed: bool = True) -> list[str]:
    """Differences of an STL from the `mesh` that it was written from; empty when there are none.

    `on_bed`: its foot has to be at z = 0.
    """
    import numpy as np

    if len(data) < 84:
        return ["the STL is cut off"]
    count = int.from_bytes(data[80:84], "little")
    if len(data) != 84 + 50 * count:
        return [f"the STL has {len(data)} bytes; {count} triangles take {84 + 50 * count}"]
    told = ["the STL begins with 'solid' like a text one"] if data[:5].lower() == b"solid" else []
    floats = (
        np.frombuffer(data, "<u1", offset=84)
        .reshape(count, 50)[:, :48]
        .copy()
        .view("<f4")
        .reshape(count, 4, 3)
    )
    normals, corners = floats[:, 0].astype(float), floats[:, 1:].astype(float)
    told += _solid_faults("the STL", corners, mesh, on_bed=on_bed)
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    if (np.einsum("ij,ij->i", cross, normals) < 0).any():
        told.append("the STL has a normal that looks inwards")
    return told


def check_3mf(
    data: bytes, objects: Sequence[Object3mf], items: Sequence[Item3mf], *, on_bed: bool = True
) -> list[str]:
    """Differences of a 3MF from the `objects` and `items` it was written from; else empty."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as package:
            parts: dict[str, bytes] = {}
            for name in package.namelist():
                try:
                    parts[name] = package.read(name)  # its checksum is proven by reading
                except zipfile.BadZipFile:
                    return [f"the part {name} of the 3MF is damaged"]
            types = ET.fromstring(parts["[Content_Types].xml"])
            relations = ET.fromstring(parts["_rels/.rels"])
            defaults = types.iter(f"{{{CONTENT_TYPES}}}Default")
            known = {each.get("Extension"): each.get("ContentType") for each in defaults}
            starts = [
                each.get("Target", "")
                for each in relations.iter(f"{{{RELATIONSHIPS}}}Relationship")
                if each.get("Type") == START_PART
            ]
            if len(starts) != 1 or known.get("model") != MODEL_TYPE or "rels" not in known:
                return ["the 3MF package does not say where its model is"]
            model = ET.fromstring(parts[starts[0].removeprefix("/")])
    except (
        zipfile.BadZipFile,
        zlib.error,
        KeyError,
        ValueError,
        NotImplementedError,
        ET.ParseError,
    ) as error:
        return [f"the 3MF cannot be read: {error}"]
    return _model_faults(model, objects, items, on_bed=on_bed)


def _asked(element: ET.Element, tag: str, keys: Sequence[str], missing: str) -> list[str]:
    """These values of all elements of a name, one after the other."""
    below = element.iter(f"{{{CORE}}}{tag}")
    return [value for each in below for value in map(each.get, keys, (missing,) * len(keys))]


def _model_faults(
    model: ET.Element, objects: Sequence[Object3mf], items: Sequence[Item3mf], *, on_bed: bool
) -> list[str]:
    import numpy as np

    told = [] if model.get("unit") == "millimeter" else [f"the 3MF's unit is {model.get('unit')}"]
    found = list(model.iter(f"{{{CORE}}}object"))
    ids = [int(each.get("id", "0")) for each in found]
    if len(set(ids)) != len(ids) or any(number < 1 for number in ids):
        told.append(f"the 3MF's object ids are {ids}")
    if [each.get("name") for each in found] != [each.name for each in objects]:
        told.append(f"the 3MF's objects are {[each.get('name') for each in found]}")
    else:
        for element, each in zip(found, objects, strict=True):
            corners = np.array(_asked(element, "vertex", "xyz", "nan"), float).reshape(-1, 3)
            ends = ("v1", "v2", "v3")
            faces = np.array(_asked(element, "triangle", ends, "-1"), int).reshape(-1, 3)
            what = f"object {each.name!r} of the 3MF"
            if not len(faces) or faces.min() < 0 or faces.max() >= len(corners):
                told.append(f"{what} has a triangle without a corner")
                continue
            if len(alike(corners)[0]) != len(corners):
                told.append(f"{what} has a corner twice")
            told += _closed_faults(what, faces) + _solid_faults(
                what, corners[faces], each.mesh, on_bed=on_bed
            )
    built = Counter(each.get("objectid") for each in model.iter(f"{{{CORE}}}item"))
    if built != Counter(str(item.index + 1) for item in items):
        told.append(f"the 3MF builds {dict(built)}, not what was asked")
    places = [each.get("transform", "").split()[9:11] for each in model.iter(f"{{{CORE}}}item")]
    if places != [[fixed(item.x, 9), fixed(item.y, 9)] for item in items]:
        told.append("the 3MF's copies are not where they were put")
    return told


def _closed_faults(what: str, faces: np.ndarray) -> list[str]:
    """Every edge must be walked once each way, by index (3MF core specification 4.1)."""
    import numpy as np

    count = int(faces.max()) + 1
    start = faces.astype(np.int64).reshape(-1)
    end = np.roll(faces, -1, axis=1).astype(np.int64).reshape(-1)
    there, back = np.sort(start * count + end), np.sort(end * count + start)
    if (there[1:] == there[:-1]).any() or not (there == back).all():
        return [f"{what} is not closed, or two of its triangles look opposite ways"]
    return []


def _solid_faults(what: str, corners: np.ndarray, mesh: Mesh, *, on_bed: bool) -> list[str]:
    """Closedness, volume and box of triangles (n, 3, 3) against the mesh they came from."""
    import numpy as np

    if not np.isfinite(corners).all():
        return [f"{what} has a corner that is nowhere"]
    _, index = alike(corners.reshape(-1, 3))
    told = _closed_faults(what, index.reshape(-1, 3))
    volume = float(
        np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])).sum() / 6
    )
    if volume <= 0:
        told.append(f"{what} is inside out (volume {volume:.3f} mm3)")
    elif abs(volume - mesh.volume_mm3) > _VOLUME_SHARE * mesh.volume_mm3:
        told.append(f"{what} has a volume of {volume:.3f} mm3, its solid {mesh.volume_mm3:.3f}")
    low, high = corners.reshape(-1, 3).min(axis=0), corners.reshape(-1, 3).max(axis=0)
    if not np.allclose([low, high], mesh.box, atol=1e-3):
        told.append(f"{what} has the box {low} to {high}")
    if on_bed and abs(float(low[2])) > 1e-3:
        told.append(f"{what} does not stand on the bed: its foot is at z {low[2]:.4f} mm")
    return told
