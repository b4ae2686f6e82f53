"""Every text of a document stays text, on the page and on paper; verdicts are told worst first,
remedies and all.

Outside check: the standard library's parser finds the same elements and attributes whatever the
texts are.
"""

from __future__ import annotations

import base64
import json
from collections.abc import Callable
from html.parser import HTMLParser

import pytest

from fab.book.pictures import art_page
from fab.book.verdictpages import at_a_glance, in_full
from fab.checks.model import Verdict
from fab.files.dochtml import html
from fab.files.docpdf import document_pdf
from fab.files.document import (
    Block,
    Caution,
    Chapter,
    Document,
    Facts,
    Figure,
    Heading,
    Para,
    Picture,
    Sketches,
    Step,
    Table,
    Viewer,
)
from fab.outlines.contour import polygon
from fab.outlines.page import Group, Page, Text, ring
from fab.solids.hiddenline import LineArt
from tests.book.pages import opened
from tests.book.prints import read

DOT = base64.b64decode(
    "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAAAAAA6fptVAAAACklEQVR42mNoAAAAggCB2kUIOwAAAABJRU5ErkJggg=="
)
EVIL = """</script><img src=x onerror=alert(1)>'" onclick="x" <b>&amp;lt;"""


def everything(say: Callable[[str], str]) -> Document:
    """A document with each kind of block, every text of which went through `say`."""
    square = polygon([(1, 1), (59, 1), (59, 39), (1, 39)])
    drawn = Page(
        60,
        40,
        (
            ring(square, 0.3),
            Text(2, 2, say("drawn"), 3.0),
            Group((ring(square, 0.1),), id=say("id"), css=say("css"), title=say("group")),
        ),
        say("title"),
        say("says"),
    )
    wide = Page(160, 40, drawn.items, drawn.title, drawn.says)
    table = Table(
        say("caption"),
        (say("header"), say("other")),
        ((say("row"), say("cell")),),
        ticks=(say("tick"),),
        marks=("fail",),
        links=(("", "../" + say("link")),),
    )
    scene = json.dumps({"says": say("scene"), "items": []})
    blocks: tuple[Block, ...] = (
        Heading(say("heading")),
        Para(say("para")),
        Caution(say("caution")),
        Step(
            say("step"),
            drawn,
            say("do"),
            say("take"),
            say("right"),
            say("otherwise"),
            say("hurts"),
            say("anchor"),
        ),
        Facts(((say("name"), say("value")),)),
        table,
        Figure(drawn, say("small")),
        Figure(wide, say("wide"), wide=True),
        Picture(DOT, 1, 1, say("dots"), say("alt")),
        Sketches(say("sketches"), ((say("sketch"), b"<svg xmlns='http://www.w3.org/2000/svg'/>"),)),
        Viewer(scene, "function view3d() {}", Figure(wide, say("still"))),
    )
    return Document(
        say("book"),
        say("subtitle"),
        (Chapter(say("chapter"), "one", blocks),),
        say("key"),
        say("foot"),
    )


