"""Cut checks on sheets laid out by hand (limits: common practice, as the verdicts say)."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from fab.checks import cut
from fab.checks.cut_measured import inner_radius
from fab.outlines.contour import Arc, Contour, Line, Outline, circle
from fab.outlines.shapes import rectangle
from fab.params.shop import Laser, Stock
from fab.sheets.model import Layup, Piece, Placed, Sheet

STOCK = Stock(thickness=3.0, kerf=0.2)
SHEET = Sheet(
    "opal-3", "sheet", ((0.0, 0.0), (300.0, 0.0), (300.0, 200.0), (0.0, 200.0)), margin=5.0
)
PLATE = Piece("plate", Outline(rectangle(40.0, 40.0)), 2)


def verdicts(
    piece: Piece, *places: tuple[float, float], laser: Laser | None = None, stock: Stock = STOCK
) -> dict[str, Any]:
    layup = Layup(
        SHEET,
        tuple(Placed(piece.name, k + 1, x, y, 0.0) for k, (x, y) in enumerate(places)),
        0.0,
        None,
    )
    return {v.id: v for v in cut.checks("sheet-01", layup, [piece], laser or Laser(), stock)}


def test_a_plain_sheet_passes() -> None:
    found = verdicts(PLATE, (30.0, 30.0), (72.2, 30.0))
    assert {v.verdict for v in found.values()} == {"pass"}


def test_the_web_between_two_parts_has_the_kerf_taken_off() -> None:
    # cut paths 0.7 mm apart, the beam takes 0.2
    found = verdicts(PLATE, (30.0, 30.0), (70.9, 30.0))
    assert found["cut.kerf"].verdict == "pass"
    assert found["cut.kerf"].measured == pytest.approx(0.5)
    assert verdicts(PLATE, (30.0, 30.0), (70.6, 30.0))["cut.kerf"].verdict == "fail"


def test_parallel_cuts_that_crowd_are_a_warning() -> None:
    assert (
        verdicts(PLATE, (30.0, 30.0), (71.4, 30.0))["cut.heat"].verdict == "warn"
    )  # 1.2 mm apart, 1.5 asked for
    assert verdicts(PLATE, (30.0, 30.0), (71.8, 30.0))["cut.heat"].verdict == "pass"
    assert math.isinf(verdicts(PLATE, (30.0, 30.0), (150.0, 30.0))["cut.heat"].measured)


def test_margin_and_bed() -> None:
    assert verdicts(PLATE, (25.0, 30.0))["cut.margin"].verdict == "fail"  # 4.9 mm, the kerf counted
    assert verdicts(PLATE, (25.1, 30.0))["cut.margin"].verdict == "pass"
    assert verdicts(PLATE, (10.0, 30.0))["cut.margin"].measured < 0
    small = verdicts(PLATE, (30.0, 30.0), (170.0, 30.0), laser=Laser(bed=(180.0, 100.0)))["cut.bed"]
    assert small.verdict == "fail"
    assert "300 x 200 mm; bed 180 x 100 mm" in small.says
    assert "180 x 100 mm first" in small.remedy  # the biggest sheet that fits
    (rest,) = [
        v
        for v in cut.checks(
            "sheet-01",
            Layup(
                replace(SHEET, name="rest-1", offcut=True),
                (Placed("plate", 1, 30.0, 30.0, 0.0),),
                0.0,
                None,
            ),
            [PLATE],
            Laser(bed=(180.0, 100.0)),
            STOCK,
        )
        if v.id == "cut.bed"
    ]
    assert rest.remedy.startswith("Cut offcut rest-1 to 180 x 100 mm first")
    through = Laser(bed=(250.0, 150.0), pass_through=True)
    assert verdicts(PLATE, (30.0, 30.0), laser=through)["cut.bed"].verdict == "pass"
    assert (
        verdicts(PLATE, (30.0, 30.0), laser=replace(through, pass_through=False))["cut.bed"].verdict
        == "fail"
    )
    assert (
        verdicts(
            PLATE, (30.0, 30.0), (170.0, 30.0), laser=Laser(bed=(100.0, 191.0), pass_through=True)
        )["cut.bed"].verdict
        == "pass"
    )


def test_a_bridge_thinner_than_the_sheet_fails() -> None:
    holed = Piece("holed", Outline(rectangle(40.0, 40.0), (circle((17.0, 0.0), 1.0),)), 1)
    told = verdicts(holed, (30.0, 30.0))["cut.bridge"]
    assert told.verdict == "fail"
    assert told.measured == pytest.approx(2.0, abs=1e-3)
    assert (
        verdicts(holed, (30.0, 30.0), stock=Stock(thickness=1.9, kerf=0.2))["cut.bridge"].verdict
        == "pass"
    )


def test_inner_corners() -> None:
    """A sharp notch has radius 0; a rounded one its radius; a convex part none."""
    notched = [
        (0.0, 0.0),
        (20.0, 0.0),
        (20.0, 20.0),
        (12.0, 20.0),
        (12.0, 10.0),
        (8.0, 10.0),
        (8.0, 20.0),
        (0.0, 20.0),
    ]
    sharp = Contour(
        tuple(Line(a, b) for a, b in zip(notched, [*notched[1:], notched[0]], strict=True))
    )
    assert inner_radius(sharp) == 0.0
    assert (
        verdicts(Piece("notched", Outline(sharp), 1), (30.0, 30.0))["cut.radius"].verdict == "fail"
    )
    bowl = Contour(
        (
            Line((0.0, 0.0), (20.0, 0.0)),
            Line((20.0, 0.0), (20.0, 20.0)),
            Line((20.0, 20.0), (14.0, 20.0)),
            Arc((14.0, 20.0), (10.0, 20.0), -math.pi),
            Line((6.0, 20.0), (0.0, 20.0)),
            Line((0.0, 20.0), (0.0, 0.0)),
        )
    )
    assert inner_radius(bowl) == pytest.approx(4.0)
    assert math.isinf(inner_radius(rectangle(10.0, 10.0, (0.0, 0.0), 2.0)))


def test_shared_lines_are_meant_where_the_shop_cuts_them_once() -> None:
    laid = [(30.0, 30.0), (70.2, 30.0)]  # cut paths on one line
    assert verdicts(PLATE, *laid)["cut.kerf"].verdict == "fail"
    assert verdicts(PLATE, *laid, laser=Laser(common_line=True))["cut.kerf"].verdict == "pass"
