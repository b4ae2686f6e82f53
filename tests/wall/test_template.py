"""The template through every file format: the same points; to scale; no mark on a seam; nothing
mirrored.
"""

from __future__ import annotations

import csv
import ctypes
import dataclasses
import io
import itertools
import math
import random
from typing import Any

import ezdxf
import pypdfium2
import pypdfium2.raw as pdfium
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from svgelements import SVG, Path

from fab.errors import InputError
from fab.files.dxf import dxf
from fab.files.pdf import pdf
from fab.files.svg import svg
from fab.files.table import csv_bytes
from fab.params import mapmarks
from fab.params.job import HangParams
from fab.params.shop import Paper, WallType
from fab.units import tool_size
from fab.wall.choose import choose
from fab.wall.fullsize import drawing_shift, full_size
from fab.wall.holes import hole_rows, holes
from fab.wall.marks import LEVEL, SCREW, arm
from fab.wall.paper import sheets
from fab.wall.template import MARK_CLEAR_MM, page_shift, template
from fab.wall.tiling import cuts, tile
from fab.wall.to_hang import WallToHang
from tests.cases import few

from .walls import masses, plan_of, random_cells, rest_of, wall

PT = 25.4 / 72
NOOK = [(0, 0), (1, 0), (2, 0), (-1, 1), (0, 1), (1, 1), (-1, 2), (0, 2), (0, -1)]


def hung_wall(
    sides: Any = 6, cells: Any = NOOK, turn_deg: Any = 0.0, edge: Any = 69.3, grams: Any = 250.0
) -> Any:
    layout = wall(sides, cells, turn_deg, edge=edge)
    plans = {"panel": plan_of(sides, edge)}
    return (
        layout,
        plans,
        choose(WallToHang(layout, plans, masses(layout, grams), HangParams(), WallType())),
    )


def read_dxf(drawing: Any) -> Any:
    return ezdxf.read(io.TextIOWrapper(io.BytesIO(dxf(drawing)), encoding="cp1252", newline=None))  # type: ignore[attr-defined]


def paths_of(page: Any) -> Any:
    """Stroke colour and points (mm, page frame) of every path of a page, by a PDF reader that did
    not write it.
    """
    for item in page.get_objects(filter=[pdfium.FPDF_PAGEOBJ_PATH], max_depth=5):
        red, green, blue, alpha = (ctypes.c_uint() for _ in range(4))
        pdfium.FPDFPageObj_GetStrokeColor(item, red, green, blue, alpha)
        matrix = item.get_matrix()
        points = []
        for k in range(pdfium.FPDFPath_CountSegments(item)):
            x, y = ctypes.c_float(), ctypes.c_float()
            pdfium.FPDFPathSegment_GetPoint(pdfium.FPDFPath_GetPathSegment(item, k), x, y)
            px, py = matrix.on_point(x.value, y.value)
            points.append((px * PT, py * PT))
        yield f"#{red.value:02x}{green.value:02x}{blue.value:02x}", points


def circles_in(page: Any, colour: Any) -> Any:
    """Centre and diameter of every closed path of a colour that is as wide as high and has more
    than two points.
    """
    for found, points in paths_of(page):
        if found == colour and len(points) > 4:
            xs, ys = [x for x, _ in points], [y for _, y in points]
            yield ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2), max(xs) - min(xs)


