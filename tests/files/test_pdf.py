"""PDF pages measured by readers that did not write them."""

import io
import math
import re
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fab.errors import BrokenGeometry
from fab.files.pdf import beziers, pdf
from fab.files.readback import check_pdf
from fab.outlines.contour import Arc, circle
from fab.outlines.page import DASHED, Fill, Group, Page, Text, line, ring
from fab.outlines.shapes import rectangle

PT_MM = 25.4 / 72
CARD = rectangle(85.60, 53.98, (60, 60), 3.18)  # ISO/IEC 7810 ID-1: 85.60 x 53.98 mm, radius 3.18

pypdf = pytest.importorskip("pypdf")


def _paths(data: bytes, page: int = 0) -> Any:
    """Every painted path of a page in mm, as lists of points (ends and handles), moved by the
    matrices in force.
    """
    reader = pypdf.PdfReader(io.BytesIO(data))
    content = pypdf.generic.ContentStream(reader.pages[page].get_contents(), reader)
    matrix, stack, current, out = (1, 0, 0, 1, 0, 0), [], [], []
    for operands, operator in content.operations:
        numbers = [
            float(value)
            for value in operands
            if isinstance(value, pypdf.generic.FloatObject | pypdf.generic.NumberObject)
        ]
        if operator == b"q":
            stack.append(matrix)
        elif operator == b"Q":
            matrix = stack.pop()
        elif operator == b"cm":
            a, b, c, d, e, f = numbers
            A, B, C, D, E, F = matrix
            matrix = (  # type: ignore[assignment]
                a * A + b * C,
                a * B + b * D,
                c * A + d * C,
                c * B + d * D,
                e * A + f * C + E,
                e * B + f * D + F,
            )
        elif operator in (b"m", b"l", b"c"):
            for x, y in zip(numbers[::2], numbers[1::2], strict=True):
                A, B, C, D, E, F = matrix
                current.append(((x * A + y * C + E) * PT_MM, (x * B + y * D + F) * PT_MM))
        elif operator in (b"S", b"s", b"f*", b"f", b"n", b"B"):
            out.append(current)
            current = []
    return [path for path in out if path]


def _size(path: Any) -> Any:
    xs, ys = [x for x, _ in path], [y for _, y in path]
    return max(xs) - min(xs), max(ys) - min(ys)


# ISO 216 sizes in mm; Letter and Tabloid are 8.5 x 11 and 11 x 17 in.
@pytest.mark.parametrize(
    ("width", "height"),
    [
        (210, 297),
        (297, 420),
        (420, 594),
        (594, 841),
        (841, 1189),
        (148, 210),
        (215.9, 279.4),
        (279.4, 431.8),
        (610, 3000),
    ],
)
def test_page_sizes(width: float, height: float) -> None:
    data = pdf([Page(width, height)], "t")
    (page,) = pypdf.PdfReader(io.BytesIO(data)).pages
    assert [float(value) * PT_MM for value in page.mediabox] == pytest.approx(
        [0, 0, width, height], abs=1e-3
    )
    pdfium = pytest.importorskip("pypdfium2")
    assert [value * PT_MM for value in pdfium.PdfDocument(data)[0].get_size()] == pytest.approx(
        [width, height], abs=1e-3
    )


def test_bars_and_card_measure_true() -> None:
    items = (line((20, 20), (120, 20)), line((20, 30), (20, 130)), ring(CARD))
    bar_x, bar_y, card = _paths(pdf([Page(210, 297, items)], "t"))
    assert _size(bar_x) == pytest.approx((100, 0), abs=1e-4)
    assert _size(bar_y) == pytest.approx((0, 100), abs=1e-4)
    assert _size(card) == pytest.approx((85.60, 53.98), abs=1e-4)
    assert min(x for x, _ in card) == pytest.approx(60 - 42.8, abs=1e-4)


def test_a_group_moves_its_items() -> None:
    inner = Group((line((0, 0), (10, 0)),), (5, 7))
    ((start, end),) = _paths(pdf([Page(100, 100, (Group((inner,), (20, 30)),))], "t"))
    assert (*start, *end) == pytest.approx((25, 37, 35, 37), abs=1e-4)


def test_print_dialog_is_asked_for_no_scaling_and_metadata_is_ours() -> None:
    reader = pypdf.PdfReader(
        io.BytesIO(
            pdf(
                [Page(210, 297, title="Page 1 of 2"), Page(210, 297, title="Page 2 of 2")],
                "reading-nook \u2300",
            )
        )
    )
    assert reader.root_object["/ViewerPreferences"]["/PrintScaling"] == "/None"
    assert reader.metadata.title == "reading-nook \u2300"
    assert [entry["/Title"] for entry in reader.outline] == ["Page 1 of 2", "Page 2 of 2"]


