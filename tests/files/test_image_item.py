"""A picture of points on a page: read back from SVG by the standard library, from PDF by PDFium."""

from __future__ import annotations

import base64
import io
import xml.etree.ElementTree as ET

import numpy as np
import pypdfium2
from PIL import Image as Pillow

from fab.book.pagestore import from_plain, to_plain
from fab.files.pagesvg import page_svg
from fab.files.pdf import pdf
from fab.files.png import few_colours
from fab.outlines.page import Image, Page


def picture() -> bytes:
    points = np.full((30, 60, 3), 255, np.uint8)
    points[10:20, 10:50] = (30, 120, 200)
    return few_colours(points)


def test_it_stands_where_it_should_on_svg_and_pdf() -> None:
    page = Page(100.0, 50.0, (Image(20.0, 10.0, 60.0, 30.0, picture()),), "t", "s")
    (image,) = ET.fromstring(page_svg(page)).iter("{http://www.w3.org/2000/svg}image")
    box = [float(image.get(key) or "") for key in ("x", "y", "width", "height")]
    assert box == [20.0, 50.0 - 40.0, 60.0, 30.0]
    kind, _, data = (image.get("href") or "").partition(",")
    assert kind == "data:image/png;base64"
    assert base64.b64decode(data) == picture()
    (sheet,) = pypdfium2.PdfDocument(pdf([page], "t"))
    (item,) = (one for one in sheet.get_objects() if one.type == pypdfium2.raw.FPDF_PAGEOBJ_IMAGE)
    mm = [value * 25.4 / 72 for value in item.get_bounds()]
    assert np.allclose(mm, [20.0, 10.0, 80.0, 40.0], atol=0.01)


def test_it_is_kept_as_plain_data_and_its_ground_stays_white() -> None:
    page = Page(100.0, 50.0, (Image(20.0, 10.0, 60.0, 30.0, picture()),), "t", "s")
    assert from_plain(to_plain(page)) == page
    read = np.asarray(Pillow.open(io.BytesIO(picture())).convert("RGB"))
    assert (read[0, 0] == 255).all()
    assert (read[15, 30] == (30, 120, 200)).all()