@pytest.mark.parametrize(
    ("sides", "edge", "turn_deg", "size"),
    few(
        [
            (6, 69.3, 0.0, "A4"),
            (6, 69.3, 30.0, "Letter"),
            (6, 69.3, 13.0, "A3"),
            (4, 110.0, 0.0, "A4"),
            (4, 110.0, 45.0, "Tabloid"),
            (3, 130.0, 0.0, "A4"),
            (3, 130.0, 90.0, "A4"),
        ],
        5,
    ),
)
def test_the_same_points_in_pdf_svg_dxf_and_csv(
    sides: int, edge: float, turn_deg: float, size: str
) -> None:
    rng = random.Random(int(turn_deg) + sides)
    layout, plans, hung = hung_wall(sides, random_cells(rng, sides, 7), turn_deg, edge)
    made = template(layout, plans, hung, Paper(size=size), WallType())
    want = {h.panel: (h.x, h.y) for h in hung.hangers}
    for name, at in want.items():
        assert at == pytest.approx(
            rest_of(layout, plans, name), abs=1e-9
        )  # the keyhole's rest, placed

    document = pypdfium2.PdfDocument(pdf(made.pages, "t"))
    assert len(document) == len(made.tiling.tiles) + 1
    seen = []
    for part, page in zip(made.tiling.tiles, itertools.islice(document, 1, None), strict=True):
        dx, dy = page_shift(made.tiling.sheet, part)
        seen += [((x - dx, y - dy), wide) for (x, y), wide in circles_in(page, SCREW)]
    assert len(seen) == len(want)  # each mark on one page only
    for at in want.values():
        near, wide = min(seen, key=lambda mark: math.dist(mark[0], at))
        assert math.dist(near, at) < 0.01
        assert wide == pytest.approx(6.0, abs=0.01)

    drawing = full_size(layout, plans, made.holes, made.datum)
    dx, dy = made.datum[0], made.datum[1]
    model = read_dxf(drawing)
    assert model.header["$INSUNITS"] == 4
    drawn = [
        (e.dxf.center.x, e.dxf.center.y)
        for e in model.modelspace().query('CIRCLE[layer=="TEMPLATE-SCREW"]')
    ]
    there = shifted(want.values(), drawing_shift(layout))
    assert same_points(drawn, there)

    parsed = SVG.parse(io.BytesIO(svg(drawing, line_mm=0.25)), ppi=25.4)
    round_ones = [
        e
        for e in parsed.elements()
        if type(e).__name__ == "Circle" and e.values.get("id") != "none"
    ]
    if not round_ones:
        round_ones = [
            e for e in parsed.elements() if isinstance(e, Path) and e.values.get("stroke") == SCREW
        ]
    centres = [centre_of(e) for e in round_ones]
    assert same_points([(x, drawing.height - y) for x, y in centres], there)

    header, *rows = hole_rows(made.holes)
    table = list(csv.DictReader(io.StringIO(csv_bytes(header, rows).decode())))
    assert {row["panel"] for row in table} == set(want)
    for row in table:
        at = (float(row["x_mm"]) + dx, float(row["y_mm"]) + dy)
        assert math.dist(at, want[row["panel"]]) < 0.01
        assert float(row["from_datum_mm"]) == pytest.approx(
            math.dist(want[row["panel"]], made.datum), abs=0.001
        )
        assert float(row["x_in"]) == pytest.approx(float(row["x_mm"]) / 25.4, abs=1e-4)


def centre_of(element: Any) -> Any:
    x0, y0, x1, y1 = element.bbox()
    return ((x0 + x1) / 2, (y0 + y1) / 2)


def shifted(points: Any, shift: Any) -> Any:
    return [(x + shift[0], y + shift[1]) for x, y in points]


def same_points(found: Any, want: Any, tol: Any = 0.01) -> Any:
    return len(found) == len(want) and all(min(math.dist(a, b) for b in found) < tol for a in want)


@pytest.mark.slow
def test_bars_card_and_paper_measure_what_they_say() -> None:
    """ISO 216 A4 210 x 297; ISO/IEC 7810 ID-1 85.60 x 53.98, radius 3.18; bars of 100 mm; read from
    the PDF.
    """
    layout, plans, hung = hung_wall()
    document = pypdfium2.PdfDocument(
        pdf(template(layout, plans, hung, Paper(), WallType()).pages, "t")
    )
    wide, high = document[0].get_size()
    assert (wide * PT, high * PT) == pytest.approx((210.0, 297.0), abs=0.01)
    boxes = [box_of(points) for _, points in paths_of(document[0])]
    assert any(
        w == pytest.approx(85.60, abs=0.005) and h == pytest.approx(53.98, abs=0.005)
        for w, h in boxes
    )
    for page in document:
        spans = [box_of(points) for _, points in paths_of(page) if len(points) == 2]
        assert any(w == pytest.approx(100.0, abs=0.005) and h < 1e-6 for w, h in spans)
        assert any(h == pytest.approx(100.0, abs=0.005) and w < 1e-6 for w, h in spans)


