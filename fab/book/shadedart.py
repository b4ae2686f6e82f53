"""Shaded pictures of parts in the book: their colours, how they are kept, and the page with words
beside them.
"""

from __future__ import annotations

import base64
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fab.files.png import few_colours
from fab.outlines.contour import Point, circle
from fab.outlines.inks import INK
from fab.outlines.page import Fill, Image, Item, Page, Text, line
from fab.solids.mesh import Mesh
from fab.solids.shaded import Shaded, ShadedShape

WORD_MM, LINE_MM, MARGIN = 3.2, 5.0, 3.0
WORDS_MM = 34.0  # room for the words beside a picture

# Quiet colours, one a part, the same in every shaded picture.
COLOURS: dict[str, tuple[int, int, int]] = {
    "base": (158, 174, 194),
    "board": (120, 172, 146),
    "LED": (250, 244, 214),
    "socket": (96, 100, 108),
    "switch": (140, 144, 150),
    "part": (112, 118, 126),
    "shell": (222, 208, 180),
    "diffuser": (228, 238, 246),
    "clip": (96, 156, 204),
    "cap": (212, 168, 190),
    "inlet": (150, 152, 158),
    "tie": (84, 88, 96),
    "jumper": (226, 160, 110),
    "wall screw": (150, 152, 158),
    "foot": (176, 160, 200),
}


@dataclass(frozen=True)
class ShadedArt:
    """A shaded picture as PNG, the box of its plane in mm at scale 1, and where named parts are."""

    png: bytes
    box: tuple[float, float, float, float]
    spots: Mapping[str, Point]


def shape(mesh: Mesh, part: str, *, named: bool = True) -> ShadedShape:
    """A mesh in the colour of its part, pointed at by that name."""
    return ShadedShape(mesh, COLOURS[part], part if named else "")


def art_bytes(draw: Callable[..., Shaded], *values: Any) -> bytes:
    """A shaded picture as a product."""
    drawn = draw(*values)
    data = base64.b64encode(few_colours(drawn.pixels)).decode()
    kept = {"png": data, "box": drawn.box, "spots": drawn.spots}
    return json.dumps(kept, separators=(",", ":")).encode()


def art(data: bytes) -> ShadedArt:
    """The picture that was kept. Raises ValueError for bytes that are none."""
    kept = json.loads(data)
    x0, y0, x1, y1 = kept["box"]
    spots = {name: (spot[0], spot[1]) for name, spot in kept["spots"].items()}
    return ShadedArt(base64.b64decode(kept["png"], validate=True), (x0, y0, x1, y1), spots)


def shaded_page(
    art: ShadedArt,
    width: float,
    most_height: float,
    title: str,
    says: str,
    words: Mapping[str, str] | None = None,
) -> Page:
    """The picture on a page of `width`; `words` by the part's name stand beside it, each with a
    line to its part. Lines never cross: words stand in the order in which their parts do.
    """
    there = {name: word for name, word in (words or {}).items() if name in art.spots}
    x0, y0, x1, y1 = art.box
    room = width - 2 * MARGIN - (WORDS_MM if there else 0.0)
    scale = min(room / (x1 - x0), (most_height - 2 * MARGIN) / (y1 - y0))
    wide, high = (x1 - x0) * scale, (y1 - y0) * scale
    left = MARGIN + (room - wide) / 2
    items: list[Item] = [Image(left, MARGIN, wide, high, art.png)]
    found = sorted(
        (MARGIN + (art.spots[name][1] - y0) * scale, left + (art.spots[name][0] - x0) * scale, word)
        for name, word in there.items()
    )
    at = width - WORDS_MM
    for (y, x, word), level in zip(found, _apart([y for y, _, _ in found]), strict=True):
        items += [
            Fill((circle((x, y), 0.7),), INK),
            line((x, y), (at - 4.0, level), 0.2, INK),
            line((at - 4.0, level), (at - 1.0, level), 0.2, INK),
            Text(at, level - WORD_MM * 0.36, word, WORD_MM, colour=INK),
        ]
    return Page(width, high + 2 * MARGIN, tuple(items), title, says)


def _apart(levels: Sequence[float]) -> list[float]:
    """Rising heights, moved up so that each stands a line's height over the one before."""
    found: list[float] = []
    for level in levels:
        found.append(max(level, found[-1] + LINE_MM) if found else level)
    return found
