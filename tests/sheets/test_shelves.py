"""What is left when the time is over: laid in a moment, complete, with its gaps and margins."""

from __future__ import annotations

import math

import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from fab.outlines.facets import to_shapely
from fab.sheets.paths import paths
from fab.sheets.shelves import completed
from fab.sheets.stock_parts import Answer, StockParts
from tests.sheets.shop_floor import GAP, KERF, angle, coupon, disc, offcut, panel, ring, sheet

KINDS = (panel(6, 120, 1, 3, name="hex"), angle(1), coupon(1), disc(1, 18), ring(1))


@settings(max_examples=5, deadline=None)
@given(counts=st.lists(st.integers(0, 40), min_size=5, max_size=5), rack=st.integers(0, 60))
def test_everything_lies_apart_or_is_missing(counts: list[int], rack: int) -> None:
    kinds = [k for k, count in zip(KINDS, counts, strict=True) if count]
    wanted = {kind.name: count for kind, count in zip(KINDS, counts, strict=True) if count}
    parts = StockParts(
        paths(kinds, KERF), [sheet(count=rack), offcut(((0, 0), (99, 0), (0, 99)))], GAP
    )
    answer = completed(parts, Answer((), tuple(wanted.items()), ""))
    laid: dict[str, int] = dict.fromkeys(wanted, 0)
    assert len(answer.fillings) <= rack
    for filling in answer.fillings:
        shapes = [
            to_shapely(
                i.shape.path.outline.turned(math.radians(i.shape.turn_deg)).moved(i.x, i.y),
                0.01,
                outside=False,
            )
            for i in filling.laid
        ]
        room = shapely.box(5, 5, 595, 395).buffer(1e-3)
        assert all(room.contains(shape) for shape in shapes)
        near = shapely.STRtree(shapes).query(shapes, predicate="dwithin", distance=GAP - 1e-3).T
        assert all(i == j for i, j in near)
        for item in filling.laid:
            laid[item.shape.path.piece.name] += 1
    missing = dict(answer.missing)
    assert {name: count + missing.get(name, 0) for name, count in laid.items()} == wanted
    assert rack < 60 or not missing
