"""The template's pages: each mark against the table of holes, by what the page itself says of its
place.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from fab.checks.model import Verdict, at_least, at_most, judge
from fab.proof.holes import HOLES, PLACE_MM, ReadHole
from fab.proof.job import JobValues
from fab.proof.pagescale import bars, sizes, views
from fab.proof.pdf import Ink, PdfPage, Word
from fab.proof.tree import Unreadable

SAID = re.compile(r"(LEVEL y|PLUMB x) = (-?[\d.]+)")
MARKED = re.compile(r"(.+): drill ")


def pages_of(
    path: str, pages: Sequence[PdfPage], holes: Sequence[ReadHole], job: JobValues
) -> list[Verdict]:
    """Verdicts on the pages of one template: paper size, scale bars, view, and each mark against
    holes.csv.
    """
    paper = job.shop.at("paper")
    # mm that come out for one drawn
    sx, sy = (float(paper.get(key, 100.0)) / 100.0 for key in ("bar_x", "bar_y"))
    found = [*sizes(path, pages), *bars(path, pages, sx, sy), *views(path, pages)]
    seen: dict[str, int] = {}
    worst, where = 0.0, ""
    said_off, said_where = 0.0, ""
    by_name = {hole.panel: hole for hole in holes}
    boxes = []
    for k, page in enumerate(pages, 1):
        lie = _origin(page)
        if lie is None:
            if k > 1:
                says = f"page {k}: level or plumb line does not say where it lies"
                return [
                    *found,
                    judge("proof.template-marks", path, at_most(1.0, 0.0, "pages"), says),
                ]
            continue
        (px, x0), (py, y0) = lie

        def wall(
            x: float, y: float, px: float = px, x0: float = x0, py: float = py, y0: float = y0
        ) -> tuple[float, float]:
            return ((x - px) * sx + x0, (y - py) * sy + y0)

        for clip in page.clips:
            boxes.append((*wall(clip[0], clip[1]), *wall(clip[2], clip[3])))
        names = [(word, match[1]) for word in page.words if (match := MARKED.match(word.text))]
        for ink in _circles(page, holes[0].drill / sx, sx / sy):
            left, low, right, top = ink.box
            x, y = wall((left + right) / 2, (low + top) / 2)
            word, name = min(
                names,
                key=lambda one: math.dist((one[0].x, one[0].y), ((left + right) / 2, low)),
                default=(None, ""),
            )
            if word is None or name not in by_name:
                raise Unreadable(
                    path,
                    f"page {k}: the mark at x {x:.1f}, y {y:.1f} has no panel's name of {HOLES}",
                )
            hole = by_name[name]
            seen[name] = seen.get(name, 0) + 1
            off = math.hypot(x - hole.x, y - hole.y)
            if off > worst:
                worst, where = off, f": page {k}, panel {name}"
            off = _said(page, word, hole)
            if off > said_off:
                said_off, said_where = off, f": page {k}, panel {name}"
    missing = sorted(set(by_name) - set(seen))
    found.append(
        judge(
            "proof.template-marks",
            path,
            at_most(float(len(missing)), 0.0, "holes"),
            (
                f"holes without a mark on any page: {', '.join(missing)}"
                if missing
                else "every hole has its mark"
            ),
        )
    )
    found.append(
        judge(
            "proof.template-place",
            path,
            at_most(worst, PLACE_MM),
            f"a mark differs from its hole in {HOLES}{where}",
        )
    )
    found.append(
        judge(
            "proof.template-words",
            path,
            at_most(said_off, 0.051),
            f"what is written at a mark differs from {HOLES}{said_where}",
        )
    )
    found += _covered(path, boxes, float(paper.get("overlap", 0.0)))
    return found


def _origin(page: PdfPage) -> tuple[tuple[float, float], tuple[float, float]] | None:
    """The places of plumb and level line on a page (mm), and the place on the wall that each is
    labelled with.
    """
    lie: dict[str, tuple[float, float]] = {}
    for word in page.words:
        match = SAID.match(word.text)
        if match is None:
            continue
        level = match[1].startswith("LEVEL")
        lines = [ink for ink in page.inks if not ink.filled and len(ink.points) == 2]
        at = []
        for ink in lines:
            x0, y0, x1, y1 = ink.box
            flat = y1 - y0 < 1e-3 if level else x1 - x0 < 1e-3
            long = x1 - x0 > 60 if level else y1 - y0 > 60
            spot = y0 if level else x0
            if flat and long and 0 < (word.y - spot if level else spot - word.x) < 2.0:
                at.append(spot)
        if at:
            lie["y" if level else "x"] = (at[0], float(match[2]))
    return (lie["x"], lie["y"]) if len(lie) == 2 else None


def _circles(page: PdfPage, wide: float, stretch: float) -> list[Ink]:
    """Closed round paths about as large as the drill."""
    found = []
    for ink in page.inks:
        x0, y0, x1, y1 = ink.box
        if (
            len(ink.points) >= 12
            and abs(x1 - x0 - wide) < 0.2
            and abs(y1 - y0 - wide * stretch) < 0.2
            and not ink.filled
        ):
            found.append(ink)
    return found


def _said(page: PdfPage, word: Word, hole: ReadHole) -> float:
    """By how much the place written under a mark differs from the table."""
    near = sorted(
        (word.y - w.y, w.text)
        for w in page.words
        if w is not word and 0 < word.y - w.y < 6 and abs(w.x - word.x) < 1.0
    )
    pairs = (re.findall(r"([xy])\s+(-?[\d.]+)( in)?", text) for _, text in near)
    # a cross may have its name there
    values = next((pair for pair in pairs if len(pair) == 2), None)
    if values is None:
        return math.inf
    off: list[float] = [
        abs(float(value) * (25.4 if inch else 1.0) - getattr(hole, axis))
        for axis, value, inch in values
    ]
    return max(off)


def _covered(path: str, boxes: Sequence[tuple[float, ...]], overlap: float) -> list[Verdict]:
    """The pages hang together, and neighbouring pages overlap."""
    import shapely

    if not boxes:
        return []
    shown = [shapely.box(*box) for box in dict.fromkeys(boxes)]
    union = shapely.union_all(shown)
    single = [
        shape
        for shape in shown
        if not any(shape is not other and other.buffer(1e-3).contains(shape) for other in shown)
    ]
    least = math.inf
    for k, shape in enumerate(single):
        inner = max(
            (
                min(w, h)
                for other in single[:k] + single[k + 1 :]
                for w, h in [_common(shape, other)]
                if w > 0 and h > 0
            ),
            default=math.inf,
        )
        least = min(least, inner)
    parts = len(getattr(union, "geoms", [union]))
    found = [
        judge(
            "proof.template-whole",
            path,
            at_most(float(parts), 1.0, "pieces"),
            "the pages' parts of the wall hang together",
        )
    ]
    if math.isfinite(least):
        found.append(
            judge(
                "proof.template-overlap",
                path,
                at_least(least, overlap, tolerance=0.05),
                "least overlap of a page with its neighbours",
            )
        )
    return found


def _common(one: object, other: object) -> tuple[float, float]:
    a, b = one.bounds, other.bounds  # type: ignore[attr-defined]
    return (min(a[2], b[2]) - max(a[0], b[0]), min(a[3], b[3]) - max(a[1], b[1]))
