"""Pictures as PNG: read by another library, painted as other painters paint them, the same every time."""

from __future__ import annotations

import io
import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from fab.files import letters
from fab.files.pagepng import page_png, small_png
from fab.files.pdf import pdf
from fab.files.raster import Canvas
from fab.outlines.contour import circle, polygon
from fab.outlines.figures import arrow, dimension, text_width_mm
from fab.outlines.page import CHAIN, DASHED, Fill, Group, Item, Page, Text, line, ring
from fab.outlines.shapes import rectangle, regular

Image = pytest.importorskip("PIL.Image")  # a second reader; it comes with the PDF library
INK = (0, 0, 0)


def opened(data: bytes, mode: str = "RGB") -> np.ndarray:
    with Image.open(io.BytesIO(data)) as picture:
        picture.load()
        return np.asarray(picture.convert(mode), dtype=float)


def dark(canvas: Canvas) -> np.ndarray:
    return 1 - canvas.pixels[:, :, 0] / 255


def painted(canvas: Canvas, rings: list[list[tuple[float, float]]], **how: object) -> None:
    corners = np.array([point for one in rings for point in one], float)
    canvas.paint(corners, [len(one) for one in rings], INK, **how)  # type: ignore[arg-type]


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.floats(-6, 26), st.floats(-6, 20)), min_size=3, max_size=7))
def test_a_point_is_as_dark_as_its_square_is_covered(corners: list[tuple[float, float]]) -> None:
    """Every square of 14 x 20 against the area that another library finds in it, within half a shade."""
    shape = shapely.Polygon(corners)
    if not shape.is_valid or shape.area < 0.01:
        return
    canvas = Canvas(14, 20)
    painted(canvas, [corners])
    squares = [shapely.box(x, y, x + 1, y + 1) for y in range(14) for x in range(20)]
    wanted = shapely.area(shapely.intersection(shape, squares)).reshape(14, 20)
    assert np.abs(dark(canvas) - wanted).max() <= 1 / 16 + 3 / 255


def test_holes_overlaps_opacity_and_boxes_by_hand() -> None:
    outer, inner = [(2, 2), (12, 2), (12, 12), (2, 12)], [(5, 5), (9, 5), (9, 9), (5, 9)]
    for rings, how, middle in (
        ([outer, inner], {}, 1.0),  # wound twice is filled once
        ([outer, inner], {"even_odd": True}, 0.0),
        ([outer, inner[::-1]], {}, 0.0),
        ([outer, outer], {"opacity": 0.4}, 0.4),
    ):
        canvas = Canvas(14, 14)
        painted(canvas, rings, **how)
        found = dark(canvas)
        assert found[7, 7] == pytest.approx(middle, abs=1 / 255)
        assert found[3, 3] == pytest.approx(how.get("opacity", 1.0), abs=1 / 255)
        assert found[1, :].max() == found[12, :].max() == found[:, 1].max() == found[:, 12].max() == 0
    canvas = Canvas(14, 14)
    painted(canvas, [outer], clip=(4, 6, 9, 20))
    assert np.argwhere(dark(canvas) > 0).min(axis=0).tolist() == [6, 4]
    assert np.argwhere(dark(canvas) > 0).max(axis=0).tolist() == [11, 8]
    painted(canvas, [[(-9, -9), (-9, -2), (-2, -2)], [(90, 90), (99, 90), (99, 99)]])  # beside the canvas
    assert (dark(canvas) > 0).sum() == 6 * 5


def picture() -> Page:
    plate = rectangle(60, 40, (60, 90), 6)
    items: tuple[Item, ...] = (
        Fill((plate, circle((60, 90), 12)), "#56b4e9", 0.5), ring(plate),
        ring(circle((60, 90), 12), 0.5, "#d55e00", DASHED),
        dimension((30, 110), (90, 110), 10), dimension((30, 70), (30, 110), 8), arrow((110, 60), (110, 90), 0.8),
        line((10, 10), (110, 10), 0.5, "#0072b2", CHAIN),
        Group((ring(regular(6, 20)), Fill((regular(3, 12),), "#009e73", 0.4)), (35, 35), (-17, -30, 15, 25), "A"),
        Text(60, 30, "diffuser 12 @ 45 %", 5, "middle"), Text(60, 40, "Turned & bold", 6, "start", 30, "#d55e00", True),
        Text(115, 10, "sheet-01: 600 x 400 mm", 4, "end", 90),
    )  # fmt: skip
    return Page(120, 130, items, "picture")