def test_text_is_text_in_an_embedded_font_where_it_was_put() -> None:
    pdfium = pytest.importorskip("pypdfium2")
    items = (
        Text(105, 200, "<script> (paren) \\ \u00c4\u00df \u2191 \u2300", 5, "middle"),
        Text(200, 100, "end", 4, "end", bold=True),
        Text(50, 50, "up", 10, "start", 90),
    )
    data = pdf([Page(210, 297, items)], "t")
    page = pdfium.PdfDocument(data)[0]
    text = page.get_textpage()
    assert "<script> (paren) \\ \u00c4\u00df \u2191 \u2300" in text.get_text_range()
    fonts = pypdf.PdfReader(io.BytesIO(data)).pages[0]["/Resources"]["/Font"]
    names = {font.get_object()["/BaseFont"] for font in fonts.values()}
    assert all(
        "DejaVuSans" in name and "+" in name for name in names
    )  # a subset tag: embedded, nothing of the base 14
    boxes = {}
    for k in range(text.count_rects()):
        left, bottom, right, top = (value * PT_MM for value in text.get_rect(k))
        boxes[text.get_text_bounded(*(v / PT_MM for v in (left, bottom, right, top))).strip()] = (
            left,
            bottom,
            right,
            top,
        )
    assert boxes["end"][2] == pytest.approx(200, abs=0.4)
    first = next(box for words, box in boxes.items() if "paren" in words)
    assert (first[0] + first[2]) / 2 == pytest.approx(105, abs=0.5)
    upright = boxes["up"]
    assert upright[3] - upright[1] > upright[2] - upright[0]
    assert upright[2] == pytest.approx(50, abs=2.5)


def test_text_that_no_file_can_hold_does_not_stop_the_print() -> None:
    page = Page(50, 50, (Text(1, 1, "\ud800 \x00 \U0001f642", 4), Text(1, 9, "", 4)), "\udcff")
    data = pdf([page], "\ud800")
    assert check_pdf(data, [page]) == []
    assert pypdf.PdfReader(io.BytesIO(data)).metadata.title == "\ufffd"


def _drawn(items: Any, scale: Any = 2.0) -> Any:
    """The page rendered by another engine as rows of grey, row 0 at the top."""
    pdfium = pytest.importorskip("pypdfium2")
    np = pytest.importorskip("numpy")
    picture = pdfium.PdfDocument(pdf([Page(100, 100, items)], "t"))[0].render(
        scale=scale * PT_MM, grayscale=True
    )
    return np.asarray(picture.to_numpy()).reshape(picture.height, picture.width)


def test_holes_stay_white_dashes_have_gaps_and_clips_cut() -> None:
    dark = _drawn((Fill((circle((50, 50), 30), circle((50, 50), 10))),))
    assert dark[100, 100] == 255  # the hole
    assert dark[100, 60] == 0  # the ring
    share = (dark < 128).mean()
    assert share == pytest.approx(math.pi * (900 - 100) / 10_000, rel=0.01)
    dashed = _drawn((line((10, 50), (90, 50), 1.0, dash=DASHED),))
    assert (dashed[100] < 128).mean() == pytest.approx(0.8 * 2 / 3, rel=0.05)
    clipped = _drawn((Group((Fill((rectangle(100, 100, (50, 50)),)),), clip=(20, 10, 40, 90)),))
    assert (clipped < 128).mean() == pytest.approx(0.2 * 0.8, rel=0.03)
    pale = _drawn((Fill((rectangle(100, 100, (50, 50)),), opacity=0.5),))
    assert 120 < pale[100, 100] < 135


def _on_curve(start: Any, a: Any, b: Any, end: Any, t: Any) -> Any:
    return tuple(
        (1 - t) ** 3 * s + 3 * (1 - t) ** 2 * t * p + 3 * (1 - t) * t * t * q + t**3 * e
        for s, p, q, e in zip(start, a, b, end, strict=True)
    )


@given(st.floats(0.1, 3000), st.floats(0.01, math.pi), st.booleans(), st.floats(0, 6.3))
def test_curves_keep_within_a_thousandth_of_their_arc(
    radius: float, sweep: float, clockwise: bool, begin: float
) -> None:
    arc = Arc(
        (radius * math.cos(begin), radius * math.sin(begin)), (0, 0), -sweep if clockwise else sweep
    )
    at = arc.start
    for a, b, end in beziers(arc):
        for k in range(21):
            assert math.hypot(*_on_curve(at, a, b, end, k / 20)) == pytest.approx(radius, abs=1e-3)
        at = end
    assert at == pytest.approx(arc.end, abs=1e-9)


def test_pages_that_cannot_be() -> None:
    with pytest.raises(BrokenGeometry, match="at least one page"):
        pdf([], "t")
    with pytest.raises(BrokenGeometry, match="over a PDF's 5080 mm"):
        pdf([Page(600, 5100)], "t")
    with pytest.raises(ValueError, match="not a number"):
        pdf([Page(10, 10, (Group((), (math.nan, 0)),))], "t")


@pytest.mark.parametrize(
    ("spoil", "says"),
    [
        (lambda d: d[:-200], "cut off|table of contents"),
        (lambda d: d.replace(b"/PrintScaling /None", b"/PrintScaling /Same"), "without scaling"),
        (
            lambda d: d.replace(b"595.2756", b"612.0000"),
            "page 1 of the PDF is .* should be 210 x 297",
        ),
        (lambda d: d.replace(b"FontFile2", b"FontFile9"), "does not carry its font"),
        (
            lambda d: re.sub(rb"\d+\.\d+(?= \d+\.\d+ l)", lambda m: b"nan".ljust(len(m[0])), d),
            "number that is none",
        ),
    ],
)
def test_read_back_tells_what_is_wrong(spoil: Any, says: str) -> None:
    pages = [Page(210, 297, (line((20, 20), (120, 20)), Text(20, 30, "nan inf (nan)", 4)))]
    good = pdf(pages, "t")
    assert check_pdf(good, pages) == []
    bad = spoil(good)
    assert bad != good
    told = check_pdf(bad, pages)
    assert any(re.search(says, each) for each in told), told
    assert check_pdf(good, pages * 2)
