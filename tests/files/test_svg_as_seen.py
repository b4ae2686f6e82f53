"""Drawings as others show them: area and box of what is read against their pixels.

A headless browser paints each drawing at 16 points a millimetre (slow run), and so does resvg, a
renderer that shares no code with it, at 8. Box and filled area of the paint are held against the
outline that was read. Edges are half covered points at the finest, so the tolerance is the border's
length times a tenth of a point (area) and 1.6 points (box).
"""

from __future__ import annotations

import gzip
import io
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from PIL import Image

from fab.errors import InputError
from fab.files.read_outline import MOST_UNPACKED, read_outline
from fab.outlines.loops import join

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
PAGE = HEAD + 'width="100mm" height="60mm" viewBox="0 0 200 120">'
DOTS_MM = 16  # of the browser's picture
COARSE = 8  # of resvg's
NOT_IN_RESVG = ("style transform", "transform beats attribute")  # a transform in a style

SEEN = {
    "nested": (
        PAGE + '<svg x="20" y="10" width="100" height="80" viewBox="0 0 10 10"><rect width="6"'
        ' height="8" x="1" y="1"/></svg></svg>'
    ),
    "nested none": (
        PAGE + '<svg x="20" y="10" width="100" height="80" viewBox="0 0 10 10"'
        ' preserveAspectRatio="none"><circle cx="5" cy="5" r="4"/></svg></svg>'
    ),
    "aspect none": (
        HEAD
        + 'width="100mm" height="60mm" viewBox="0 0 50 120" preserveAspectRatio="none"><path d="M5'
        ' 5h30v60z"/></svg>'
    ),
    "aspect xMaxYMin": (
        HEAD + 'width="100mm" height="60mm" viewBox="0 0 50 120" preserveAspectRatio="xMaxYMin'
        ' meet"><path d="M5 5h30v60z"/></svg>'
    ),
    "style transform": (
        PAGE + '<rect width="40" height="20" style="transform:translate(30px,20px)'
        ' rotate(30deg)"/></svg>'
    ),
    "transform beats attribute": (
        PAGE + '<rect width="40" height="20" transform="scale(9)"'
        ' style="transform:translate(30px,20px)"/></svg>'
    ),
    "list of transforms": (
        PAGE
        + '<g transform="translate(60 20),rotate(20)scale(2 1.5)"><ellipse cx="10" cy="20" rx="12"'
        ' ry="7" transform="skewX(10)"/></g></svg>'
    ),
    "sheet hides": (
        PAGE
        + '<style>.no{display:none} #gone,path.off{visibility:hidden}</style><rect class="a no"'
        ' width="9" height="9"/><rect id="gone" width="9" height="9"/><path class="off" d="M0'
        ' 0h9v9z"/><rect x="30" y="30" width="50" height="40" rx="8" ry="4"/></svg>'
    ),
    "weight of rules": (
        PAGE + '<style>rect{display:none} .s{display:inline} *{stroke:none}</style><rect width="90"'
        ' height="9"/><rect class="s" x="30" y="30" width="50" height="40"/></svg>'
    ),
    "visible inside hidden": (
        PAGE
        + '<g visibility="hidden"><rect width="9" height="9"/><rect visibility="visible" x="30"'
        ' y="30" width="50" height="40"/></g></svg>'
    ),
    "use": (
        PAGE + '<defs><path id="a" d="M0 0h30l-10 20z"/></defs><use xlink:href="#a" x="40" y="30"'
        ' transform="scale(1.5)"/></svg>'
    ),
    "use of a group in a group": (
        PAGE
        + '<g display="none"><g id="in"><rect width="9" height="9"/></g></g><defs><g id="b"><use'
        ' href="#in"/></g></defs><use href="#b" x="50" y="50"/></svg>'
    ),
    "symbol": (
        PAGE + '<symbol id="s" viewBox="0 0 10 20"><rect x="1" y="1" width="8"'
        ' height="18"/></symbol><use href="#s" x="30" y="20" width="60" height="80"/></svg>'
    ),
    "inches": (
        HEAD + 'width="4in" height="2in" viewBox="0 0 4 2"><rect x=".5" y=".5" width="2"'
        ' height="1"/></svg>'
    ),
    "lengths": (
        HEAD + 'width="100mm" height="60mm"><rect x="1cm" y="5mm" width="30%" height="1in"/></svg>'
    ),
    "one size": (
        HEAD
        + 'width="100mm" viewBox="0 0 200 120"><rect x="20" y="20" width="60" height="30"/></svg>'
    ),
    "offset view": (
        HEAD + 'width="100mm" height="60mm" viewBox="-50 -30 100 60"><circle r="20"/></svg>'
    ),
    "switch": (
        PAGE
        + '<switch><foreignObject requiredExtensions="http://example.org/x"/><rect x="20" y="20"'
        ' width="60" height="30"/></switch></svg>'
    ),
    "path": PAGE + '<path d="M20 20c10-20 30 20 40 0s30 20 40 0v60q-20 20-40 0t-40 0z"/></svg>',
    "flags": PAGE + '<path d="M60 60a20 10 30 11-5 9z"/></svg>',
    "not painted": (
        PAGE + '<rect width="150" height="99" fill="none"/><rect x="20" y="20" width="60"'
        ' height="30"/></svg>'
    ),
    "big radii": PAGE + '<rect x="20" y="20" width="60" height="30" rx="80"/></svg>',
}

