"""Pages of a PDF as strokes, fills and words in mm, read by PDFium."""

from __future__ import annotations

import ctypes
import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from fab.proof.tree import Unreadable

MM = 25.4 / 72
MOST_PAGES = 5000
SAME_MM = 1e-3
CURVE = 12  # points on a curve
Spot = tuple[float, float]
Matrix = tuple[float, float, float, float, float, float]


@dataclass(frozen=True)
class Ink:
    """One painted path: its corners and points of its curves, and the colour of line or fill."""

    points: tuple[tuple[float, float], ...]
    colour: tuple[float, ...]
    filled: bool

    @property
    def box(self) -> tuple[float, float, float, float]:
        """The least and greatest x and y of its points."""
        xs, ys = zip(*self.points, strict=True)
        return (min(xs), min(ys), max(xs), max(ys))


@dataclass(frozen=True)
class Word:
    """A text where it begins; (a, b) is the direction of its line, `mirrored` whether it reads
    backwards.
    """

    text: str
    x: float
    y: float
    a: float
    b: float
    mirrored: bool


@dataclass
class PdfPage:
    """A page in mm, y up. `clips`: boxes that something was cut to."""

    width: float
    height: float
    inks: list[Ink] = field(default_factory=list)
    words: list[Word] = field(default_factory=list)
    clips: list[tuple[float, float, float, float]] = field(default_factory=list)


def read_words(path: str, data: bytes) -> list[PdfPage]:
    """The pages of a file, their words alone: quicker. Raises Unreadable."""
    return read_pdf(path, data, words_only=True)


def read_pdf(path: str, data: bytes, *, words_only: bool = False) -> list[PdfPage]:
    """The pages of a file. Raises Unreadable."""
    import pypdfium2

    try:
        document = pypdfium2.PdfDocument(data)
    except pypdfium2.PdfiumError as error:
        raise Unreadable(path, f"is no PDF that can be read ({error})") from error
    try:
        if len(document) > MOST_PAGES:
            raise Unreadable(path, f"has more than {MOST_PAGES} pages")
        return [_page(page, words_only=words_only) for page in document]
    except pypdfium2.PdfiumError as error:
        raise Unreadable(path, f"has a page that cannot be read ({error})") from error
    finally:
        document.close()


def _page(page: Any, *, words_only: bool) -> PdfPage:
    from pypdfium2 import raw

    left, low, right, high = page.get_mediabox()
    found = PdfPage((right - left) * MM, (high - low) * MM)
    home: Matrix = (1.0, 0.0, 0.0, 1.0, -left, -low)
    texts = page.get_textpage()
    clips: dict[tuple[float, float, float, float], None] = {}
    for k in range(raw.FPDFPage_CountObjects(page)):
        one = raw.FPDFPage_GetObject(page, k)
        kind = raw.FPDFPageObj_GetType(one)
        if kind == raw.FPDF_PAGEOBJ_TEXT:
            a, b, c, d, x, y = _times(_matrix(one), home)
            found.words.append(Word(_said(one, texts), x * MM, y * MM, a, b, a * d - b * c < 0))
        if words_only:
            continue
        clips |= dict.fromkeys(_clips(one, home))
        if kind == raw.FPDF_PAGEOBJ_PATH:
            found.inks += _ink(one, _times(_matrix(one), home))
    found.clips += clips
    return found


def _said(one: Any, texts: Any) -> str:
    """The letters of a text object."""
    from pypdfium2 import raw

    size = raw.FPDFTextObj_GetText(one, texts, None, 0)
    room = ctypes.create_string_buffer(size)
    raw.FPDFTextObj_GetText(one, texts, ctypes.cast(room, ctypes.POINTER(raw.FPDF_WCHAR)), size)
    return room.raw[: max(0, size - 2)].decode("utf-16-le", "replace").strip()


def _ink(one: Any, matrix: Matrix) -> Iterator[Ink]:
    """The colour that a path paints: its fill or else its line; nothing where it only cuts."""
    from pypdfium2 import raw

    fill, stroke = ctypes.c_int(), ctypes.c_int()
    raw.FPDFPath_GetDrawMode(one, fill, stroke)
    count = raw.FPDFPath_CountSegments(one)
    segments = (raw.FPDFPath_GetPathSegment(one, k) for k in range(count))
    points = tuple(_points(segments, matrix))
    filled = bool(fill.value)
    if points and (filled or stroke.value):
        yield Ink(points, _colour(one, filled=filled), filled)


def _points(segments: Iterator[Any], matrix: Matrix) -> list[Spot]:
    """Corners and points of curves, mm; where a path begins and ends stands once."""
    from pypdfium2 import raw

    found: list[Spot] = []
    bend: list[Spot] = []
    for segment in segments:
        x, y = ctypes.c_float(), ctypes.c_float()
        raw.FPDFPathSegment_GetPoint(segment, x, y)
        spot = _at(matrix, x.value, y.value)
        if raw.FPDFPathSegment_GetType(segment) != raw.FPDF_SEGMENT_BEZIERTO:
            found.append(spot)
            continue
        bend.append(spot)
        if len(bend) == 3:
            found += _curve(found[-1], bend[0], bend[1], bend[2])
            bend = []
    closed = len(found) > 1 and math.dist(found[0], found[-1]) < SAME_MM
    return found[:-1] if closed else found


def _colour(one: Any, *, filled: bool) -> tuple[float, ...]:
    """Red, green, blue, 0 to 1."""
    from pypdfium2 import raw

    parts = tuple(ctypes.c_uint() for _ in range(4))
    (raw.FPDFPageObj_GetFillColor if filled else raw.FPDFPageObj_GetStrokeColor)(one, *parts)
    return tuple(part.value / 255 for part in parts[:3])


def _clips(one: Any, home: Matrix) -> Iterator[tuple[float, float, float, float]]:
    """Boxes of the paths that an object is cut to."""
    from pypdfium2 import raw

    clip = raw.FPDFPageObj_GetClipPath(one)
    for k in range(max(0, raw.FPDFClipPath_CountPaths(clip)) if clip else 0):
        count = raw.FPDFClipPath_CountPathSegments(clip, k)
        segments = (raw.FPDFClipPath_GetPathSegment(clip, k, i) for i in range(count))
        points = _points(segments, home)
        if points:
            xs, ys = zip(*points, strict=True)
            yield (min(xs), min(ys), max(xs), max(ys))


def _curve(a: Spot, b: Spot, c: Spot, d: Spot) -> list[Spot]:
    """Points on a Bezier curve, its end among them."""
    found = []
    for k in range(1, CURVE + 1):
        t = k / CURVE
        parts = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
        x, y = (sum(w * p[i] for w, p in zip(parts, (a, b, c, d), strict=True)) for i in (0, 1))
        found.append((x, y))
    return found


def _matrix(one: Any) -> Matrix:
    from pypdfium2 import raw

    found = raw.FS_MATRIX()
    raw.FPDFPageObj_GetMatrix(one, found)
    return (found.a, found.b, found.c, found.d, found.e, found.f)


def _times(one: Matrix, other: Matrix) -> Matrix:
    a, b, c, d, e, f = one
    g, h, i, j, k, m = other
    return (
        a * g + b * i,
        a * h + b * j,
        c * g + d * i,
        c * h + d * j,
        e * g + f * i + k,
        e * h + f * j + m,
    )


def _at(matrix: Matrix, x: float, y: float) -> tuple[float, float]:
    a, b, c, d, e, f = matrix
    return ((a * x + c * y + e) * MM, (b * x + d * y + f) * MM)
