"""Shaded pictures against ray and plane geometry done by hand."""

from __future__ import annotations

import numpy as np
import pytest

from fab.errors import BrokenGeometry
from fab.solids.mesh import Mesh
from fab.solids.shaded import ShadedShape, shaded

CORNERS = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)], dtype=float)
FACES = np.array(
    [
        [0, 1, 3],
        [0, 3, 2],
        [4, 6, 7],
        [4, 7, 5],
        [0, 4, 5],
        [0, 5, 1],
        [2, 3, 7],
        [2, 7, 6],
        [0, 2, 6],
        [0, 6, 4],
        [1, 5, 7],
        [1, 7, 3],
    ]
)
RED, BLUE = (200, 40, 40), (40, 40, 200)


def box(size: float, at: tuple[float, float, float]) -> Mesh:
    return Mesh(CORNERS * size + np.array(at), FACES)


def kind(pixel: np.ndarray) -> str:
    red, _, blue = (int(value) for value in pixel)
    if red > 245 and blue > 245:
        return "none"
    return "red" if red > blue + 40 else "blue" if blue > red + 40 else "line"


def test_the_nearer_box_hides_the_farther_whatever_the_order() -> None:
    """From above: a small box over a large one; parallel rays meet the small one first."""
    low, high = ShadedShape(box(10.0, (0, 0, 0)), RED), ShadedShape(box(4.0, (3, 3, 12)), BLUE)
    for shapes in ([low, high], [high, low]):
        seen = shaded(shapes, (0.0, 0.0, 1.0), (0.0, 1.0, 0.0), columns=102)
        rows, columns = seen.pixels.shape[:2]
        assert kind(seen.pixels[rows // 2, columns // 2]) == "blue"
        assert kind(seen.pixels[rows // 2, columns // 8]) == "red"
        assert kind(seen.pixels[0, 0]) == "none"
    below = shaded([low, high], (0.0, 0.0, -1.0), (0.0, 1.0, 0.0), columns=102)
    rows, columns = below.pixels.shape[:2]
    assert kind(below.pixels[rows // 2, columns // 2]) == "red"


def test_a_square_covers_its_area_and_its_edge_is_a_line() -> None:
    seen = shaded(
        [ShadedShape(box(10.0, (0, 0, 0)), RED)], (0.0, 0.0, 1.0), (0.0, 1.0, 0.0), columns=204
    )
    covered = (seen.pixels.min(axis=2) < 245).sum()
    x0, y0, x1, y1 = seen.box
    points = seen.pixels.shape[0] * seen.pixels.shape[1]
    assert covered / points == pytest.approx(100.0 / ((x1 - x0) * (y1 - y0)), rel=0.02)
    row = [kind(pixel) for pixel in seen.pixels[100]]
    assert row.count("red") > 180
    edge, inside = (int(seen.pixels[100, row.index("red") + k][0]) for k in (0, 5))
    assert edge < inside - 40  # drawn dark round it


def test_faces_turned_to_the_lamp_are_brighter() -> None:
    """Lambert: light from the upper left; of a box seen from a corner the top is brightest."""
    seen = shaded(
        [ShadedShape(box(10.0, (0, 0, 0)), (200, 200, 200))], (1.0, -1.0, 1.0), columns=200
    )
    rows, columns = seen.pixels.shape[:2]
    top, left, right = (
        int(seen.pixels[int(rows * y), int(columns * x)][0])
        for x, y in ((0.5, 0.2), (0.25, 0.65), (0.75, 0.65))
    )
    assert top > left > right


def test_a_spot_lies_on_its_part_and_bytes_are_the_same() -> None:
    shapes = [
        ShadedShape(box(10.0, (0, 0, 0)), RED, "low"),
        ShadedShape(box(4.0, (20, 0, 0)), BLUE, "right"),
    ]
    seen, again = (shaded(shapes, (0.0, 0.0, 1.0), (0.0, 1.0, 0.0), columns=120) for _ in range(2))
    assert (seen.pixels == again.pixels).all()
    for name, (x0, x1) in {"low": (0.0, 10.0), "right": (20.0, 24.0)}.items():
        assert x0 < seen.spots[name][0] < x1
        assert 0.0 < seen.spots[name][1] < 10.0


def test_nothing_is_no_picture() -> None:
    with pytest.raises(BrokenGeometry, match="nothing"):
        shaded([], (0.0, 0.0, 1.0))
