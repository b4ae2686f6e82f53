"""Pictures as PNG: true to the page they are made of, readable by another library, the same every
time.
"""

from __future__ import annotations

import io
from importlib.resources import files

import numpy as np
import pytest
from PIL import Image

from fab.files.pagepng import page_png, small_png
from fab.files.pagesvg import page_svg
from fab.outlines.contour import circle, polygon
from fab.outlines.figures import arrow, dimension
from fab.outlines.page import CHAIN, DASHED, Fill, Group, Item, Page, Text, line, ring
from fab.outlines.shapes import rectangle, regular


def opened(data: bytes, mode: str = "RGB") -> np.ndarray:
    with Image.open(io.BytesIO(data)) as picture:
        picture.load()
        return np.asarray(picture.convert(mode), dtype=float)


def picture() -> Page:
    plate = rectangle(60, 40, (60, 90), 6)
    items: tuple[Item, ...] = (
        Fill((plate, circle((60, 90), 12)), "#56b4e9", 0.5),
        ring(plate),
        ring(circle((60, 90), 12), 0.5, "#d55e00", DASHED),
        dimension((30, 110), (90, 110), 10),
        dimension((30, 70), (30, 110), 8),
        arrow((110, 60), (110, 90), 0.8),
        line((10, 10), (110, 10), 0.5, "#0072b2", CHAIN),
        Group(
            (ring(regular(6, 20)), Fill((regular(3, 12),), "#009e73", 0.4)),
            (35, 35),
            (-17, -30, 15, 25),
            "A",
        ),
        Text(60, 30, "diffuser 12 @ 45 %", 5, "middle"),
        Text(60, 40, "Turned & bold", 6, "start", 30, "#d55e00", True),
        Text(115, 10, "sheet-01: 600 x 400 mm", 4, "end", 90),
    )
    return Page(120, 130, items, "picture")


def test_png_and_svg_of_one_page_look_alike() -> None:
    """PDFium with the page's PDF beside resvg with its SVG: two renderers, two files, one page.

    Bold differs: the PDF thickens the letters, a browser takes a bolder font where it has one.
    """
    resvg = pytest.importorskip("resvg_py")
    ours = opened(page_png(picture()), "L")
    font = str(files("fab.files") / "fonts" / "DejaVuSans.ttf")
    written = page_svg(picture()).decode()
    written = written.replace('width="120mm"', 'width="960"').replace(
        'height="130mm"', 'height="1040"'
    )
    drawn = resvg.svg_to_bytes(svg_string=written, background="white", font_files=[font])
    theirs = opened(bytes(drawn), "L")
    assert ours.shape == theirs.shape == (1040, 960)
    assert (abs(ours - theirs) > 100).mean() < 0.01
    for part in np.array_split(np.arange(1040), 13):  # no part of it is missing
        assert (ours[part] < 250).mean() == pytest.approx(
            (theirs[part] < 250).mean(), rel=0.3, abs=6e-3
        )


def test_the_file_says_its_size_and_comes_out_the_same() -> None:
    data = page_png(picture())
    assert data == page_png(picture())
    with Image.open(io.BytesIO(data)) as found:
        assert found.size == (960, 1040)
        assert found.info["dpi"] == pytest.approx((203.2, 203.2))
    assert len(data) < 80_000
    assert opened(page_png(picture(), 2.0)).shape == (260, 240, 3)
    assert opened(page_png(Page(3, 2))).min() == 255  # nothing on it


def test_a_crowded_picture_takes_fewer_points() -> None:
    assert small_png(picture()) == page_png(picture(), 8.0)
    least = len(page_png(picture(), 5.0))
    assert small_png(picture(), least) == page_png(picture(), 5.0)
    assert small_png(picture(), 1) == page_png(picture(), 3.0)


def test_many_colours_are_kept_apart() -> None:
    """More than a palette holds: 400 squares, each in its own colour, read back by another
    library.
    """
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
    """A clockwise and a counter-clockwise square on each other; rings by the even-odd rule keep
    their holes.
    """
    square = [(2.0, 2.0), (12.0, 2.0), (12.0, 12.0), (2.0, 12.0)]
    one, two = Fill((polygon(square),)), Fill((polygon(square[::-1]),))
    item = Text(7, 4, "M", 8, "middle")
    page = Page(14, 14, (one, two, one, item, ring(polygon(square[::-1]), 3.0)))
    assert opened(page_png(page), "L")[4 * 8 : 10 * 8, 4 * 8 : 10 * 8].max() == 0
    odd = Fill((polygon(square), circle((7, 7), 3), circle((7, 7), 1)))
    found = opened(page_png(Page(14, 14, (odd, odd))), "L")
    assert (found[7 * 8, 7 * 8], found[7 * 8, 5 * 8], found[7 * 8, 3 * 8]) == (0, 255, 0)
