"""A page of the template as paper: its size, its scale bars and card, and that it is not
mirrored.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from fab.checks.model import Verdict, at_most, judge
from fab.proof.pdf import Ink, PdfPage

SCALE_SHARE = 0.001
CARD_MM = (85.60, 53.98)  # ISO/IEC 7810 ID-1
PAPERS = {
    "a4": (210.0, 297.0),
    "a3": (297.0, 420.0),
    "letter": (215.9, 279.4),
    "tabloid": (279.4, 431.8),
}
F_SHAPE = [
    (0, 0),
    (1, 0),
    (1, 2),
    (2.5, 2),
    (2.5, 3),
    (1, 3),
    (1, 4),
    (3, 4),
    (3, 5),
    (0, 5),
]  # reads as F one way only


def sizes(path: str, pages: Sequence[PdfPage]) -> list[Verdict]:
    """The verdict on the size of the pages, mm; none for a paper that has no standard size."""
    word = path.removeprefix("wall/template-").removesuffix(".pdf")
    if word not in PAPERS:
        return []
    short, long = PAPERS[word]
    off = max(math.dist(sorted((page.width, page.height)), (short, long)) for page in pages)
    return [
        judge(
            "proof.template-paper",
            path,
            at_most(off, 0.5),
            f"size of the pages against {word.upper()}",
        )
    ]


def bars(path: str, pages: Sequence[PdfPage], sx: float, sy: float) -> list[Verdict]:
    """Scale bars of every page, and the card of the first; `sx`, `sy`: what the printer makes of
    one mm.
    """
    worst, where, cards = 0.0, "", math.inf
    for k, page in enumerate(pages, 1):
        for word in page.words:
            match = re.match(r"([\d.]+) mm (across|upwards):", word.text)
            if match is None:
                continue
            flat, said = match[2] == "across", float(match[1])
            long = []
            for ink in page.inks:
                if ink.filled or len(ink.points) != 2:
                    continue
                x0, y0, x1, y1 = ink.box
                near = abs(y0 - word.y) < 6 / sy if flat else abs(x0 - word.x) < 6 / sx
                if near and (y1 - y0 < 1e-3 if flat else x1 - x0 < 1e-3):
                    long.append((x1 - x0) * sx if flat else (y1 - y0) * sy)
            off = min((abs(value - said) for value in long), default=math.inf)
            if off > worst:
                worst, where = off, f": page {k}, {match[2]}"
        if k == 1:
            for ink in page.inks:
                x0, y0, x1, y1 = ink.box
                cards = min(
                    cards, max(abs((x1 - x0) * sx - CARD_MM[0]), abs((y1 - y0) * sy - CARD_MM[1]))
                )
    found = [
        judge(
            "proof.template-bar",
            path,
            at_most(worst, 100 * SCALE_SHARE),
            f"length of a scale bar against its words{where}",
        )
    ]
    if pages and "bank card" in " ".join(word.text for word in pages[0].words):
        found.append(
            judge(
                "proof.template-card",
                path,
                at_most(cards, 0.1),
                "the card's outline",
                source="ISO/IEC 7810 ID-1: 85.60 x 53.98 mm",
            )
        )
    bare = [
        k
        for k, page in enumerate(pages, 1)
        if not any(" across:" in word.text for word in page.words)
    ]
    found.append(
        judge(
            "proof.template-bar",
            path,
            at_most(float(len(bare)), 0.0, "pages"),
            f"pages without a scale bar: {bare[:5]}" if bare else "every page has its scale bars",
        )
    )
    return found


def views(path: str, pages: Sequence[PdfPage]) -> list[Verdict]:
    """No page is mirrored: words read forwards, and the F of FRONT is an F."""
    wrong = []
    for k, page in enumerate(pages, 1):
        marks = [ink for ink in page.inks if ink.filled and len(ink.points) == len(F_SHAPE)]
        if any(word.mirrored for word in page.words) or not any(_is_f(ink) for ink in marks):
            wrong.append(k)
    return [
        judge(
            "proof.template-view",
            path,
            at_most(float(len(wrong)), 0.0, "pages"),
            (
                f"pages mirrored or without an upright F: {wrong[:5]}"
                if wrong
                else "no page is mirrored"
            ),
        )
    ]


def _is_f(ink: Ink) -> bool:
    x0, y0, x1, y1 = ink.box
    u, v = (x1 - x0) / 3.0, (y1 - y0) / 5.0
    wanted = [(x0 + x * u, y0 + y * v) for x, y in F_SHAPE]
    return u > 0.2 and all(min(math.dist(p, q) for q in ink.points) < 0.1 for p in wanted)
