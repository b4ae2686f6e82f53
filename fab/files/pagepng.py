"""PNG of a page or picture, for viewers without SVG: the page's PDF, rendered by PDFium."""

from __future__ import annotations

import math

from fab.files.pdf import PT_PER_MM, pdf
from fab.files.png import png
from fab.outlines.page import Page

POINTS_PER_MM = 8.0
MOST_BYTES = 400_000
_COARSER = (POINTS_PER_MM, 5.0, 3.0)


def page_png(page: Page, points_per_mm: float = POINTS_PER_MM) -> bytes:
    """The page as a file with its size in mm; same page and renderer, same bytes."""
    return _rendered(pdf([page], page.title), page, points_per_mm)


def small_png(page: Page, most_bytes: int = MOST_BYTES) -> bytes:
    """The page at the finest of three resolutions within `most_bytes`, else at the coarsest."""
    written = pdf([page], page.title)
    for points_per_mm in _COARSER:
        data = _rendered(written, page, points_per_mm)
        if len(data) <= most_bytes:
            break
    return data


def _rendered(written: bytes, page: Page, points_per_mm: float) -> bytes:
    """`written`, the PDF of `page`, as RGB points on white, cut at the page's end."""
    import pypdfium2

    document = pypdfium2.PdfDocument(written)
    try:
        drawn = document[0].render(scale=points_per_mm / PT_PER_MM, rev_byteorder=True)
        rows = math.ceil(page.height * points_per_mm)
        columns = math.ceil(page.width * points_per_mm)
        return png(drawn.to_numpy()[:rows, :columns].copy(), points_per_mm)
    finally:
        document.close()
