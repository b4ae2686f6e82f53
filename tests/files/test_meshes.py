"""STL against a mesh library, 3MF against the format's reference implementation."""

import io
import math
import zipfile
from typing import Any

import pytest

from fab.errors import BrokenGeometry
from fab.files.stl import stl
from fab.files.threemf import Item3mf, Object3mf, threemf
from fab.solids.mesh import Mesh

np = pytest.importorskip("numpy")


def _box(x: Any = 10.0, y: Any = 10.0, z: Any = 10.0) -> Any:
    corners = np.array(
        [[i * x, j * y, k * z] for k in (0, 1) for j in (0, 1) for i in (0, 1)], dtype=float
    )
    faces = [
        (0, 2, 3),
        (0, 3, 1),
        (4, 5, 7),
        (4, 7, 6),
        (0, 1, 5),
        (0, 5, 4),
        (2, 6, 7),
        (2, 7, 3),
        (0, 4, 6),
        (0, 6, 2),
        (1, 3, 7),
        (1, 7, 5),
    ]
    return Mesh(corners, np.array(faces, dtype=np.int32))


def test_stl_size_is_84_and_50_a_triangle() -> None:
    """A box has 12 triangles: 684 bytes (reference-values section 3)."""
    assert len(stl(_box(), "box")) == 684


def test_stl_header_and_count(ring_mesh: Any) -> None:
    data = stl(ring_mesh, "solid-looking name \u00e9")
    assert data[:5] != b"solid"
    assert b"mm" in data[:80]
    assert int.from_bytes(data[80:84], "little") == len(ring_mesh.triangles)
    assert len(stl(ring_mesh, "x" * 500)) == len(data)


def test_stl_is_one_closed_body_of_the_known_volume(ring_mesh: Any) -> None:
    """n-gon prism ring: n/2 sin(2 pi / n) (R^2 - r^2) h (elementary), read by trimesh."""
    trimesh = pytest.importorskip("trimesh")
    read = trimesh.load(io.BytesIO(stl(ring_mesh, "ring")), file_type="stl")
    assert read.is_watertight
    assert read.is_winding_consistent
    assert read.body_count == 1
    assert read.euler_number == 0  # a ring: V - E + F = 0
    assert read.volume == pytest.approx(32 * math.sin(math.pi / 32) * (100 - 36) * 4, rel=1e-6)
    assert read.bounds[0][2] == 0


def test_stl_normals_are_those_of_the_corners() -> None:
    trimesh = pytest.importorskip("trimesh")
    data = stl(_box(3, 4, 5), "box")
    records = np.frombuffer(
        data, np.dtype([("n", "<f4", 3), ("c", "<f4", (3, 3)), ("a", "<u2")]), offset=84
    )
    read = trimesh.load(io.BytesIO(data), file_type="stl", process=False)
    assert np.allclose(records["n"], read.face_normals, atol=1e-6)
    assert not records["a"].any()


@pytest.mark.parametrize(
    ("mesh", "says"),
    [
        (lambda: Mesh(_box().vertices, _box().triangles[:-1]), "not closed"),
        (lambda: Mesh(_box().vertices, _box().triangles[:0]), "empty"),
        (lambda: Mesh(_box().vertices * np.nan, _box().triangles), "nowhere"),
        (
            lambda: Mesh(
                _box().vertices, np.vstack([_box().triangles[:-1], _box().triangles[-1:, ::-1]])
            ),
            "not closed",
        ),
    ],
)
def test_a_mesh_that_is_no_solid_is_refused(mesh: Any, says: str) -> None:
    with pytest.raises(BrokenGeometry, match=f"'lid'.*{says}"):
        stl(mesh(), "lid")
    with pytest.raises(BrokenGeometry, match=f"'lid'.*{says}"):
        threemf([Object3mf("lid", mesh())], [Item3mf(0)], "")


