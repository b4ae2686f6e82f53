"""Page values refuse what no writer could draw; figures keep their measures."""

import math
from typing import Any

import pytest

from fab.errors import BrokenGeometry
from fab.outlines.contour import Line
from fab.outlines.figures import (
    CAP_HEIGHT,
    arrow,
    arrow_head,
    dimension,
    size_to_fit_mm,
    text_width_mm,
)
from fab.outlines.page import Fill, Group, Page, Stroke, Text, line, polyline, ring
from fab.outlines.shapes import regular


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: Stroke(()), "no segments"),
        (lambda: Stroke((Line((0, 0), (1, 0)),), 0.0), "over 0"),
        (lambda: line((0, 0), (1, 0), dash=(1.0, 0.0)), "over 0"),
        (lambda: Stroke((Line((0, 0), (1, 0)), Line((2, 0), (3, 0)))), "torn"),
        (lambda: line((0, 0), (1, 0), colour="red"), "not #rrggbb"),
        (lambda: Fill(()), "no contours"),
        (lambda: Fill((regular(3, 1),), opacity=1.5), "opacity"),
        (lambda: Text(math.nan, 0, "a", 3), "no place"),
        (lambda: Text(0, 0, "a", 0), "no size"),
        (lambda: Text(0, 0, "a", 3, "left"), "anchor"),  # type: ignore[arg-type]
        (lambda: Page(0, 10), "cannot be"),
        (lambda: Page(10, math.inf), "cannot be"),
        (lambda: arrow_head((1, 1), (1, 1)), "nowhere"),
        (lambda: dimension((1, 1), (1, 1), 5), "no length"),
    ],
)
def test_what_cannot_be_drawn_is_refused(make: Any, says: str) -> None:
    with pytest.raises(BrokenGeometry, match=says):
        make()


def test_closed_strokes_know_it() -> None:
    assert ring(regular(6, 10)).closed
    assert not line((0, 0), (1, 0)).closed
    assert polyline([(0, 0), (1, 0), (1, 1)], closed=True).closed
    assert len(polyline([(0, 0), (0, 0), (1, 0)]).segments) == 1


def test_text_widths_are_those_of_the_shipped_font() -> None:
    """Against the font file itself, read with fontTools."""
    from importlib.resources import files

    from fontTools.ttLib import TTFont

    with (files("fab.files") / "fonts" / "DejaVuSans.ttf").open("rb") as stream:
        font = TTFont(stream)
        names, metrics, em = font.getBestCmap(), font["hmtx"], font["head"].unitsPerEm
        for code in range(32, 127):
            assert text_width_mm(chr(code), 10) == pytest.approx(metrics[names[code]][0] * 10 / em)
        for char in "\u00c4\u00df\u2191\u2300\u00bd":
            assert text_width_mm(char, 10) >= metrics[names[ord(char)]][0] * 10 / em
        assert pytest.approx(font["glyf"][names[ord("H")]].yMax / em) == CAP_HEIGHT


def test_size_to_fit() -> None:
    assert size_to_fit_mm("A", 100, 5) == 5
    size = size_to_fit_mm("a long name of a panel", 30, 5)
    assert text_width_mm("a long name of a panel", size) == pytest.approx(30)


def test_a_bold_sentence_gets_the_room_of_the_bold_font() -> None:
    """DejaVu Sans Bold sets it in 28458 units of 2048 an em (read off its file, release 2.37)."""
    says = "Drill 6 mm, 45 mm deep."
    plain, bold = (size_to_fit_mm(says, 30, 50, bold=bold) for bold in (False, True))
    assert bold * 28458 / 2048 <= 30 < plain * 28458 / 2048


def _texts(group: Group) -> list[Text]:
    return [item for item in group.items if isinstance(item, Text)]


@pytest.mark.parametrize(
    ("a", "b"),
    [
        ((0, 0), (40, 0)),
        ((40, 0), (0, 0)),
        ((0, 0), (0, 40)),
        ((0, 40), (0, 0)),
        ((3, 4), (-20, 30)),
    ],
)
@pytest.mark.parametrize("offset", [8, -8])
def test_a_dimension_stands_off_shows_its_length_and_reads_from_below_or_right(
    a: Any, b: Any, offset: int
) -> None:
    group = dimension(a, b, offset)
    (text,) = _texts(group)
    assert float(text.text) == pytest.approx(math.dist(a, b), abs=0.01)
    turn = (text.turn_deg + 180) % 360 - 180
    assert -90 < turn <= 90 + 1e-9
    ux, uy = (b[0] - a[0]) / math.dist(a, b), (b[1] - a[1]) / math.dist(a, b)
    strokes = [item for item in group.items if isinstance(item, Stroke)]
    main = max(strokes, key=lambda stroke: stroke.segments[0].length_mm if len(strokes) == 3 else 0)
    (seg,) = main.segments
    assert seg.length_mm == pytest.approx(math.dist(a, b))
    off = -uy * (seg.start[0] - a[0]) + ux * (seg.start[1] - a[1])
    assert off == pytest.approx(offset)
    # The letters stay clear of the line: baseline and top are both on the far side of it.
    up = (-math.sin(math.radians(text.turn_deg)), math.cos(math.radians(text.turn_deg)))
    for lift in (0.0, text.size_mm * CAP_HEIGHT):
        x, y = text.x + up[0] * lift, text.y + up[1] * lift
        beyond = (-uy * (x - a[0]) + ux * (y - a[1])) / offset
        assert beyond > 1


def test_an_arrow_ends_at_its_tip() -> None:
    group = arrow((0, 0), (0, 20))
    (head,) = [item for item in group.items if isinstance(item, Fill)]
    assert head.contours[0].box[3] == pytest.approx(20)
    (shaft,) = [item for item in group.items if isinstance(item, Stroke)]
    assert shaft.segments[0].end[1] < 20
