"""The drilling template: scale, view and marks measured from the pages' own content, against keyholes in the meshes.

A page tells where it lies: its level line says which height over the datum hole it is, its plumb line how far right.
So a mark's place on the wall follows from the page alone.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

from fab.checks.model import Verdict, at_least, at_most
from fab.proof.dxf import read_dxf
from fab.proof.job import JobValues, Placed, regular
from fab.proof.keyholes import Hang, hangs
from fab.proof.paths import Path
from fab.proof.pdf import Ink, PdfPage, Word, read_pdf
from fab.proof.svg import read_svg
from fab.proof.table import Row, number, panels_of, rows_of
from fab.proof.tree import Tree, Unreadable

PLACE_MM = 0.05  # of a mark; an opening's edge is a mesh in single precision
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
HOLES = "wall/holes.csv"
SAID = re.compile(r"(LEVEL y|PLUMB x) = (-?[\d.]+)")
MARKED = re.compile(r"(.+): drill ")


@dataclass(frozen=True)
class Hole:
    """A hole right and up of the datum hole, mm."""

    panel: str
    x: float
    y: float
    drill: float


def prove(tree: Tree, job: JobValues) -> list[Verdict]:
    """Verdicts on wall/*."""
    found: list[Verdict] = []
    rows = rows_of(tree, HOLES, ("panel", "x_mm", "y_mm", "drill_mm"))
    holes = [
        Hole(row["panel"], *(number(HOLES, row, key) for key in ("x_mm", "y_mm", "drill_mm")))
        for row in rows
    ]
    if not holes:
        raise Unreadable(HOLES, "has no hole")
    found += _table(holes, rows, job)
    panels: list[Placed] = []
    there: list[Hang] = []
    if "lists/panels.csv" in tree:
        panels = panels_of(tree, job)
        if tree.names("print/base", ".stl"):
            there = hangs(tree, job)
            found += _keyholes(holes, there)
    for path in ("wall/template.dxf", "wall/template.svg"):
        if path in tree:
            data = tree.read(path)
            paths = (
                read_dxf(path, data) if path.endswith("dxf") else list(read_svg(path, data).paths)
            )
            found += _full_size(path, paths, holes, panels, there, job)
    for path in tree.names("wall/template-", ".pdf"):
        found += _pages(path, read_pdf(path, tree.read(path)), holes, job)
    return found


def _table(holes: Sequence[Hole], rows: Sequence[Row], job: JobValues) -> list[Verdict]:
    """Distances in the table follow from its places; the drill is the wall's."""
    worst, where = 0.0, ""
    before = {hole.panel: hole for hole in holes}
    for hole, row in zip(holes, rows, strict=True):
        checks: list[tuple[str | float | None, float]] = [
            (row.get("from_datum_mm"), math.hypot(hole.x - holes[0].x, hole.y - holes[0].y))
        ]
        if row.get("before"):
            last = before[row["before"]]
            checks.append((row.get("from_before_mm"), math.hypot(hole.x - last.x, hole.y - last.y)))
        for key, place in (("x_in", hole.x), ("y_in", hole.y)):
            checks.append((float(row[key]) * 25.4 if row.get(key) else None, place))
        for said, is_ in checks:
            if said not in (None, "") and abs(float(said) - is_) > worst:
                worst, where = abs(float(said) - is_), f", hole of panel {hole.panel}"
    wall = job.shop.values["wall"][job.at("hang.wall")]
    drill = max(abs(hole.drill - wall["drill"]) for hole in holes)
    return [
        at_most(
            "proof.holes-table",
            HOLES,
            worst,
            0.01,
            "mm",
            f"a distance or a place in inches differs from x and y{where}",
        ),
        at_most(
            "proof.holes-drill",
            HOLES,
            drill,
            0.001,
            "mm",
            f"the drill differs from that of a {job.at('hang.wall')} wall",
        ),
    ]


def _keyholes(holes: Sequence[Hole], there: Sequence[Hang]) -> list[Verdict]:
    by_name = {hang.panel: hang for hang in there}
    names = {hole.panel for hole in holes}
    missing = names ^ set(by_name)
    says = (
        f"panels with a hole or a keyhole only: {', '.join(sorted(missing))}"
        if missing
        else "every hole has its keyhole"
    )
    found = [at_most("proof.holes-panels", HOLES, float(len(missing)), 0.0, "panels", says)]
    datum = by_name.get(holes[0].panel)
    if datum is None:
        return found
    worst, where, lean, leaning = 0.0, "", 0.0, ""
    for hole in holes:
        hang = by_name.get(hole.panel)
        if hang is None:
            continue
        off = math.hypot(
            hang.x - datum.x - hole.x + holes[0].x, hang.y - datum.y - hole.y + holes[0].y
        )
        if off > worst:
            worst, where = off, f": hole of panel {hole.panel}, {hang.file}"
        tilt = abs((hang.up_deg - 90.0 + 180.0) % 360.0 - 180.0)
        if tilt > lean:
            lean, leaning = tilt, f": {hang.file} of panel {hole.panel}"
    return [
        *found,
        at_most(
            "proof.holes-rest",
            HOLES,
            worst,
            PLACE_MM,
            "mm",
            f"a hole lies beside the rest of its keyhole{where}",
        ),
        at_most(
            "proof.keyhole-up",
            "lists/panels.csv",
            lean,
            0.5,
            "deg",
            f"a keyhole as it hangs leans from straight up{leaning}",
        ),
    ]


def _full_size(
    path: str,
    paths: Sequence[Path],
    holes: Sequence[Hole],
    panels: Sequence[Placed],
    there: Sequence[Hang],
    job: JobValues,
) -> list[Verdict]:
    """Circles, outlines and bars of the drawing in one piece."""
    circles = [
        circle
        for one in paths
        if one.layer.endswith("SCREW") and (circle := one.circle) is not None
    ]
    found = _places(path, [(x, y) for x, y, _ in circles], holes)
    found.append(
        at_most(
            "proof.template-drill",
            path,
            max((abs(2 * r - holes[0].drill) for _, _, r in circles), default=math.inf),
            0.01,
            "mm",
            "diameter of the circles against the drill",
        )
    )
    lines = [one for one in paths if one.layer.endswith("TEXT") and len(one.segments) == 1]
    for word, flat in (("across", True), ("upwards", False)):
        long = max((_bar(one, flat) for one in lines), default=0.0)
        off = min(abs(long - 100.0), abs(long - 50.0))
        found.append(
            at_most(
                "proof.template-bar", path, off, 0.05, "mm", f"the bar {word} is {long:.2f} mm long"
            )
        )
    if panels and circles:
        bodies = [list(one.points) for one in paths if one.layer.endswith("OUTLINE")]
        verdict, shift = _outlines(path, bodies, panels, job)
        found.append(verdict)
        worst, where = 0.0, ""
        for hang in there if shift is not None else ():
            x, y = hang.x + (shift or (0.0, 0.0))[0], hang.y + (shift or (0.0, 0.0))[1]
            off = min(math.dist((x, y), circle[:2]) for circle in circles)
            if off > worst:
                worst, where = off, f" of panel {hang.panel}"
        found.append(
            at_most(
                "proof.template-rest",
                path,
                worst,
                PLACE_MM,
                "mm",
                f"no mark lies on the rest of the keyhole{where}, seen from the outlines",
            )
        )
    return found


def _bar(one: Path, flat: bool) -> float:
    x0, y0, x1, y1, _ = one.segments[0]
    across, along = (abs(y1 - y0), abs(x1 - x0)) if flat else (abs(x1 - x0), abs(y1 - y0))
    return along if across < 1e-6 else 0.0


def _places(
    path: str, spots: Sequence[tuple[float, float]], holes: Sequence[Hole]
) -> list[Verdict]:
    """Circles of a drawing against the table, by their own distances: which is the datum is found by fit."""
    found = [
        at_most(
            "proof.template-marks",
            path,
            float(abs(len(spots) - len(holes))),
            0.0,
            "marks",
            f"{len(spots)} screw circles, {len(holes)} holes in the table",
        )
    ]
    if len(spots) != len(holes):
        return found
    left, low = min(x for x, _ in spots), min(y for _, y in spots)
    x0, y0 = min(hole.x for hole in holes), min(hole.y for hole in holes)
    worst, where = 0.0, ""
    for hole in holes:
        off = min(math.hypot(x - left - hole.x + x0, y - low - hole.y + y0) for x, y in spots)
        if off > worst:
            worst, where = off, f", panel {hole.panel}"
    return [
        *found,
        at_most(
            "proof.template-place",
            path,
            worst,
            0.01,
            "mm",
            f"a mark differs from its hole in {HOLES}{where}",
        ),
    ]


def _outlines(
    path: str,
    drawn: Sequence[Sequence[tuple[float, float]]],
    panels: Sequence[Placed],
    job: JobValues,
) -> tuple[Verdict, tuple[float, float] | None]:
    """Outlines of the panels' bodies, and where the drawing shows the wall's origin: as many, as large, and turned and placed like the panels."""
    import shapely

    bodies = []
    for panel in panels:
        design = job.design(panel.design)
        points = regular(
            panel.sides,
            design.apothem - design.at("gap") / 2,
            design.at("corner_radius"),
            panel.turn_deg,
        )
        bodies.append(shapely.Polygon([(x + panel.x, y + panel.y) for x, y in points]))
    shapes = [shapely.Polygon(points) for points in drawn if len(points) > 3]
    if len(shapes) != len(bodies):
        return (
            at_most(
                "proof.template-outline",
                path,
                float(abs(len(shapes) - len(bodies))),
                0.0,
                "outlines",
                f"{len(shapes)} outlines for {len(bodies)} panels",
            ),
            None,
        )
    dx = min(s.bounds[0] for s in shapes) - min(b.bounds[0] for b in bodies)
    dy = min(s.bounds[1] for s in shapes) - min(b.bounds[1] for b in bodies)
    moved = [shapely.affinity.translate(body, dx, dy) for body in bodies]
    index = shapely.STRtree(shapes)
    worst, where = 0.0, ""
    for panel, body in zip(panels, moved, strict=True):
        off = body.boundary.hausdorff_distance(shapes[int(index.nearest(body.centroid))].boundary)
        if off > worst:
            worst, where = off, f" of panel {panel.name}"
    return (
        at_most(
            "proof.template-outline",
            path,
            worst,
            0.02,
            "mm",
            f"the outline{where} differs from the panel's body on the wall",
        ),
        (dx, dy),
    )


def _pages(
    path: str, pages: Sequence[PdfPage], holes: Sequence[Hole], job: JobValues
) -> list[Verdict]:
    paper = job.shop.at("paper")
    sx, sy = (
        float(paper.get(key, 100.0)) / 100.0 for key in ("bar_x", "bar_y")
    )  # mm that come out for one drawn
    found = [*_sizes(path, pages), *_bars(path, pages, sx, sy), *_views(path, pages)]
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
                return [*found, at_most("proof.template-marks", path, 1.0, 0.0, "pages", says)]
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
        at_most(
            "proof.template-marks",
            path,
            float(len(missing)),
            0.0,
            "holes",
            f"holes without a mark on any page: {', '.join(missing)}"
            if missing
            else "every hole has its mark",
        )
    )
    found.append(
        at_most(
            "proof.template-place",
            path,
            worst,
            PLACE_MM,
            "mm",
            f"a mark differs from its hole in {HOLES}{where}",
        )
    )
    found.append(
        at_most(
            "proof.template-words",
            path,
            said_off,
            0.051,
            "mm",
            f"what is written at a mark differs from {HOLES}{said_where}",
        )
    )
    found += _covered(path, boxes, float(paper.get("overlap", 0.0)))
    return found


def _origin(page: PdfPage) -> tuple[tuple[float, float], tuple[float, float]] | None:
    """Where the plumb and the level line stand on a page (mm), and which place on the wall each says it is."""
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


def _said(page: PdfPage, word: Word, hole: Hole) -> float:
    """By how much the place written under a mark differs from the table."""
    near = sorted(
        (word.y - w.y, w.text)
        for w in page.words
        if w is not word and 0 < word.y - w.y < 6 and abs(w.x - word.x) < 1.0
    )
    pairs = (re.findall(r"([xy])\s+(-?[\d.]+)( in)?", text) for _, text in near)
    values = next((pair for pair in pairs if len(pair) == 2), None)  # a cross may have its name there
    if values is None:
        return math.inf
    off = [
        abs(float(value) * (25.4 if inch else 1.0) - getattr(hole, axis))
        for axis, value, inch in values
    ]
    return max(off)


def _sizes(path: str, pages: Sequence[PdfPage]) -> list[Verdict]:
    word = path.removeprefix("wall/template-").removesuffix(".pdf")
    if word not in PAPERS:
        return []
    short, long = PAPERS[word]
    off = max(math.dist(sorted((page.width, page.height)), (short, long)) for page in pages)
    return [
        at_most(
            "proof.template-paper",
            path,
            off,
            0.5,
            "mm",
            f"size of the pages against {word.upper()}",
        )
    ]


def _bars(path: str, pages: Sequence[PdfPage], sx: float, sy: float) -> list[Verdict]:
    """Scale bars of every page, and the card of the first; `sx`, `sy`: what the printer makes of one mm."""
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
        at_most(
            "proof.template-bar",
            path,
            worst,
            100 * SCALE_SHARE,
            "mm",
            f"length of a scale bar against its words{where}",
        )
    ]
    if pages and "bank card" in " ".join(word.text for word in pages[0].words):
        found.append(
            at_most(
                "proof.template-card",
                path,
                cards,
                0.1,
                "mm",
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
        at_most(
            "proof.template-bar",
            path,
            float(len(bare)),
            0.0,
            "pages",
            f"pages without a scale bar: {bare[:5]}" if bare else "every page has its scale bars",
        )
    )
    return found


def _views(path: str, pages: Sequence[PdfPage]) -> list[Verdict]:
    """No page is mirrored: words read forwards, and the F mark is an F."""
    wrong = []
    for k, page in enumerate(pages, 1):
        marks = [ink for ink in page.inks if ink.filled and len(ink.points) == len(F_SHAPE)]
        if any(word.mirrored for word in page.words) or not any(_is_f(ink) for ink in marks):
            wrong.append(k)
    return [
        at_most(
            "proof.template-view",
            path,
            float(len(wrong)),
            0.0,
            "pages",
            f"pages mirrored or without an upright F: {wrong[:5]}"
            if wrong
            else "no page is mirrored",
        )
    ]


def _is_f(ink: Ink) -> bool:
    x0, y0, x1, y1 = ink.box
    u, v = (x1 - x0) / 3.0, (y1 - y0) / 5.0
    wanted = [(x0 + x * u, y0 + y * v) for x, y in F_SHAPE]
    return u > 0.2 and all(min(math.dist(p, q) for q in ink.points) < 0.1 for p in wanted)


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
        at_most(
            "proof.template-whole",
            path,
            float(parts),
            1.0,
            "pieces",
            "the pages' parts of the wall hang together",
        )
    ]
    if math.isfinite(least):
        found.append(
            at_least(
                "proof.template-overlap",
                path,
                least,
                overlap,
                "mm",
                "least overlap of a page with its neighbours",
                tolerance=0.05,
            )
        )
    return found


def _common(one: object, other: object) -> tuple[float, float]:
    a, b = one.bounds, other.bounds  # type: ignore[attr-defined]
    return (min(a[2], b[2]) - max(a[0], b[0]), min(a[3], b[3]) - max(a[1], b[1]))
