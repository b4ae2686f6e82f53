"""PDF of pages at true size: vectors, one embedded font, "no scaling" for the print dialog.

Streams are left uncompressed: every zlib packs differently, and the same inputs have to give the
same bytes on every machine. `PrintScaling None` is only the dialog's first choice, so a page that
must be to scale still needs its bars.
"""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from functools import cache
from importlib.resources import as_file, files
from typing import Any

from fab.errors import BrokenGeometry
from fab.files.words import writable
from fab.outlines.contour import Arc, Point, Segment, turn
from fab.outlines.page import Fill, Group, Image, Item, Page, Stroke, Text

PT_PER_MM = 72 / 25.4
LONGEST_MM = 14_400 / PT_PER_MM  # ISO 32000-1 annex C: a page is at most 14400 units long

FONT = "DejaVu Sans"
_BEZIER_TOL_MM = 0.0005  # how far a curve may stray from its arc
_BOLD_SHARE = 0.035  # bold is the same letter with an edge this wide, as a share of its size
_EVEN_ODD = 0  # reportlab's name for the even-odd rule


def pdf(pages: Sequence[Page], title: str) -> bytes:
    """One PDF of all pages, each at its size in mm, a bookmark for each that has a title.

    Raises BrokenGeometry without pages or for a page over 5080 mm, ValueError for a place that is
    not finite.
    """
    from reportlab.pdfgen.canvas import Canvas

    if not pages:
        raise BrokenGeometry("a PDF needs at least one page")
    for page in pages:
        if max(page.width, page.height) > LONGEST_MM:
            raise BrokenGeometry(
                f"a page of {page.width:g} x {page.height:g} mm is over a PDF's 5080 mm"
            )
    register_font()
    stream = io.BytesIO()
    canvas = Canvas(
        stream, invariant=1, pageCompression=0, initialFontName=FONT, initialFontSize=10
    )
    canvas.setTitle(writable(title))
    canvas.setAuthor("")
    canvas.setSubject("")
    canvas.setCreator("panejig")
    canvas.setViewerPreference("PrintScaling", "None")
    for number, page in enumerate(pages, 1):
        canvas.setPageSize((page.width * PT_PER_MM, page.height * PT_PER_MM))
        if page.title:
            canvas.bookmarkPage(f"page-{number}")
            canvas.addOutlineEntry(writable(page.title), f"page-{number}")
        for item in page.items:
            draw(canvas, item)
        canvas.showPage()
    canvas.save()
    return stream.getvalue()


@cache
def register_font() -> None:
    """Make the shipped font known to reportlab under `FONT`.

    Pictures stand in a file as bytes from then on: written in letters, as the library does by
    itself, they take a quarter more room and a tenth of a book's time.
    """
    from reportlab import rl_config
    from reportlab.pdfbase.pdfmetrics import registerFont
    from reportlab.pdfbase.ttfonts import TTFont

    class Font(TTFont):  # type: ignore[misc]
        """Words recur: each is measured once, not letter by letter each time."""

        def stringWidth(self, text: str, size: float, encoding: str = "utf8") -> float:
            if text not in known:
                known[text] = super().stringWidth(text, 1000.0, encoding)
            return 0.001 * size * known[text]

    known: dict[str, float] = {}
    with as_file(files("fab.files") / "fonts" / "DejaVuSans.ttf") as path:
        registerFont(Font(FONT, str(path)))
    rl_config.useA85 = 0


def draw(canvas: Any, item: Item, places: int = 4) -> None:
    """Paint a page item at a canvas's origin, paths with so many decimals of a point."""
    match item:
        case Stroke():
            canvas.setStrokeColor(_colour(item.colour))
            canvas.setLineWidth(_pt(item.width_mm))
            canvas.setDash([_pt(part) for part in item.dash])
            path = _PdfPath(places)
            path.trace(item.segments, closed=item.closed)
            canvas.drawPath(path, stroke=1, fill=0)
        case Fill():
            canvas.setFillColor(_colour(item.colour))
            canvas.setFillAlpha(item.opacity)
            path = _PdfPath(places)
            for contour in item.contours:
                path.trace(contour.segments, closed=True)
            canvas.drawPath(path, stroke=0, fill=1, fillMode=_EVEN_ODD)
            canvas.setFillAlpha(1.0)
        case Text():
            _text(canvas, item)
        case Group():
            canvas.saveState()
            canvas.translate(_pt(item.shift[0]), _pt(item.shift[1]))
            if item.clip:
                x0, y0, x1, y1 = (_pt(value) for value in item.clip)
                path = canvas.beginPath()
                path.rect(x0, y0, x1 - x0, y1 - y0)
                canvas.clipPath(path, stroke=0, fill=0)
            for inner in item.items:
                draw(canvas, inner, places)
            canvas.restoreState()
        case Image():
            from reportlab.lib.utils import ImageReader

            picture = ImageReader(io.BytesIO(item.png))
            canvas.drawImage(picture, *map(_pt, (item.x, item.y, item.width, item.height)))