def box_of(points: Any) -> Any:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return max(xs) - min(xs), max(ys) - min(ys)


@pytest.mark.slow
def test_a_measured_bar_corrects_both_directions() -> None:
    """Bars printed 97.3 and 99.1: what is drawn is larger, so that on that printer 100 mm come out
    as 100.
    """
    layout, plans, hung = hung_wall()
    paper = Paper(bar_x=97.3, bar_y=99.1)
    made = template(layout, plans, hung, paper, WallType())
    document = pypdfium2.PdfDocument(pdf(made.pages, "t"))
    assert document[1].get_size()[0] * PT == pytest.approx(210.0, abs=0.01)
    spans = [box_of(points) for _, points in paths_of(document[1]) if len(points) == 2]
    assert any(w * 0.973 == pytest.approx(100.0, abs=0.005) and h < 1e-6 for w, h in spans)
    assert any(h * 0.991 == pytest.approx(100.0, abs=0.005) and w < 1e-6 for w, h in spans)
    seen = []
    for part, page in zip(made.tiling.tiles, itertools.islice(document, 1, None), strict=True):
        dx, dy = page_shift(made.tiling.sheet, part)
        seen += [(x * 0.973 - dx, y * 0.991 - dy) for (x, y), _ in circles_in(page, SCREW)]
    for hanger in hung.hangers:
        assert min(math.dist(at, (hanger.x, hanger.y)) for at in seen) < 0.01
    says = document[0].get_textpage().get_text_range()
    assert "97.3 across" in says
    assert "99.1 upwards" in says


@pytest.mark.slow
def test_every_page_says_what_matters() -> None:
    layout, plans, hung = hung_wall()
    made = template(layout, plans, hung, Paper(), WallType(), title="reading-nook")
    document = pypdfium2.PdfDocument(pdf(made.pages, "t"))
    first = document[0].get_textpage().get_text_range()
    for words in (
        "detector",
        "above, below or beside a socket",
        "plug that suits the wall",
        "Local codes",
        "licensed",
    ):
        assert words in " ".join(first.split())
    for part, page in zip(made.tiling.tiles, itertools.islice(document, 1, None), strict=True):
        says = page.get_textpage().get_text_range()
        assert part.name in says
        assert "FRONT view, not mirrored, top" in says
        assert "Drill 6 mm, 40 mm deep" in says
        assert "LEVEL" in says
        assert "PLUMB" in says
        assert any(colour == LEVEL for colour, _ in paths_of(page))


@pytest.mark.parametrize("name", ["I", "W" * 24])  # the narrowest, and the longest
@pytest.mark.parametrize(("sides", "edge"), [(3, 90.0), (4, 60.0), (6, 46.2)])
def test_words_of_a_small_wall_stay_on_its_sheet(sides: int, edge: float, name: str) -> None:
    """One panel of the smallest size."""
    layout, plans, hung = hung_wall(sides, [(0, 0)], edge=edge)
    (panel,) = layout.panels
    layout = dataclasses.replace(layout, panels=(dataclasses.replace(panel, name=name),))
    made = template(layout, plans, hung, Paper(), WallType())
    drawing = full_size(layout, plans, made.holes, made.datum)
    words = next(layer for layer in drawing.layers if layer.name == "TEMPLATE-TEXT")
    for x, y in itertools.chain.from_iterable(words.strokes):
        assert 0 <= x <= drawing.width
        assert 0 <= y <= drawing.height


