"""Text as outlines, from the shipped font or from a TrueType or OpenType file.

`fontTools` reads the file.

A glyph's curves become chords; what they enclose is filled whichever way they run, as fonts mean
it.
"""

from __future__ import annotations

import io
import math
import struct
from collections.abc import Sequence
from functools import cache
from importlib.resources import files
from itertools import pairwise
from typing import Any

from fab.errors import InputError, refused
from fab.outlines.contour import Point

CHORDS = 12  # per curve of a glyph: within 0.005 of an em's hundredth on round letters
MOST_POINTS = 200_000
MOST_CHARS = 200

# What a reader of a damaged table raises.
_BROKEN = (
    AssertionError,
    AttributeError,
    EOFError,
    IndexError,
    KeyError,
    OSError,
    OverflowError,
    RecursionError,
    TypeError,
    ValueError,
    struct.error,
)

Ring = tuple[Point, ...]


def shipped_font() -> bytes:
    """The font that the package carries."""
    return (files("fab.files") / "fonts" / "DejaVuSans.ttf").read_bytes()


def lacking(text: str, font: bytes | None = None, shown: str = "font") -> tuple[str, ...]:
    """The letters of the text that the font (None: the shipped one) does not have, each once."""
    names = _opened(shipped_font() if font is None else font, shown).getBestCmap()
    return tuple(sorted({char for char in text if ord(char) not in names and not char.isspace()}))


def text_rings(
    text: str, capital_mm: float, font: bytes | None = None, shown: str = "font"
) -> list[Ring]:
    """Closed rings of a line of text with capitals of `capital_mm`, foot on y = 0, from x = 0.

    Fill them by the nonzero rule. Raises InputError when the bytes are no font or lack a letter of
    the text.
    """
    opened = _opened(shipped_font() if font is None else font, shown)
    scale = capital_mm / _capital(opened, shown)
    glyphs, names = opened.getGlyphSet(), opened.getBestCmap()
    without = lacking(text, font, shown)
    if without:
        says = f"has no letter {', '.join(without[:8])}"
        raise refused(says, "Use a font that has it, or other letters.", where=shown)
    rings: list[Ring] = []
    x, total = 0.0, 0
    for char in text[:MOST_CHARS]:
        name = names.get(ord(char), names.get(32))
        if name is None:
            x += 0.5 * opened["head"].unitsPerEm
            continue
        pen = _drawn(glyphs, name, char, shown)
        total += pen.count
        if total > MOST_POINTS:
            raise _refused(shown, f"the letters have more than {MOST_POINTS:,} points")
        rings += [ring for points in pen.rings if len(ring := _ring(points, x, scale)) > 2]
        x += glyphs[name].width
    return rings


def _drawn(glyphs: Any, name: str, char: str, shown: str) -> Any:
    """A pen that holds the rings of one glyph."""
    pen = _pen_class()(glyphs)
    try:
        glyphs[name].draw(pen)
    except _BROKEN as fault:
        raise _refused(shown, f"the glyph of {char} cannot be drawn: {fault}") from None
    return pen


def _opened(data: bytes, shown: str) -> Any:
    from fontTools.ttLib import TTFont, TTLibError

    try:
        opened = TTFont(io.BytesIO(data), lazy=True, fontNumber=0)
        opened.getBestCmap()
        opened.getGlyphSet()
        size = opened["head"].unitsPerEm
    except (TTLibError, *_BROKEN) as fault:
        raise _refused(shown, f"cannot be read as a TrueType or OpenType font: {fault}") from None
    if not 16 <= size <= 16_384 or opened.getBestCmap() is None:
        raise _refused(shown, "has no letters of its own")
    return opened


def _capital(opened: Any, shown: str) -> float:
    """Height of a capital in the font's units: that of its H, else seven tenths of its em."""
    usual = 0.7 * float(opened["head"].unitsPerEm)
    name = opened.getBestCmap().get(ord("H"))
    if name is None:
        return usual
    pen = _drawn(opened.getGlyphSet(), name, "H", shown)
    heights = [y for ring in pen.rings for _, y in ring]
    return max(heights) if heights and max(heights) > 0 else usual


@cache
def _pen_class() -> type:
    """A pen that collects closed rings of points; here, so that its library loads late."""
    from fontTools.pens.basePen import BasePen

    class RingPen(BasePen):
        def __init__(self, glyphs: Any) -> None:
            super().__init__(glyphs)
            self.rings: list[list[Point]] = []
            self.count = 0

        def counted(self) -> None:
            """A font of a few bytes can ask for glyphs in glyphs without end."""
            self.count += 1
            if self.count > MOST_POINTS:
                raise ValueError(f"it has more than {MOST_POINTS:,} points and parts")

        def _moveTo(self, pt: Point) -> None:
            self.rings.append([pt])

        def _lineTo(self, pt: Point) -> None:
            self.counted()
            self.rings[-1].append(pt)

        def _curveToOne(self, pt1: Point, pt2: Point, pt3: Point) -> None:
            for point in _chords((self._getCurrentPoint(), pt1, pt2, pt3), CHORDS):
                self._lineTo(point)

        def _qCurveToOne(self, pt1: Point, pt2: Point) -> None:
            for point in _chords((self._getCurrentPoint(), pt1, pt2), CHORDS):
                self._lineTo(point)

        def _endPath(self) -> None:
            self.rings.pop()

        def addComponent(self, glyphName: str, transformation: Any) -> None:
            self.counted()
            super().addComponent(glyphName, transformation)

    return RingPen


def _chords(points: Sequence[Point], count: int) -> list[Point]:
    """Points along a Bezier curve of any degree after its start, by de Casteljau."""
    found = []
    for k in range(1, count + 1):
        t, row = k / count, list(points)
        while len(row) > 1:
            row = [(a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t) for a, b in pairwise(row)]
        found.append(row[0])
    return found


def _ring(points: Sequence[Point], x: float, scale: float) -> Ring:
    """A ring of the font's units in mm, its last point not the first again."""
    ring = [((px + x) * scale, py * scale) for px, py in points]
    kept = [here for before, here in pairwise([ring[-1], *ring]) if math.dist(before, here) > 1e-6]
    return tuple(kept)


def _refused(shown: str, says: str) -> InputError:
    return refused(says, "Give a .ttf or .otf file, or leave `font` out.", where=shown)
