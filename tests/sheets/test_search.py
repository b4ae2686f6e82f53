"""The inside of the mixed engine: no-fit regions, boards, pressing, stuffing, the strip library."""

from __future__ import annotations

import math
import pathlib
import time

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from fab.outlines.contour import Outline, Point, circle, polygon
from fab.outlines.facets import facets
from fab.outlines.kerf import grown
from fab.outlines.shapes import rectangle, regular
from fab.sheets import strip, strip_worker
from fab.sheets.compact import Compactor, width
from fab.sheets.fill_holes import stuffed, unpacked
from fab.sheets.mixed import Trial, run
from fab.sheets.model import Piece, Sheet
from fab.sheets.nest import nest
from fab.sheets.nofit import NoFit, Shape, convex_bits, few_corners
from fab.sheets.paths import Path, paths
from fab.sheets.sheet_fill import Laid, SheetFill
from fab.sheets.stock_parts import Budget, StockParts
from tests.sheets.shop_floor import (
    GAP,
    angle,
    box,
    coupon,
    disc,
    offcut,
    panel,
    ring,
    sheet,
    triangle,
)


def shape(piece: Piece, turn_deg: float = 0.0) -> Shape:
    return Shape(Path(piece, piece.outline), turn_deg)


def moved(item: Laid) -> shapely.Polygon:
    return shapely.transform(item.shape.polygon, lambda c: c + (item.x, item.y))  # noqa: RUF005 - an array


def quiet(seconds: float) -> Budget:
    return Budget(time.monotonic() + seconds, 1, lambda: False, lambda _says, _share: None)


STAR = Outline(
    polygon(
        [
            (60, 0),
            (20, 15),
            (18, 57),
            (-8, 24),
            (-48, 35),
            (-25, 0),
            (-48, -35),
            (-8, -24),
            (18, -57),
            (20, -15),
        ]
    )
)


def test_convex_bits_make_up_the_whole() -> None:
    for outline in (STAR, angle(1).outline, ring(1).outline, coupon(1).outline):
        whole = shape(Piece("p", outline, 1, "opal"))
        bits = [shapely.Polygon(bit) for bit in convex_bits(whole.polygon)]
        assert math.fsum(bit.area for bit in bits) == pytest.approx(whole.polygon.area, rel=1e-6)
        assert all(bit.convex_hull.area == pytest.approx(bit.area, rel=1e-6) for bit in bits)


@settings(max_examples=40, deadline=None)
@given(x=st.floats(-150, 150), y=st.floats(-150, 150), turn=st.sampled_from([0.0, 90.0, 180.0]))
def test_no_fit_regions_against_distances(x: float, y: float, turn: float) -> None:
    """Inside the region the gap is missed, outside it is kept: by shapely's distance, within its
    chords.
    """
    nofit = NoFit(GAP)
    for fixed in (Piece("star", STAR, 1, "opal"), ring(1), angle(1)):
        a, b = shape(fixed), shape(Piece("l", angle(1).outline, 1, "opal"), turn)
        apart = a.polygon.distance(moved(Laid(b, x, y)))
        inside = nofit.pair(a, b).contains(shapely.Point(x, y))
        if apart < GAP - 0.02:
            assert inside
        if apart > GAP + 0.02:
            assert not inside


@settings(max_examples=40, deadline=None)
@given(x=st.floats(-20, 320), y=st.floats(-20, 270))
def test_the_field_of_an_offcut(x: float, y: float) -> None:
    """Where a disc may lie on an offcut with a bad spot: by distance from its edge."""
    rest = offcut(
        ((0, 0), (300, 0), (300, 120), (180, 250), (0, 250)),
        (((60, 60), (90, 60), (90, 100), (60, 100)),),
    )
    field = NoFit(GAP).field(rest, shape(disc(1)))
    material = shapely.Polygon(rest.outline, rest.holes)
    at = shapely.Point(x, y)
    room = material.boundary.distance(at) if material.contains(at) else -1.0
    if room > 25.1:
        assert field.contains(at)
    if room < 24.9:
        assert not field.contains(at)


def test_a_part_finds_its_place_in_a_bay() -> None:
    """The leftmost place of a small square beside an angle is inside the angle."""
    board = SheetFill(sheet(200, 92, 0.0), NoFit(GAP))
    board.put(Laid(shape(angle(1)), 0, 0))
    found = board.best([shape(panel(4, 40, 1))], "right")
    assert found is not None
    assert (found.x, found.y) == pytest.approx((25 + GAP + 20, 25 + GAP + 20), abs=0.02)
    assert board.free(shape(panel(4, 300, 1, name="large"))).is_empty


def test_a_sheet_in_a_hurry_takes_one_part_and_no_more() -> None:
    board = SheetFill(sheet(), NoFit(GAP), hurry=lambda: True)
    found = board.best([shape(angle(1))], "right")
    assert found is not None
    board.put(found)
    assert board.best([shape(angle(1))], "right") is None