def test_pages_are_seen_from_the_front() -> None:
    """Names of panels stand on the pages left to right as on the wall."""
    layout, plans, hung = hung_wall(6, [(0, 0), (1, 0)])
    made = template(layout, plans, hung, Paper(size="A3"), WallType())
    assert len(made.pages) == 2
    drawing = full_size(layout, plans, made.holes, made.datum)
    model = read_dxf(drawing).modelspace()
    centres = sorted(e.dxf.center.x for e in model.query("CIRCLE"))
    a, b = layout.by_name["A"], layout.by_name["B"]
    assert a.x < b.x
    assert centres[1] - centres[0] == pytest.approx(b.x - a.x, abs=1e-6)
    table = {hole.panel: hole for hole in made.holes}
    assert table["A"].number == 1
    assert table["B"].x > 0


@given(
    st.integers(0, 10_000), st.sampled_from(["A4", "A3", "Letter", "Tabloid"]), st.floats(0.0, 60.0)
)
@settings(max_examples=25, deadline=None)
def test_every_mark_is_whole_on_one_page_and_pages_cover_the_wall(
    seed: int, size: Any, turn_deg: float
) -> None:
    rng = random.Random(seed)
    layout = wall(6, random_cells(rng, 6, rng.randint(1, 25)), turn_deg)
    marks = [
        (panel.name, rest_of(layout, {"panel": plan_of(6)}, panel.name)) for panel in layout.panels
    ]
    x0, y0, x1, y1 = layout.box
    keep = arm(6.0) + MARK_CLEAR_MM
    tiling = tile(sheets(Paper(size=size), x1 - x0, y1 - y0), layout.panels, marks, keep)
    own_x, own_y = tiling.sheet.own
    for part in tiling.tiles:
        wide, high = part.box[2] - part.box[0], part.box[3] - part.box[1]
        assert wide <= own_x + (0.0 if part.right else tiling.sheet.overlap) + 1e-6
        assert high <= own_y + tiling.sheet.overlap + 1e-6
    for panel in layout.panels:
        for corner in panel.corners:
            inner = (
                panel.x + 0.999 * (corner[0] - panel.x),
                panel.y + 0.999 * (corner[1] - panel.y),
            )
            assert any(holds(part.box, inner) for part in tiling.tiles)
    for name, at in marks:
        owners = [part for part in tiling.tiles if holds(part.box, at)]
        assert len(owners) == 1
        box, own = owners[0].box, owners[0]
        clear = min(
            at[0] - box[0] if own.left else keep,
            box[2] - at[0] if own.right else keep,
            at[1] - box[1] if own.below else keep,
            box[3] - at[1] if own.above else keep,
        )
        assert clear >= keep - 1e-6 or name in tiling.on_seams
    assert not tiling.on_seams


def holds(box: Any, at: Any) -> Any:
    return box[0] - 1e-9 <= at[0] < box[2] + 1e-9 and box[1] - 1e-9 <= at[1] < box[3] + 1e-9


@given(
    st.floats(50.0, 3000.0),
    st.floats(60.0, 400.0),
    st.lists(st.floats(0.0, 3000.0), max_size=12),
    st.floats(0.0, 12.0),
)
def test_no_other_cuts_from_the_same_start_need_fewer_pages(
    high: float, own: float, marks: Any, keep: float
) -> None:
    """The fewest pages by dynamic programming over a fine grid of free cut places."""
    found = cuts(0.0, high, own, own, marks, keep)
    if found is None:
        return
    assert found[0] == 0.0
    assert found[-1] == high
    assert all(b - a <= own + 1e-6 for a, b in itertools.pairwise(found))
    assert all(abs(cut - mark) >= keep - 1e-6 for cut in found[1:-1] for mark in marks)
    free = [
        x
        for x in (k * high / 400 for k in range(1, 400))
        if all(abs(x - mark) >= keep for mark in marks)
    ]
    reach, pages = 0.0, 0
    # the furthest reachable grid cut, page by page: a lower bound is one page less for the grid
    while reach < high:
        ahead = [x for x in (*free, high) if reach < x <= reach + own]
        if not ahead:
            return
        reach, pages = max(ahead), pages + 1
    assert len(found) - 1 <= pages