def test_png_and_pdf_of_one_page_look_alike() -> None:
    """Our painter beside pdfium with our PDF: no more than smoothed edges differ."""
    pdfium = pytest.importorskip("pypdfium2")
    ours = opened(page_png(picture()), "L")
    drawn = pdfium.PdfDocument(pdf([picture()], "t"))[0].render(scale=8 * 25.4 / 72, grayscale=True)
    theirs = np.asarray(drawn.to_numpy(), dtype=float).reshape(drawn.height, drawn.width)[: len(ours), : ours.shape[1]]
    assert ours.shape == theirs.shape == (1040, 960)
    assert (abs(ours - theirs) > 100).mean() < 0.002
    for part in np.array_split(np.arange(1040), 13):  # no part of it is missing
        assert (ours[part] < 250).mean() == pytest.approx((theirs[part] < 250).mean(), rel=0.1, abs=2e-3)


def test_the_file_says_its_size_and_comes_out_the_same() -> None:
    data = page_png(picture())
    assert data == page_png(picture())
    with Image.open(io.BytesIO(data)) as found:
        assert found.size == (960, 1040)
        assert found.info["dpi"] == pytest.approx((203.2, 203.2))
        assert found.mode == "P"
    assert len(data) < 40_000
    assert opened(page_png(picture(), 2.0)).shape == (260, 240, 3)
    assert opened(page_png(Page(3, 2))).min() == 255  # nothing on it


def test_a_crowded_picture_takes_fewer_points() -> None:
    assert small_png(picture()) == page_png(picture(), 8.0)
    least = len(page_png(picture(), 5.0))
    assert small_png(picture(), least) == page_png(picture(), 5.0)
    assert small_png(picture(), 1) == page_png(picture(), 3.0)


def test_many_colours_are_kept_apart() -> None:
    """More than a palette holds: 400 squares, each in its own colour, read back by another library."""
    colours = [f"#{(k * 97) % 256:02x}{40 * (k // 256):02x}{k % 256:02x}" for k in range(400)]
    assert len(set(colours)) == 400
    fills = tuple(
        Fill((polygon([(x, y), (x + 1, y), (x + 1, y + 1), (x, y + 1)]),), colour)
        for k, colour in enumerate(colours)
        for x, y in [(k % 20, k // 20)]
    )
    found = opened(page_png(Page(20, 20, fills), 4.0))
    for k, colour in enumerate(colours):
        assert found[(19 - k // 20) * 4 + 2, (k % 20) * 4 + 2].tolist() == [
            int(colour[i : i + 2], 16) for i in (1, 3, 5)
        ]


def test_what_lies_on_its_like_does_not_cancel_out() -> None:
    """Neighbours of one colour are painted together: a clockwise and an anticlockwise square, and letters on them."""
    square = [(2.0, 2.0), (12.0, 2.0), (12.0, 12.0), (2.0, 12.0)]
    one, two = Fill((polygon(square),)), Fill((polygon(square[::-1]),))
    item = Text(7, 4, "M", 8, "middle")
    found = opened(page_png(Page(14, 14, (one, two, one, item, ring(polygon(square[::-1]), 3.0)))), "L")
    assert found[4 * 8 : 10 * 8, 4 * 8 : 10 * 8].max() == 0
    holed = Fill((polygon(square), polygon([(5, 5), (5, 9), (9, 9), (9, 5)])))  # a hole stays open, its like beside it
    found = opened(page_png(Page(14, 14, (holed, Fill((circle((7, 7), 1),)), holed))), "L")
    assert (found[7 * 8, 7 * 8], found[7 * 8, int(5.5 * 8)], found[7 * 8, 3 * 8]) == (0, 255, 0)
    odd = Fill((polygon(square), circle((7, 7), 3), circle((7, 7), 1)))  # by even and odd alone: twice over the same
    found = opened(page_png(Page(14, 14, (odd, odd))), "L")
    assert (found[7 * 8, 7 * 8], found[7 * 8, 5 * 8], found[7 * 8, 3 * 8]) == (0, 255, 0)


def test_letters_are_those_of_the_font() -> None:
    """The shipped table is what comes out of the font now; widths against those that lines of text are fitted by."""
    path = letters.files("fab.files") / "fonts" / "letters.json"
    assert path.read_bytes() == letters.made()
    for text in (letters.PLAIN, "diffuser 12"):
        assert sum(letters.letter(char)[0] for char in text) == pytest.approx(text_width_mm(text, 1.0))
    _, (hole, edge) = letters.letter("O")
    assert shapely.Polygon(edge).contains(shapely.Polygon(hole))
    assert (shapely.is_ccw(shapely.LinearRing(edge)), shapely.is_ccw(shapely.LinearRing(hole))) == (True, False)
    assert len(letters.letter("é")[1]) == 3  # read from the font when asked for
    assert math.isclose(letters.letter("漢")[0], letters.letter("\ue123")[0])  # an empty box