REFUSED = {
    "clip": (
        (
            '<clipPath id="c"><rect width="5" height="5"/></clipPath><rect id="plate" width="50"'
            ' height="40" clip-path="url(#c)"/>'
        ),
        "clip-path",
    ),
    "clip in a style": (
        (
            '<style>.k{clip-path:circle(40%)}</style><rect id="plate" class="k" width="50"'
            ' height="40"/>'
        ),
        "clip-path",
    ),
    "mask": (
        '<mask id="m"/><g mask="url(#m)" id="plate"><rect width="50" height="40"/></g>',
        "mask",
    ),
    "frame": (
        '<svg width="40" height="40"><rect id="plate" width="50" height="30"/></svg>',
        "frame",
    ),
    "selector": (
        "<style>g rect{display:none}</style><g><rect width='50' height='40'/></g>",
        "selector 'g rect'",
    ),
    "media": (
        "<style>@media print{rect{display:none}}</style><rect width='50' height='40'/>",
        "@media",
    ),
    "itself": ('<g id="plate"><use href="#plate"/></g>', "contains itself"),
    "origin": (
        (
            '<rect id="plate" width="50" height="40"'
            ' style="transform-origin:center;transform:rotate(9deg)"/>'
        ),
        "transform-origin",
    ),
}


def read(text: str) -> tuple[float, tuple[float, float, float, float]]:
    outlines = join(read_outline(text.encode(), "x.svg").segments).outlines
    boxes = np.array([outline.box for outline in outlines])
    box = (*boxes[:, :2].min(axis=0), *boxes[:, 2:].max(axis=0))
    return sum(outline.area_mm2 for outline in outlines), tuple(float(value) for value in box)  # type: ignore[return-value]


def agrees(text: str, picture: bytes, dots_mm: float, *, high_mm: float, rel: float) -> None:
    """Hold what is read of a drawing against its picture, black on white, `high_mm` high."""
    ink = 255 - np.asarray(Image.open(io.BytesIO(picture)).convert("L"))
    area, box = read(text)
    assert ink.sum() / 255 / dots_mm**2 == pytest.approx(area, rel=rel)
    rows, columns = np.nonzero(ink.max(axis=1) > 127)[0], np.nonzero(ink.max(axis=0) > 127)[0]
    top = high_mm * dots_mm
    seen = (columns[0], top - rows[-1] - 1, columns[-1] + 1, top - rows[0])
    assert [value / dots_mm for value in seen] == pytest.approx(box, abs=1.6 / dots_mm)


@pytest.fixture(scope="module")
def page(browser: Any) -> Iterator[Any]:
    """One page of the browser, which every drawing is put into in turn."""
    scale = DOTS_MM * 25.4 / 96
    opened = browser.new_page(viewport={"width": 420, "height": 260}, device_scale_factor=scale)
    yield opened
    opened.close()


@pytest.mark.slow
@pytest.mark.browser
@pytest.mark.parametrize("name", SEEN)
def test_what_is_read_is_what_a_browser_paints(name: str, page: Any) -> None:
    page.set_content(f'<body style="margin:0">{SEEN[name]}</body>')
    high = page.evaluate("document.querySelector('svg').getBoundingClientRect().height")
    agrees(SEEN[name], page.screenshot(), DOTS_MM, high_mm=high * 25.4 / 96, rel=1e-3)


@pytest.mark.parametrize("name", [name for name in SEEN if name not in NOT_IN_RESVG])
def test_what_is_read_is_what_another_renderer_paints(name: str) -> None:
    resvg = pytest.importorskip("resvg_py")
    picture = bytes(
        resvg.svg_to_bytes(
            svg_string=SEEN[name],
            background="white",
            dpi=25.4 * COARSE,
            skip_system_fonts=True,
        )
    )
    with Image.open(io.BytesIO(picture)) as opened:
        high = opened.height / COARSE
    agrees(SEEN[name], picture, COARSE, high_mm=high, rel=1.5e-3)


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_not_followed_is_refused_by_name(name: str) -> None:
    inner, says = REFUSED[name]
    with pytest.raises(InputError) as found:
        read_outline(f"{PAGE}{inner}</svg>".encode(), "x.svg")
    assert says in str(found.value)
    assert "plate" in str(found.value) or "plate" not in inner


@pytest.mark.parametrize(
    "pack",
    [lambda t: gzip.compress(t.encode()), lambda t: t.encode("utf-16")],
    ids=["svgz", "utf-16"],
)
def test_other_wrappings_of_the_same_file(pack: Any) -> None:
    text = SEEN["path"]
    assert (
        read_outline(pack(text), "x.svg").segments == read_outline(text.encode(), "x.svg").segments
    )


def test_a_packed_flood_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """With a bound of 4 MB: a file is given up at the first byte over it."""
    assert MOST_UNPACKED == 256 * 2**20
    monkeypatch.setattr("fab.files.read_outline.MOST_UNPACKED", 4 * 2**20)
    pieces = gzip.compress(bytes(2**20))
    with pytest.raises(InputError, match="unpacked it has more than 4 MB"):
        read_outline(pieces * 4 + gzip.compress(b"0"), "x.svgz")
    with pytest.raises(InputError) as found:
        read_outline(pieces * 4, "x.svgz")
    assert "unpacked" not in str(found.value)


def test_clones_of_clones_end(monkeypatch: pytest.MonkeyPatch) -> None:
    """With a bound of 3,000: counting to the real one takes ten seconds, and ends by the same
    lines.
    """
    monkeypatch.setattr("fab.files.svg_tree.MOST_ELEMENTS", 3_000)
    rows = "".join(f'<g id="g{k}">' + f'<use href="#g{k - 1}"/>' * 10 + "</g>" for k in range(1, 9))
    defs = f'<defs><rect id="g0" width="9" height="9"/>{rows}</defs>'
    with pytest.raises(InputError, match="more than 3,000 elements"):
        read_outline(f'{PAGE}{defs}<use href="#g8"/></svg>'.encode(), "x.svg")
