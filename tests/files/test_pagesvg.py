"""Pictures as SVG: words stay words, ids are safe, links stay at home, and the eye sees what the
PDF shows.
"""

import io
import subprocess
from shutil import which
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fab.errors import BrokenGeometry
from fab.files.pagesvg import identifier, page_fragment, page_svg
from fab.outlines.contour import circle
from fab.outlines.figures import arrow, dimension
from fab.outlines.page import CHAIN, DASHED, Fill, Group, Page, Text, line, ring
from fab.outlines.shapes import rectangle, regular

NS = {"s": "http://www.w3.org/2000/svg"}
EVIL = "<script>alert('x')</script>\x0b & \"q\""
KEPT = EVIL.replace("\x0b", "\ufffd")


def test_a_panel_named_like_a_script_stays_text() -> None:
    group = Group((Text(10, 10, EVIL, 4),), id=EVIL, css="panel", title=EVIL, href="#list")
    root = ET.fromstring(page_svg(Page(100, 100, (group,), EVIL, EVIL)))
    assert not root.findall(".//s:script", NS)
    assert [e.text for e in root.findall("s:title", NS)] == [KEPT]
    assert root.find("s:desc", NS).text == KEPT
    assert root.find(".//s:text", NS).text == KEPT
    assert root.find(".//s:g/s:title", NS).text == KEPT


@given(st.text(max_size=20), st.text(max_size=20))
def test_ids_hold_only_safe_signs_and_never_clash(a: str, b: str) -> None:
    assert all(char.isascii() and (char.isalnum() or char in "._-") for char in identifier(a))
    assert (identifier(a) == identifier(b)) == (a == b)


def test_ids_of_names_that_differ_in_signs_only_differ() -> None:
    assert len({identifier(name) for name in ("a b", "a_b", "a-b", "a<b", "a_20_b", "ab")}) == 6


@pytest.mark.parametrize(
    "href",
    [
        "javascript:alert(1)",
        "https://example.org/x",
        "//example.org",
        "data:text/html,x",
        "a b",
        "/etc/x",
    ],
)
def test_links_leave_the_page_only_to_files_beside_it(href: str) -> None:
    with pytest.raises(BrokenGeometry, match="may link to a file beside it"):
        page_svg(Page(10, 10, (Group((), href=href),)))


@pytest.mark.parametrize("href", ["#A", "../print/base.stl", "cut/sheet-01.svg", "./x.html#top"])
def test_links_to_files_beside_it_are_kept(href: str) -> None:
    root = ET.fromstring(page_svg(Page(10, 10, (Group((), href=href),))))
    assert root.find("s:a", NS).get("href") == href
    assert root.get("role") == "group"


def test_readers_for_the_blind_find_title_and_words() -> None:
    root = ET.fromstring(page_svg(Page(10, 10, (), "The wall", "nine panels")))
    assert root.get("role") == "img"
    named = [root.find(f"*[@id='{name}']").text for name in root.get("aria-labelledby").split()]
    assert named == ["The wall", "nine panels"]


def test_two_fragments_in_one_page_do_not_share_ids() -> None:
    page = Page(10, 10, (Group((line((0, 0), (9, 9)),), clip=(1, 1, 5, 5), id="A"),), "t", "d")
    one, two = (page_fragment(page, prefix) for prefix in ("plan-", "nest-"))
    assert not one.startswith("<?xml")
    ids = [{e.get("id") for e in ET.fromstring(text).iter() if e.get("id")} for text in (one, two)]
    assert len(ids[0]) == 4
    assert not ids[0] & ids[1]
    assert "url(#plan-clip1)" in one


def _picture() -> Page:
    plate = rectangle(60, 40, (60, 90), 6)
    items = (
        Fill((plate, circle((60, 90), 12)), "#56b4e9", 0.5),
        ring(plate),
        ring(circle((60, 90), 12), 0.5, "#d55e00", DASHED),
        dimension((30, 110), (90, 110), 10),
        dimension((30, 70), (30, 110), 8),
        arrow((110, 60), (110, 90), 0.8),
        line((10, 10), (110, 10), 0.5, "#0072b2", CHAIN),
        Group(
            (ring(regular(6, 20)), Fill((regular(3, 12),), "#009e73", 0.4)),
            (35, 35),
            (-17, -30, 15, 25),
            "A",
            "panel",
            "A",
            "#A",
        ),
    )
    return Page(120, 130, items, "picture")


@pytest.mark.skipif(not which("rsvg-convert"), reason="the SVG renderer is not there")
def test_svg_and_pdf_of_one_page_look_alike() -> None:
    """Two renderers (librsvg and pdfium) of our two files: the mean difference stays that of
    smoothed line edges.
    """
    np = pytest.importorskip("numpy")
    image = pytest.importorskip("PIL.Image")
    pdfium = pytest.importorskip("pypdfium2")
    from fab.files.pdf import pdf

    page = _picture()
    scale = 8  # px a mm
    png = subprocess.run(
        ["rsvg-convert", "-w", str(120 * scale), "-h", str(130 * scale), "-b", "white"],
        input=page_svg(page),
        capture_output=True,
        check=True,
    ).stdout
    ours = np.asarray(image.open(io.BytesIO(png)).convert("L"), dtype=float)
    drawn = pdfium.PdfDocument(pdf([page], "t"))[0].render(scale=scale * 25.4 / 72, grayscale=True)
    theirs = np.asarray(drawn.to_numpy(), dtype=float).reshape(drawn.height, drawn.width)[
        : ours.shape[0], : ours.shape[1]
    ]
    assert ours.shape == theirs.shape
    assert (abs(ours - theirs) > 100).mean() < 0.004
    assert 0.05 < (ours < 250).mean() < 0.6


def test_same_bytes_again() -> None:
    assert page_svg(_picture()) == page_svg(_picture())