def test_a_million_corners_become_few() -> None:
    """A fine circle: the coarse outline holds it and is little larger."""
    ring_: list[Point] = [
        (50 * math.cos(k / 1e4 * 2 * math.pi), 50 * math.sin(k / 1e4 * 2 * math.pi))
        for k in range(10_000)
    ]
    edge, holes = few_corners(tuple(ring_), ())
    assert len(edge) <= 90
    assert holes == ()
    coarse = shapely.Polygon(edge)
    assert coarse.buffer(1e-9).contains(shapely.Polygon(ring_))
    assert coarse.area < math.pi * 2500 * 1.01


MIXED = [
    panel(6, 80, 4, 2.0, name="hex"),
    triangle(70, 5),
    angle(3, 70, 20),
    Piece("star", STAR, 2, "opal", "quarter"),
]


def job_of(pieces: list[Piece], high: float = 300.0, far: float = 900.0) -> StockParts:
    return StockParts(paths(pieces, 0.0), [Sheet("opal", "strip", box(far, high))], GAP)


def loose(parts: StockParts) -> list[Laid]:
    """Everything laid one after the other, far apart."""
    board = SheetFill(parts.sheets[0], NoFit(25.0))
    for path in parts.ways:
        for _ in range(path.piece.count):
            item = board.best(parts.shapes(path, grain=False)[:1], "right")
            assert item is not None
            board.put(item)
    return board.laid


def apart_enough(laid: list[Laid], high: float, gap: float = GAP) -> bool:
    polys = [moved(item) for item in laid]
    inside = all(
        p.bounds[0] >= -1e-6 and p.bounds[1] >= -1e-6 and p.bounds[3] <= high + 1e-3 for p in polys
    )
    return inside and all(
        polys[i].distance(polys[j]) > gap - 1e-3 for i in range(len(polys)) for j in range(i)
    )


@pytest.mark.slow
def test_pressing_shortens_and_never_overlaps() -> None:
    parts = job_of(MIXED)
    start = loose(parts)
    found = Compactor(300, GAP).left(start, 60, lambda: False)
    assert width(found) < width(start) - 30
    assert apart_enough(found, 300)
    assert Compactor(300, GAP).left(start, 0, lambda: False) == start


def test_two_squares_pressed_in_a_low_strip_stand_a_gap_apart() -> None:
    """By hand: 2 x 50 + 2 in a strip 60 high."""
    parts = job_of([panel(4, 50, 2)], 60.0)
    body = parts.shapes(parts.ways[0], grain=False)[0]
    found = Compactor(60, GAP).left([Laid(body, 40, 30), Laid(body, 140, 28)], 60, lambda: False)
    assert width(found) == pytest.approx(102, abs=1e-3)


def test_overlaps_are_pulled_apart_or_given_up() -> None:
    parts = job_of([panel(4, 50, 3)], 60.0)
    body = parts.shapes(parts.ways[0], grain=False)[0]
    tight = [Laid(body, 26, 30), Laid(body, 60, 30), Laid(body, 130, 30)]
    found = Compactor(60, GAP).apart(tight, 170, 40, lambda: False)
    assert found is not None
    assert apart_enough(found, 60)
    assert width(found) <= 170 + 1e-6
    assert Compactor(60, GAP).apart(tight, 150, 40, lambda: False) is None


def test_small_parts_are_stuffed_into_holes_and_turn_with_their_host() -> None:
    pieces = [ring(1, 60, 45), Piece("card", Outline(rectangle(60, 20)), 3, "opal", "quarter")]
    parts = job_of(pieces)
    left = {"ring": 1, "card": 3}
    (host,) = stuffed(parts, left, grain=False)
    assert left["card"] < 3
    body = parts.shape(parts.ways[0], 90.0)
    at = Laid(body, 200, 150)
    guests = unpacked(parts, host, at)
    assert len(guests) == 3 - left["card"]
    assert apart_enough([at, *guests], 300)


def test_only_holes_that_take_a_piece_are_kept() -> None:
    """The hole of the ring has pi 45^2 mm2: a disc of 20 mm may go in, a panel of 80 mm across is
    larger.
    """
    for guest, holes in ((disc(1), 1), (panel(4, 80, 1, name="card"), 0)):
        parts = job_of([ring(1), guest])
        assert len(parts.shape(parts.ways[0], 0.0).holes) == holes


def test_kinds_with_large_counts_repeat_full_sheets() -> None:
    """Hexagons in rows, squares in their waste: one sheet worked out, laid many times."""
    parts = StockParts(
        paths([panel(6, 120, 200, name="hex"), panel(4, 60, 200, name="sq")], 0.18),
        [sheet(count=99)],
        GAP,
    )
    found = run(parts, Trial(parts.ways, "right", "test"))
    assert found.missing == ()
    assert len({id(filling) for filling in found.fillings}) < len(found.fillings) / 2
    names = [{i.shape.path.piece.name for i in f.laid} for f in found.fillings]
    assert {"hex", "sq"} in names