def _text(canvas: Any, item: Text) -> None:
    from reportlab.pdfbase.pdfmetrics import stringWidth

    size = _pt(item.size_mm)
    words = " ".join(writable(item.text).split())
    back = {"start": 0.0, "middle": 0.5, "end": 1.0}[item.anchor] * stringWidth(words, FONT, size)
    angle = math.radians(item.turn_deg)
    dx, dy = turn((-back, 0.0), angle)
    cos, sin = math.cos(angle), math.sin(angle)
    canvas.setFillColor(_colour(item.colour))
    line = canvas.beginText()
    line.setTextTransform(cos, sin, -sin, cos, _pt(item.x) + dx, _pt(item.y) + dy)
    line.setFont(FONT, size)
    if item.bold:
        canvas.setStrokeColor(_colour(item.colour))
        canvas.setLineWidth(size * _BOLD_SHARE)
        canvas.setDash([])
    line.setTextRenderMode(2 if item.bold else 0)
    line.textOut(words)
    line.setTextRenderMode(0)
    canvas.drawText(line)


class _PdfPath:
    """A path for `canvas.drawPath`, which asks it for its code.

    The library's own takes most of a page's time to find the fewest digits of each number; here
    all have the same.
    """

    def __init__(self, places: int) -> None:
        self.code = ["n"]
        self.places = places

    def _pairs(self, *points: Point) -> str:
        return " ".join(f"{_pt(value):.{self.places}f}" for point in points for value in point)

    def getCode(self) -> str:
        return " ".join(self.code)

    def trace(self, segments: Sequence[Segment], *, closed: bool) -> None:
        """One run of segments; a closed one's last straight line is left to the closing."""
        code = self.code
        code.append(f"{self._pairs(segments[0].start)} m")
        last = len(segments) - 1 if closed else -1
        for place, seg in enumerate(segments):
            if isinstance(seg, Arc):
                code += [f"{self._pairs(*curve)} c" for curve in beziers(seg)]
            elif place != last:
                code.append(f"{self._pairs(seg.end)} l")
        if closed:
            code.append("h")


def beziers(arc: Arc) -> list[tuple[Point, Point, Point]]:
    """Cubic curves (two handles and an end) within 0.0005 mm of the arc.

    A cubic with handles 4/3 tan(a/4) r strays outwards by r 2/27 sin^6(a/4) / cos^2(a/4) (Goldapp,
    CAGD 8 (1991); from memory, held by a test that measures).
    """
    count = max(1, math.ceil(abs(arc.sweep_rad) / (math.pi / 2) - 1e-9))
    while _stray(arc.sweep_rad / count) * arc.radius_mm > _BEZIER_TOL_MM:
        count += 1
    step = arc.sweep_rad / count
    reach = 4 / 3 * math.tan(step / 4)
    out = []
    for k in range(count):
        start, end = arc.at(k / count), arc.at((k + 1) / count)
        rx, ry = start[0] - arc.centre[0], start[1] - arc.centre[1]
        sx, sy = end[0] - arc.centre[0], end[1] - arc.centre[1]
        out.append(
            (
                (start[0] - ry * reach, start[1] + rx * reach),
                (end[0] + sy * reach, end[1] - sx * reach),
                end,
            )
        )
    return out


def _stray(sweep_rad: float) -> float:
    return 2 / 27 * math.sin(abs(sweep_rad) / 4) ** 6 / math.cos(sweep_rad / 4) ** 2


def _colour(text: str) -> Any:
    from reportlab.lib.colors import HexColor

    return HexColor(text)


def _pt(value_mm: float) -> float:
    if not math.isfinite(value_mm):
        raise ValueError(f"{value_mm} is not a number that a file can hold")
    return value_mm * PT_PER_MM
