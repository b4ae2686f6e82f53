"""Pages of a PDF as strokes, fills and words in mm, from the page's own content stream (ISO
32000-1, 8.4, 8.5, 9.4).
"""

from __future__ import annotations

import io
import re
from dataclasses import dataclass, field
from typing import Any

from fab.proof.tree import Unreadable

MM = 25.4 / 72
MOST_PAGES = 5000
Matrix = tuple[float, float, float, float, float, float]
CURVE = 12  # points on a curve
Spot = tuple[float, float]
TEXT = re.compile(
    rb"(?<!\S)(?:q|Q)(?!\S)|(?:[-+.\d]+\s+){6}cm(?!\S)"
    # a text object: what ends it may stand in its words as well, as the name of a panel
    rb"|(?<!\S)BT(?!\S)(?:\((?:\\.|[^\\()])*\)|[^()])*?(?<!\S)ET(?!\S)",
    re.DOTALL,
)
SAME: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


@dataclass(frozen=True)
class Ink:
    """One painted path: its corners and points of its curves, and the colour of line or fill."""

    points: tuple[tuple[float, float], ...]
    colour: tuple[float, ...]
    filled: bool

    @property
    def box(self) -> tuple[float, float, float, float]:
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
    """The pages of a file, their words alone: many times quicker. Raises Unreadable."""
    return read_pdf(path, data, words_only=True)


def read_pdf(path: str, data: bytes, words_only: bool = False) -> list[PdfPage]:
    """The pages of a file. Raises Unreadable."""
    import logging

    import pypdf

    logging.getLogger("pypdf").setLevel(logging.CRITICAL)
    try:
        reader = pypdf.PdfReader(io.BytesIO(data), strict=False)
        if len(reader.pages) > MOST_PAGES:
            raise Unreadable(path, f"has more than {MOST_PAGES} pages")
        return [_page(page, reader, words_only) for page in reader.pages]
    except Unreadable:
        raise
    except Exception as error:  # whatever a broken PDF makes of its reader
        raise Unreadable(
            path, f"is no PDF that can be read ({type(error).__name__}: {error})"
        ) from error


def _page(page: Any, reader: Any, words_only: bool) -> PdfPage:
    from pypdf.generic import ContentStream, DecodedStreamObject

    box = page.mediabox
    left, low = float(box.left), float(box.bottom)
    found = PdfPage(float(box.width) * MM, float(box.height) * MM)
    content = page.get_contents()
    if content is None:
        return found
    if words_only:
        whole = content.get_data()
        content = DecodedStreamObject()
        content.set_data(b"\n".join(match[0] for match in TEXT.finditer(whole)))
    here: Matrix = (1.0, 0.0, 0.0, 1.0, -left, -low)
    state: tuple[Matrix, tuple[float, ...], tuple[float, ...]] = (here, (0.0,), (0.0,))
    stack: list[Any] = []
    points: list[tuple[float, float]] = []
    clip = False
    text: Matrix = SAME
    for operands, operator in ContentStream(content, reader).operations:
        word = operator.decode("latin-1")
        values = (
            [float(v) for v in operands if isinstance(v, int | float)]
            if word not in ("TJ", "Tj")
            else []
        )
        matrix, stroke, fill = state
        if word == "q":
            stack.append(state)
        elif word == "Q" and stack:
            state = stack.pop()
        elif word == "cm":
            state = (_times(_m(values), matrix), stroke, fill)
        elif word in ("RG", "G", "K"):
            state = (matrix, tuple(values), fill)
        elif word in ("rg", "g", "k"):
            state = (matrix, stroke, tuple(values))
        elif word in ("m", "l"):
            points.append(_at(matrix, *values))
        elif word == "c":
            points += _curve(
                points[-1], *(_at(matrix, values[k], values[k + 1]) for k in (0, 2, 4))
            )
        elif word in ("v", "y"):
            one, end = (_at(matrix, values[k], values[k + 1]) for k in (0, 2))
            points += _curve(
                points[-1], points[-1] if word == "v" else one, one if word == "v" else end, end
            )
        elif word == "re":
            x, y, w, h = values
            points += [
                _at(matrix, px, py) for px, py in ((x, y), (x + w, y), (x + w, y + h), (x, y + h))
            ]
        elif word in ("W", "W*"):
            clip = True
        elif word in ("S", "s", "f", "F", "f*", "B", "B*", "b", "b*", "n"):
            if clip and points:
                xs, ys = zip(*points, strict=True)
                found.clips.append((min(xs), min(ys), max(xs), max(ys)))
            elif points and word != "n":
                filled = word[0] in "fF"
                found.inks.append(Ink(tuple(points), fill if filled else stroke, filled))
            points, clip = [], False
        elif word == "BT":
            text = SAME
        elif word == "Tm":
            text = _m(values)
        elif word in ("Td", "TD"):
            text = _times((1, 0, 0, 1, values[0], values[1]), text)
        elif word in ("Tj", "TJ") and operands:
            said = (
                "".join(str(one) for one in operands[0] if isinstance(one, str))
                if word == "TJ"
                else str(operands[0])
            )
            a, b, c, d, x, y = _times(text, matrix)
            found.words.append(Word(said, x * MM, y * MM, a, b, a * d - b * c < 0))
    return found


def _curve(a: Spot, b: Spot, c: Spot, d: Spot) -> list[Spot]:
    """Points on a Bezier curve, its end among them."""
    found = []
    for k in range(1, CURVE + 1):
        t = k / CURVE
        parts = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
        x, y = (sum(w * p[i] for w, p in zip(parts, (a, b, c, d), strict=True)) for i in (0, 1))
        found.append((x, y))
    return found


def _m(values: list[float]) -> Matrix:
    a, b, c, d, e, f = values
    return (a, b, c, d, e, f)


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