def test_a_fault_of_the_library_is_no_fault_of_ours(capfd: pytest.CaptureFixture[str]) -> None:
    """A part higher than the strip makes the library panic; nothing is found and nothing is
    printed.
    """
    parts = job_of([panel(4, 80, 1)], 50.0)
    wanted = [(parts.shape(parts.ways[0], 0.0), 1, (0.0,))]
    assert (
        strip.packed(wanted, 50, GAP, quiet(2.4), 1, lambda s, deg: parts.shape(s.path, deg)) == []
    )
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize("cores", [1, 2])
def test_ctrl_c_ends_the_library_at_once(cores: int) -> None:
    """One run on one core, two side by side on two."""
    parts = job_of(MIXED)
    wanted = [
        (parts.shape(path, 0.0), path.piece.count, path.turns(grain=False)) for path in parts.ways
    ]
    began = time.monotonic()
    budget = Budget(
        began + 600, 1, lambda: time.monotonic() > began + 0.3, lambda _says, _share: None
    )
    found = strip.packed(
        wanted, 300, GAP, budget, cores, lambda s, deg: parts.shape(s.path, round(deg, 9))
    )
    assert time.monotonic() < began + 600  # by the stop, not by the end of its time
    assert all(len(laid) == 14 for laid in found)


_STAND_IN = """import json, sys, time
job = json.load(sys.stdin)
print(json.dumps([job["width"] + 1.0, []]), json.dumps([job["width"], []]), sep="\\n", flush=True)
time.sleep(0 if job["ends"] else 600)
"""


def test_of_runs_side_by_side_the_one_ahead_goes_on(
    tmp_path: pathlib.Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What has ended by itself keeps its layouts, however long they are."""
    stand_in = tmp_path / "stand_in.py"
    stand_in.write_text(_STAND_IN)
    monkeypatch.setattr(strip_worker, "__file__", str(stand_in))
    given = ((120.0, False), (100.0, False), (130.0, True), (110.0, False))
    runs = [strip._Run({"width": width, "ends": ends}) for width, ends in given]
    try:
        while [run.width for run in runs] != [width for width, _ in given] or not runs[2].ended:
            time.sleep(0.01)
        kept = strip._without_losers(runs)
        assert kept == [runs[2], runs[1]]
        assert [run.ended for run in runs] == [True, False, True, True]
        assert [told[0] for told in runs[2].last] == [131.0, 130.0]
    finally:
        for run in runs:
            run.end()
    assert runs[1].ended


@pytest.mark.slow
def test_a_third_library_finds_no_overlap() -> None:
    """Engine and audit both stand on shapely here; a polygon kernel of other people looks at the
    same layout: every two parts swollen by half the gap meet in no area. Facets lie outside the
    true curves.
    """
    manifold = pytest.importorskip("manifold3d")
    pieces = [
        ring(2, 50, 38),
        disc(3, 15),
        angle(3, 70, 20),
        panel(6, 60, 5, 2.0, name="hex"),
        coupon(2),
    ]
    found = nest(pieces, [sheet()], gap_mm=GAP, kerf_mm=0.18)
    by_name = {piece.name: grown(piece.outline, 0.09) for piece in pieces}
    regions = []
    for item in found.layups[0].placed:
        outline = item.outline(by_name[item.piece])
        loops = [facets(contour, 0.002, outside=True) for contour in outline.contours]
        region = manifold.CrossSection(loops, manifold.FillRule.EvenOdd)
        regions.append(region.offset(GAP / 2 - 0.005, manifold.JoinType.Round, 2.0, 256))
    assert len(regions) == 15
    clashes = [
        (i, j) for i in range(15) for j in range(i) if (regions[i] ^ regions[j]).area() > 1e-6
    ]
    assert clashes == []
    assert (
        regions[0] ^ regions[0].translate((3.0, 0.0))
    ).area() > 1.0  # the kernel does see an overlap


def test_a_disc_is_one_turn_and_a_hexagon_two() -> None:
    parts = job_of(
        [disc(1), panel(6, 80, 1), panel(4, 60, 1, name="sq"), panel(3, 60, 1, name="tri")]
    )
    assert [len(parts.shapes(path, grain=False)) for path in parts.ways] == [1, 2, 1, 4]
    assert regular(6, 40).area_mm2 == pytest.approx(
        parts.shapes(parts.ways[1], grain=False)[0].area
    )
    assert circle((0, 0), 20).area_mm2 == pytest.approx(
        parts.shapes(parts.ways[0], grain=False)[0].area
    )