def test_orientation_and_paper_by_fewest_pages() -> None:
    """Three hexagons in a row are 360 mm long and 139 high: landscape pages are fewer."""
    layout = wall(6, [(k, 0) for k in range(3)])
    x0, y0, x1, y1 = layout.box
    counts = {}
    for sheet in sheets(Paper(size="A4"), x1 - x0, y1 - y0):
        counts[sheet.landscape] = len(tile([sheet], layout.panels, [], 10.0).tiles)
    best = tile(sheets(Paper(size="A4"), x1 - x0, y1 - y0), layout.panels, [], 10.0)
    assert len(best.tiles) == min(counts.values())
    assert best.sheet.landscape
    assert counts[True] < counts[False]
    either = tile(sheets(Paper(size="best"), x1 - x0, y1 - y0), layout.panels, [], 10.0)
    assert either.sheet.name == "A3"
    inch = tile(sheets(Paper(size="best"), x1 - x0, y1 - y0, inches=True), layout.panels, [], 10.0)
    assert inch.sheet.name == "Tabloid"


@pytest.mark.slow
def test_a_roll_takes_the_wall_in_one_piece() -> None:
    layout, plans, hung = hung_wall()
    made = template(layout, plans, hung, Paper(size="roll", width=610.0), WallType())
    assert len(made.tiling.tiles) == 1
    assert 610.0 in (made.pages[1].width, made.pages[1].height)


def test_blank_pages_are_left_out() -> None:
    """An L of squares: the page in the empty corner is not printed."""
    layout = wall(4, [(0, 0), (1, 0), (2, 0), (3, 0), (0, 1), (0, 2), (0, 3), (0, 4)], edge=150.0)
    x0, y0, x1, y1 = layout.box
    upright, _ = sheets(Paper(), x1 - x0, y1 - y0)
    found = tile([upright], layout.panels, [], 10.0)
    columns = math.ceil((x1 - x0) / upright.own[0])
    rows = math.ceil((y1 - y0) / upright.own[1])
    assert len(found.tiles) < columns * rows
    assert len({part.name for part in found.tiles}) == len(found.tiles)


@pytest.mark.parametrize(
    ("paper", "says"),
    [
        (
            Paper(size="custom", width=80.0, height=60.0, margin=40.0),
            r"shop\.paper\.margin: .* is smaller than its margins",
        ),
        (
            Paper(size="custom", width=90.0, height=120.0),
            r"shop\.paper: 90 x 120 mm paper .* leaves too little .* It needs \d",
        ),
        (Paper(size="A4", overlap=100.0, margin=40.0), r"shop\.paper: .* leaves too little"),
        (Paper(size="custom", width=200.0), r"shop\.paper\.height: custom paper needs this size"),
        (Paper(size="roll"), r"shop\.paper\.width: a roll needs its width"),
    ],
)
def test_paper_that_cannot_be(paper: Any, says: str) -> None:
    with pytest.raises(InputError, match=says):
        sheets(paper, 300.0, 200.0)


@pytest.mark.slow
def test_holes_are_told_from_the_topmost_leftmost_and_from_each_other() -> None:
    hung = hung_wall()[2]
    table = holes(hung, WallType(drill=8.0, depth=50.0))
    assert (table[0].x, table[0].y, table[0].from_datum) == (0.0, 0.0, 0.0)
    assert all(hole.y <= 1e-9 for hole in table)
    for before, hole in itertools.pairwise(table):
        assert hole.before == before.panel
        assert hole.from_before == pytest.approx(math.dist((before.x, before.y), (hole.x, hole.y)))
    assert {hole.drill for hole in table} == {8.0}


@pytest.mark.slow
def test_same_bytes_twice() -> None:
    layout, plans, hung = hung_wall()
    made = [template(layout, plans, hung, Paper(), WallType()) for _ in range(2)]
    assert made[0] == made[1]
    assert pdf(made[0].pages, "t") == pdf(made[1].pages, "t")


