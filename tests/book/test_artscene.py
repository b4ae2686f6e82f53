"""Art in the view in three dimensions: the mesh of a sheet against its outline."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fab.book import artscene
from fab.outlines.contour import Outline, circle
from fab.outlines.shapes import rectangle


def face_area(corners: np.ndarray, faces: np.ndarray, z: float) -> float:
    """Area of the triangles that lie flat at height z."""
    flat = faces[np.all(np.abs(corners[faces][:, :, 2] - z) < 1e-9, axis=1)]
    a, b, c = (corners[flat[:, k], :2] for k in range(3))
    return float(np.abs((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]).sum() / 2)


def test_the_faces_of_a_sheet_have_the_area_of_its_outline_and_its_walls_their_length() -> None:
    """A plate of 60 x 40 with two round holes and one turned square, by hand: each hole's area off,
    each wall there.
    """
    holes = (
        circle((-15, 0), 8).reversed(),
        circle((12, 5), 5).reversed(),
        rectangle(6, 6, (0, 0)).turned(0.6).moved(20, -10).reversed(),
    )
    plate = Outline(rectangle(60, 40, (0, 0), 4), holes)
    corners, faces = artscene.sheet(plate, 10.0, 13.0)
    for z in (10.0, 13.0):
        assert face_area(corners, faces, z) == pytest.approx(plate.area_mm2, rel=5e-3)
    a, b, c = (corners[faces[:, k]] for k in range(3))
    sides = np.linalg.norm(np.cross(b - a, c - a), axis=1) / 2
    upright = np.ptp(corners[faces][:, :, 2], axis=1) > 1
    assert sides[upright].sum() == pytest.approx(3.0 * plate.length_mm, rel=5e-3)


def test_strokes_are_ribbons_and_a_dense_hatching_is_thinned() -> None:
    corners, faces = artscene.ribbons([[(0, 0), (3, 4)], [(10, 0), (10, 2), (12, 2)]], 5.0)
    assert face_area(corners, faces, 5.0) == pytest.approx(9.0 * artscene.RIBBON_MM)
    many = [[(0, 0.1 * k), (50, 0.1 * k)] for k in range(20_000)]
    assert len(artscene.ribbons(many, 0.0)[0]) <= 4 * artscene.MOST_STROKES
    assert len(artscene.ribbons([], 0.0)[0]) == 0
    assert math.isclose(
        face_area(*artscene.ribbons(many[:10], 0.0), 0.0), 10 * 50 * artscene.RIBBON_MM
    )
