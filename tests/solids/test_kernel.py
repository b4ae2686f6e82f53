"""The border post to the CAD kernel against closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fab.errors import BrokenGeometry
from fab.outlines.contour import Outline, circle, polygon
from fab.outlines.shapes import rectangle, regular, slot
from fab.solids import kernel
from fab.solids.cuts import across_edge, area_of, beside_edge, cut_at, flats, loops_of, turned
from fab.solids.mesh import Mesh
from fab.solids.meshing import is_closed, mesh
from fab.solids.step import step
from tests.sections import section_area

PLATE = Outline(
    rectangle(40.0, 20.0, (0.0, 0.0), 3.0),
    (circle((10.0, 0.0), 4.0), slot((-12.0, 0.0), (-6.0, 0.0), 3.0)),
)


def test_a_prism_has_the_outline_s_area_at_every_height() -> None:
    solid = kernel.prism(PLATE, 1.0, 6.0)
    assert kernel.volume(solid) == pytest.approx(PLATE.area_mm2 * 5.0, rel=1e-9)
    assert section_area(solid, 3.3) == pytest.approx(PLATE.area_mm2, rel=1e-9)
    assert kernel.box_of(solid) == pytest.approx((-20.0, -10.0, 1.0, 20.0, 10.0, 6.0), abs=1e-3)


def test_a_prism_without_height_is_refused() -> None:
    with pytest.raises(BrokenGeometry, match="has no height"):
        kernel.prism(PLATE, 2.0, 2.0)


def test_a_frustum_between_polygons() -> None:
    """Prismatoid: h/6 (A0 + 4 Am + A1)."""
    low, high = regular(6, 30.0), regular(6, 28.0)
    solid = kernel.frustum(low, 0.0, high, 2.0)
    middle = regular(6, 29.0).area_mm2
    assert kernel.volume(solid) == pytest.approx(
        2.0 / 6 * (low.area_mm2 + 4 * middle + high.area_mm2), rel=1e-6
    )


def test_a_frustum_has_true_planes_and_cones() -> None:
    """Prismatoid formula h/6 (A0 + 4 Am + A1), exact for sides ruled between parallel ends; free
    surfaces are what the kernel's booleans went wrong on: a triangle's slopes, cut from a body,
    left the body as it was.
    """
    for (low, at_low), (high, at_high) in (((62.0, 4.0), (60.0, 2.0)), ((62.0, 0.0), (30.0, 0.0))):
        a, m, b = (
            regular(3, low, at_low),
            regular(3, (low + high) / 2, (at_low + at_high) / 2),
            regular(3, high, at_high),
        )
        solid = kernel.frustum(a, 0.0, b, 5.0)
        assert kernel.volume(solid) == pytest.approx(
            5 / 6 * (a.area_mm2 + 4 * m.area_mm2 + b.area_mm2), rel=1e-9
        )
        assert solid.isValid()
        assert {face.geomType() for face in solid.Faces()} <= {"PLANE", "CONE"}
    body, slopes = (
        kernel.prism(regular(3, 34.0), 3.0, 55.0),
        kernel.frustum(regular(3, 69.55), 18.37, regular(3, 29.24), 52.2),
    )
    shaft = kernel.common(slopes, kernel.prism(regular(3, 32.7, 2.65), 19.37, 52.8))
    assert kernel.volume(kernel.carved(body, [shaft])) == pytest.approx(
        kernel.volume(body) - kernel.volume(shaft), rel=1e-9
    )


def test_a_cone() -> None:
    assert kernel.volume(kernel.cone(3.0, 4.0, 1.0, 5.0, 3.0, 2.0)) == pytest.approx(
        math.pi * 2 / 3 * (25 + 10 + 4), rel=1e-9
    )


def test_turned_moved_tilted() -> None:
    box = kernel.box(0, 10, 0, 4, 0, 2)
    assert kernel.centre(kernel.turned(box, 90.0)) == pytest.approx((-2.0, 5.0, 1.0))
    assert kernel.centre(kernel.moved(box, 1.0, 2.0, 3.0)) == pytest.approx((6.0, 4.0, 4.0))
    assert kernel.centre(kernel.tilted(box, "y", 90.0)) == pytest.approx((1.0, 2.0, -5.0))
    assert kernel.centre(
        kernel.ridge(polygon([(0, 0), (3, 0), (0, 3)]), 2.0, 8.0)
    ) == pytest.approx((1.0, 5.0, 1.0))


def test_overlap_and_distance() -> None:
    a, b = kernel.box(0, 10, 0, 10, 0, 10), kernel.box(9.5, 20, 0, 10, 5, 10)
    assert kernel.overlap_mm3(a, b) == pytest.approx(0.5 * 10 * 5)
    assert (
        kernel.overlap_mm3(a, kernel.moved(b, 0.5, 0.0, 0.0)) == 0.0
    )  # faces that touch share nothing
    assert kernel.distance_mm(a, kernel.moved(b, 2.0, 0.0, 0.0)) == pytest.approx(1.5)
    assert kernel.overlap_mm3(a, kernel.group([b, kernel.box(-5, 1, 0, 1, 0, 1)])) == pytest.approx(
        26.0
    )


def test_common_is_never_nothing() -> None:
    a = kernel.box(0, 10, 0, 10, 0, 10)
    assert kernel.volume(kernel.common(a, kernel.box(5, 15, 5, 15, 5, 15))) == pytest.approx(125.0)
    with pytest.raises(BrokenGeometry, match="sharing nothing"):
        kernel.common(a, kernel.box(20, 30, 0, 10, 0, 10))


def test_one_body_is_held_to_its_promise() -> None:
    two = kernel.group([kernel.box(0, 1, 0, 1, 0, 1), kernel.box(5, 6, 0, 1, 0, 1)])
    with pytest.raises(BrokenGeometry, match="part lamp came out as 2 bodies"):
        kernel.one_body(two, "lamp")
    nothing = kernel.carved(kernel.box(0, 1, 0, 1, 0, 1), [kernel.box(-1, 2, -1, 2, -1, 2)])
    with pytest.raises(BrokenGeometry, match="0 bodies"):
        kernel.one_body(nothing, "lamp")


def test_a_mesh_is_closed_and_near_its_solid() -> None:
    solid = kernel.prism(PLATE, 0.0, 5.0)
    net = mesh(solid)
    assert is_closed(net)
    assert net.volume_mm3 == pytest.approx(kernel.volume(solid), rel=1e-3)
    # V - E + F with E = 3F/2; two holes: 2 - 2 * 2
    euler = len(net.vertices) - len(net.triangles) // 2
    assert euler == -2


def test_a_mesh_does_not_depend_on_what_was_meshed_before() -> None:
    """The kernel keeps a mesh on the shape: a finer one made before must not come back."""
    solid = kernel.prism(circle((0.0, 0.0), 50.0), 0.0, 5.0)
    first = mesh(solid)
    solid.tessellate(0.001, 0.01)
    again = mesh(solid)
    assert np.array_equal(first.vertices, again.vertices)
    assert np.array_equal(first.triangles, again.triangles)


def test_an_open_mesh_is_told() -> None:
    net = mesh(kernel.box(0, 1, 0, 1, 0, 1))
    assert not is_closed(type(net)(net.vertices, net.triangles[1:]))


def test_cuts_through_a_mesh() -> None:
    net = mesh(kernel.prism(PLATE, 0.0, 5.0))
    cut = cut_at(net, 2.0)
    assert area_of(cut) == pytest.approx(PLATE.area_mm2, rel=2e-3)
    assert len(loops_of(cut)) == 3
    assert flats(net).tolist() == [0.0, 5.0]
    outwards = (cut.normals * (cut.segments.mean(axis=1))).sum(axis=1)
    on_edge = np.abs(cut.segments.mean(axis=1)[:, 0]) > 19.9
    assert (outwards[on_edge] > 0).all()


def test_frames_of_upright_cuts() -> None:
    """(t, z) looking at an edge, and (z, outwards) across it; both keep right and left."""
    net = mesh(kernel.box(8, 10, -1, 3, 0, 5))
    face = cut_at(beside_edge(net, 0.0), 9.0)
    assert face.segments.reshape(-1, 2).min(axis=0) == pytest.approx([-1.0, 0.0])
    assert face.segments.reshape(-1, 2).max(axis=0) == pytest.approx([3.0, 5.0])
    side = cut_at(across_edge(net, 0.0), 1.0)
    assert side.segments.reshape(-1, 2).max(axis=0) == pytest.approx([5.0, 10.0])
    assert area_of(side) == pytest.approx(10.0)
    quarter = turned(net, math.pi / 2)
    assert quarter.vertices.max(axis=0) == pytest.approx([1.0, 10.0, 5.0])
    assert cut_at(beside_edge(quarter, math.pi / 2), 9.0).segments.reshape(
        -1, 2
    ).max() == pytest.approx(5.0)


def test_step_is_alike_every_time_and_refuses_nothing() -> None:
    solid = kernel.prism(PLATE, 0.0, 5.0)
    assert step([("plate", solid)], "plate") == step([("plate", solid)], "plate")
    with pytest.raises(BrokenGeometry):
        step([], "nothing")


def test_a_box_does_not_depend_on_who_meshed_the_solid_before() -> None:
    """A cylinder lies 10 mm either side of its axis; a coarse mesh of it does not."""
    solid = kernel.prism(circle((0.0, 0.0), 10.0), 0.0, 5.0)
    before = kernel.box_of(solid)
    solid.mesh(2.0, 1.0)
    assert kernel.box_of(solid) == before
    assert before == pytest.approx((-10.0, -10.0, 0.0, 10.0, 10.0, 5.0), abs=1e-6)


def test_the_bodies_of_a_mesh_are_told_apart() -> None:
    """Corners of a far copy belong to another body; scipy's connected components find the
    same two.
    """
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    one = mesh(kernel.prism(PLATE, 0.0, 5.0))
    count = len(one.vertices)
    both = Mesh(
        np.concatenate([one.vertices, one.vertices + 500.0]),
        np.concatenate([one.triangles, one.triangles + count]),
    )
    dice = np.random.default_rng(5).permutation(2 * count)  # corners in any order
    mixed = Mesh(both.vertices[np.argsort(dice)], dice[both.triangles].astype(np.int32))
    a, b = np.concatenate([mixed.triangles[:, :2], mixed.triangles[:, 1:]]).T
    many, label = connected_components(
        coo_matrix((np.ones(len(a)), (a, b)), shape=(2 * count, 2 * count)), directed=False
    )
    assert many == len(np.unique(mixed.bodies)) == 2
    assert len({(x, y) for x, y in zip(label.tolist(), mixed.bodies.tolist(), strict=True)}) == 2