def test_corners_that_fall_together_in_the_file_are_welded() -> None:
    """One corner split in two, 1e-7 mm apart, with the sliver between: float32 and 5 decimals make
    them one.
    """
    box = _box()
    twin = len(box.vertices)
    vertices = np.vstack([box.vertices, box.vertices[7] + (0, 0, 1e-7)])
    faces = box.triangles.copy()
    faces[2] = (4, 5, twin)
    faces[3] = (4, twin, 6)
    slivers = [(5, 7, twin), (7, 6, twin)]
    mesh = Mesh(vertices, np.vstack([faces, slivers]).astype(np.int32))
    assert len(stl(mesh, "box")) == 684
    assert b"<vertex" in zipfile.ZipFile(
        io.BytesIO(threemf([Object3mf("b", mesh)], [Item3mf(0)], ""))
    ).read("3D/3dmodel.model")


def _reference(data: bytes) -> Any:
    lib3mf = pytest.importorskip("lib3mf")
    wrapper = lib3mf.Wrapper()
    model = wrapper.CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromBuffer(data)
    return model, [reader.GetWarning(k) for k in range(reader.GetWarningCount())]


def test_3mf_opens_in_the_reference_implementation_without_a_warning(ring_mesh: Any) -> None:
    objects = [Object3mf("base <A> & \u00e4", ring_mesh), Object3mf("shell", _box(3, 4, 5))]
    items = [Item3mf(0, 20, 30), Item3mf(1, 60, 30, 90), Item3mf(0, 100.125, 30, 33, 2.5)]
    model, warnings = _reference(threemf(objects, items, "plate 1"))
    assert warnings == []
    found = model.GetMeshObjects()
    seen = []
    while found.MoveNext():
        mesh = found.GetCurrentMeshObject()
        assert mesh.IsManifoldAndOriented()
        seen.append((mesh.GetName(), mesh.GetVertexCount(), mesh.GetTriangleCount()))
    assert seen == [
        ("base <A> & \u00e4", len(ring_mesh.vertices), len(ring_mesh.triangles)),
        ("shell", 8, 12),
    ]
    built = model.GetBuildItems()
    boxes = []
    while built.MoveNext():
        transform = built.GetCurrent().GetObjectTransform()
        boxes.append([[transform.Fields[i][k] for k in range(3)] for i in range(4)])
    assert len(boxes) == 3
    assert boxes[0][3] == pytest.approx([20, 30, 0])
    assert boxes[1][:2] == [
        pytest.approx([0, 1, 0], abs=1e-6),
        pytest.approx([-1, 0, 0], abs=1e-6),
    ]  # x turns to y
    assert boxes[2][3] == pytest.approx([100.125, 30, 2.5])


def test_3mf_package_is_what_the_specification_asks(ring_mesh: Any) -> None:
    """Core specification 1.4: deflate or stored, required parts, ids from 1 (reference-values
    section 3).
    """
    package = zipfile.ZipFile(
        io.BytesIO(threemf([Object3mf("ring", ring_mesh)], [Item3mf(0)], "t"))
    )
    assert [entry.filename for entry in package.infolist()] == [
        "[Content_Types].xml",
        "_rels/.rels",
        "3D/3dmodel.model",
    ]
    for entry in package.infolist():
        assert entry.compress_type in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
        assert entry.date_time == (1980, 1, 1, 0, 0, 0)
    model = package.read("3D/3dmodel.model").decode()
    assert 'unit="millimeter"' in model
    assert '<object id="1"' in model


@pytest.mark.parametrize(
    ("objects", "items", "says"),
    [
        (0, [Item3mf(0)], "at least one"),
        (1, [], "at least one"),
        (1, [Item3mf(1)], "no object 1"),
        (1, [Item3mf(-1)], "no object"),
    ],
)
def test_3mf_without_something_to_build_is_refused(objects: int, items: Any, says: str) -> None:
    with pytest.raises(BrokenGeometry, match=says):
        threemf([Object3mf("box", _box())] * objects, items, "")