class Texts(HTMLParser):
    """All elements with the names of their attributes; all texts and values of attributes."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[tuple[str, tuple[str, ...]]] = []
        self.texts: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, tuple(name for name, _ in attrs)))
        self.texts += [value or "" for _, value in attrs]

    def handle_data(self, data: str) -> None:
        self.texts.append(data)


def seen(document: Document) -> Texts:
    reader = Texts()
    reader.feed(html(document).decode())
    reader.close()
    return reader


def test_no_text_becomes_markup_on_the_page() -> None:
    named: list[str] = []

    def bad(word: str) -> str:
        named.append(word)
        return f"{EVIL}{word}"

    good, evil = seen(everything(lambda word: word)), seen(everything(bad))
    assert evil.tags == good.tags
    whole = "\n".join(evil.texts)
    assert [
        word
        for word in named
        if f"{EVIL}{word}" not in whole and word not in ("id", "css", "group", "scene")
    ] == []
    (scene,) = (text for text in evil.texts if text.startswith('{"says":'))
    assert json.loads(scene)["says"] == EVIL + "scene"


def test_no_text_becomes_markup_on_paper() -> None:
    """The same words stand there as are given; the print has no ticks, links and texts for screen
    readers.
    """
    named: list[str] = []

    def bad(word: str) -> str:
        named.append(word)
        return f"<b>&lt;{word}</b>"

    said = "".join(read(document_pdf(everything(bad), 210.0, 297.0)).text.split())
    silent = {
        "id",
        "css",
        "group",
        "title",
        "says",
        "tick",
        "link",
        "scene",
        "alt",
        "anchor",
        "sketch",
        "key",
    }
    assert [word for word in named if f"<b>&lt;{word}</b>" not in said and word not in silent] == []


def test_a_words_backticks_set_off_a_command() -> None:
    document = Document(
        "b",
        "s",
        (
            Chapter(
                "c",
                "c",
                (
                    Para("Run `panejig <x>` now, not ` alone."),
                    Step("s", Page(9, 9, (), "t", ""), "a `b`"),
                ),
            ),
        ),
        "k",
    )
    page = html(document).decode()
    assert "<p>Run <code>panejig &lt;x&gt;</code> now, not ` alone.</p>" in page
    assert "<p><strong>Do:</strong> a <code>b</code></p>" in page
    said = "".join(read(document_pdf(document, 210.0, 297.0)).text.split())
    assert 'Run"panejig<x>"now,not`alone.sDo:a"b"' in said


VERDICTS = (
    Verdict(
        "print.gap",
        "pass",
        "cap",
        0.3,
        0.2,
        "mm",
        "The gap is open.",
        "",
        "common practice, no source",
    ),
    Verdict(
        "print.gap",
        "pass",
        "shell",
        0.21,
        0.2,
        "mm",
        "The gap is just open.",
        "",
        "common practice, no source",
    ),
    Verdict(
        "light.dots",
        "warn",
        "panel",
        0.04,
        0.03,
        "",
        "Dots can be seen.",
        "Set panel.depth = 40.",
        "from memory",
    ),
    Verdict(
        "heat.rise",
        "fail",
        "panel",
        80.0,
        75.0,
        "degC",
        "It is too warm.",
        "Set power.brightness = 0.2.",
        "filament.softens_c",
    ),
)


def test_what_did_not_pass_comes_first_with_measured_limit_and_remedy() -> None:
    document = Document(
        "b", "s", (at_a_glance(VERDICTS, frozenset({"heat.rise"})), in_full(VERDICTS)), "k"
    )
    page = opened(html(document))
    glance, full = page.parts["checks"], page.parts["checks-in-full"]
    assert list(glance.facts().values()) == ["2", "1", "1"]
    assert glance.grids[0].rows[1:] == [
        [
            "FAIL heat.rise",
            "panel",
            "80 °C",
            "75 °C",
            "It is too warm. Accepted for this build. Set power.brightness = 0.2.",
            "filament.softens_c",
        ],
        [
            "look light.dots",
            "panel",
            "0.04",
            "0.03",
            "Dots can be seen. Set panel.depth = 40.",
            "from memory",
        ],
    ]
    assert glance.grid("By concern").rows[1:] == [
        [
            "heat",
            "temperatures",
            "0 of 1 passed, 1 failed",
            "heat.rise, panel: 80 °C (maximum 75 °C)",
        ],
        [
            "light",
            "evenness, dots, leaks",
            "0 of 1 passed, 1 with a warning",
            "light.dots, panel: 0.04 (maximum 0.03)",
        ],
        [
            "print",
            "walls, overhangs, bed, plates",
            "2 passed",
            "print.gap, shell: 0.21 mm (minimum 0.2 mm)",
        ],
    ]
    assert [row[:4] for row in full.grids[0].rows[1:]] == [
        ["print.gap", "shell and 1 other", "0.21 mm", "0.2 mm"]
    ]  # the one nearest to its limit
    text = read(document_pdf(document, 210.0, 297.0)).text
    assert text.index("[FAIL] heat.rise") < text.index("[look] light.dots")


def test_hidden_lines_are_left_out() -> None:
    art = LineArt(
        visible=(((0.0, 0.0), (9.0, 0.0)), ((0.0, 0.0), (0.0, 9.0))),
        hidden=(((0.0, 0.0), (9.0, 9.0)),),
    )
    assert len(art_page(art, 60.0, 60.0, "t", "s").items) == 2
    assert len(art_page(art, 60.0, 60.0, "t", "s", hidden=True).items) == 3


@pytest.mark.parametrize(
    "link", ["javascript:alert(1)", "https://example.invalid/", "//example.invalid/x"]
)
def test_a_link_out_of_the_book_is_refused_in_a_picture(link: str) -> None:
    from fab.errors import BrokenGeometry

    page = Page(60, 40, (Group((Text(1, 1, "x", 3.0),), href=link),), "t", "s")
    with pytest.raises(BrokenGeometry, match="may link to a file beside it"):
        html(Document("b", "s", (Chapter("c", "c", (Figure(page, "f"),)),), "k"))