@pytest.mark.slow
def test_no_page_can_have_the_name_of_a_panel() -> None:
    """A name drawn in a map has no point, a page's has one; a panel that was called so by hand
    turns the pages' names. No letter stands alone on a page: it could be a panel's.
    """
    layout, plans, hung = hung_wall(6, [(q - r // 2, r) for r in range(7) for q in range(7)])
    made = template(layout, plans, hung, Paper(size="A4"), WallType())
    names = [page.name for page in made.tiling.tiles]
    assert names[0] == "p1.1"
    assert not any(mapmarks._NAME.fullmatch(name) for name in names)
    called = dataclasses.replace(layout.panels[0], name="p1.2")
    sly = tile(sheets(Paper(size="A4"), 9e3, 9e3), [called, *layout.panels[1:]], [], 10.0)
    assert sly.tiles[0].name == "pp1.1"
    document = pypdfium2.PdfDocument(pdf(made.pages, "x"))
    for page, name in zip(list(document)[1:], names, strict=True):
        said = page.get_textpage().get_text_range()
        assert name in said
        assert "RONT" in said  # the F before it is a shape


@pytest.mark.slow
@pytest.mark.parametrize(
    ("sides", "many", "size"),
    [
        (6, 3, "A4"),
        (4, 7, "A4"),
        (6, 10, "A4"),
        (3, 12, "Letter"),
    ],
)
def test_no_two_names_of_the_overview_meet(sides: int, many: int, size: str) -> None:
    """Pages' and panels' names on the first page: their letters' boxes as a PDF reader sees
    them.
    """
    cells = [(q - (r // 2 if sides == 6 else 0), r) for r in range(many) for q in range(many)]
    layout, plans, hung = hung_wall(sides, cells)
    made = template(layout, plans, hung, Paper(size=size), WallType())
    words = {page.name for page in made.tiling.tiles} | set(layout.by_name)
    page = pypdfium2.PdfDocument(pdf(made.pages[:1], "x"))[0]
    text = page.get_textpage()
    boxes = []
    for k in range(text.count_rects()):
        box = text.get_rect(k)
        said = text.get_text_bounded(*box).strip().split("\r")[0]  # a neighbour may reach into it
        if said in words:  # the table of holes says "1 A datum", "2 C"
            boxes.append((said, box))
    assert {page.name for page in made.tiling.tiles} <= {said for said, _ in boxes} or many == 7
    assert many > 7 or set(layout.by_name) <= {said for said, _ in boxes}
    for (one, a), (two, b) in itertools.combinations(boxes, 2):
        assert a[0] >= b[2] or b[0] >= a[2] or a[1] >= b[3] or b[1] >= a[3], f"{one} lies on {two}"


@pytest.mark.parametrize(
    ("size_mm", "metric", "inch"),
    [
        (6.0, "6 mm", "0.236 in"),
        (7.9375, "7.938 mm", "5/16 in"),
        (38.1, "38.1 mm", "1 1/2 in"),
        (25.4, "25.4 mm", "1 in"),
        (2.38125, "2.381 mm", "3/32 in"),
        (44.45, "44.45 mm", "1 3/4 in"),
        (0.05, "0.05 mm", "0.002 in"),
    ],
)
def test_a_drill_is_told_as_it_is_marked(size_mm: float, metric: str, inch: str) -> None:
    """By hand: 5/16 in = 7.9375 mm, 3/32 in = 2.38125 mm; 6 mm is no whole number of 64ths."""
    assert tool_size(size_mm, in_inches=False) == metric
    assert tool_size(size_mm, in_inches=True) == inch


@pytest.mark.slow
def test_an_inch_shop_reads_inches_on_every_page() -> None:
    layout, plans, hung = hung_wall()
    wall = WallType(drill=7.9375, depth=38.1)
    made = template(layout, plans, hung, Paper(size="Letter"), wall, inches=True)
    document = pypdfium2.PdfDocument(pdf(made.pages, "x"))
    words = [document[k].get_textpage().get_text_range() for k in range(len(document))]
    assert all("Drill 5/16 in, 1 1/2 in deep" in page for page in words)
    assert "7.938" not in "".join(words)
    marks = [
        row
        for page in words
        for row in page.splitlines()
        if ": drill 5/16 in, 1 1/2 in deep" in row
    ]
    assert len(marks) == len(made.holes)
