"""The single-stroke alphabet: every promised sign is there, stands right, and burns no line
twice.
"""

import math
import string
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fab.errors import BrokenGeometry
from fab.outlines.strokes import UP_ARROW, strokes, width_mm

PROMISED = string.ascii_uppercase + string.digits + "-./_:+#'()" + UP_ARROW


def _box(paths: Any) -> Any:
    xs, ys = [x for path in paths for x, _ in path], [y for path in paths for _, y in path]
    return min(xs), min(ys), max(xs), max(ys)


@pytest.mark.parametrize("char", PROMISED)
def test_every_promised_sign_is_drawn_and_is_not_the_box(char: Any) -> None:
    drawn = strokes(char, 6)
    assert drawn
    assert drawn != strokes("\u2603", 6)  # a sign that is surely not there
    left, low, right, high = _box(drawn)
    assert left == pytest.approx(0)
    assert right == pytest.approx(width_mm(char, 6))
    assert low >= -1e-9
    assert high <= 6 + 1e-9


@pytest.mark.parametrize("char", string.ascii_uppercase + string.digits)
def test_capitals_and_figures_stand_on_the_line_and_have_full_height(char: Any) -> None:
    _, low, _, high = _box(strokes(char, 12.5))
    assert (low, high) == (pytest.approx(0, abs=1e-9), pytest.approx(12.5))


def test_no_two_signs_look_alike() -> None:
    looks = [
        tuple(tuple((round(x, 6), round(y, 6)) for x, y in path) for path in strokes(char, 6))
        for char in PROMISED
    ]
    assert len(set(looks)) == len(PROMISED)


@pytest.mark.parametrize("char", PROMISED + "\u2603")
def test_no_piece_of_a_line_is_drawn_twice(char: Any) -> None:
    from shapely.geometry import LineString

    pieces = [LineString(pair) for path in strokes(char, 60) for pair in pairwise(path)]
    assert min(piece.length for piece in pieces) > 0.1
    for place, one in enumerate(pieces):
        for other in pieces[place + 1 :]:
            assert one.intersection(other).length < 1e-6


def test_small_letters_are_drawn_as_capitals() -> None:
    assert strokes("nook-3", 5) == strokes("NOOK-3", 5)


def test_an_unknown_sign_is_a_box_of_four_sides() -> None:
    (path,) = strokes("\u2603", 6)
    assert len(path) == 5
    assert path[0] == path[-1]


@given(st.text(PROMISED + " ", min_size=1, max_size=12), st.floats(0.5, 60), st.floats(-180, 180))
def test_anchors_and_turns(text: str, height: float, turn: float) -> None:
    start = strokes(text, height, "start")
    wide = width_mm(text, height)
    middle, end = strokes(text, height, "middle"), strokes(text, height, "end", (7.0, 2.0))
    turned = strokes(text, height, "start", (0, 0), turn)
    cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    for a, b, c, d in zip(start, middle, end, turned, strict=True):
        for (ax, ay), (bx, by), (cx, cy), (dx, dy) in zip(a, b, c, d, strict=True):
            assert (bx, by) == pytest.approx((ax - wide / 2, ay), abs=1e-9)
            assert (cx, cy) == pytest.approx((ax - wide + 7, ay + 2), abs=1e-9)
            assert (dx, dy) == pytest.approx((ax * cos - ay * sin, ax * sin + ay * cos), abs=1e-9)


def test_width_counts_the_gap_between_but_not_after() -> None:
    assert width_mm("II", 6) == pytest.approx(1.6)
    assert width_mm("H", 6) == pytest.approx(4)
    assert width_mm("", 6) == 0
    assert strokes("", 6) == ()


@pytest.mark.parametrize("height", [0, -3, math.nan, math.inf])
def test_letters_without_a_height_are_refused(height: Any) -> None:
    with pytest.raises(BrokenGeometry, match="letters of"):
        strokes("A", height)
