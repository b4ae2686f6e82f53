"""The print: fonts, text that can be searched, vectors, nothing cut off, nothing alone, at several
sizes of wall.

Outside check: pdfium and pypdf read what reportlab wrote.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import pytest

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
    Step,
    Table,
)
from fab.outlines.contour import polygon
from fab.outlines.page import Page, ring
from tests.book.prints import Read, alone_at_a_foot, clipped, fonts, images, on_each_other, read
from tests.cases import few

A4 = (210.0, 297.0)
CHAPTERS = (
    "What you will build",
    "Checks at a glance",
    "Measure your machines",
    "Buy and order",
    "Print",
    "Cut",
    "Power",
    "First light of one panel",
    "Put each panel together",
    "Join the panels",
    "Lift and hang",
    "Light the wall",
    "Address table",
    "Glossary",
)
APPENDIX = (
    "Currents and light in full",
    "Brief for the board",
    "Sections of the fits",
    "Parameters and provenance",
    "Checks in full",
)
HEADINGS = {
    *CHAPTERS,
    *APPENDIX,
    "Plates",
    "Push by push",
    "Lift",
    "How it will look",
    "Sheets",
    "Panels",
    "Parameters",
    "By concern",
}


def _sound(path: Path, least: int, most: int, without: Sequence[str] = ()) -> None:
    """What holds for the print of every wall, but for chapters that it is without."""
    book = read(path)
    assert least <= len(book.pages) <= most
    assert clipped(book) == []
    assert alone_at_a_foot(book, HEADINGS) == []
    assert fonts(path)
    assert all(fonts(path).values())
    for chapter in CHAPTERS:
        if chapter in without:
            assert chapter not in book.text
        else:
            assert book.text.count(chapter) >= 2  # in the contents, and where it begins
    assert 6 <= images(path) <= 60  # light and parts; all others are vectors


def test_the_lamps_print(built: Mapping[str, Path]) -> None:
    """One panel has no joints."""
    _sound(built["one-panel"] / "book" / "book.pdf", 12, 40, without=("Join the panels",))


def _filled(path: Path) -> list[float]:
    """Of each page the share of its height that is printed on."""
    import pypdfium2

    shares = []
    for page in pypdfium2.PdfDocument(str(path)):
        dark = page.render(scale=0.25, grayscale=True).to_numpy() < 200
        rows = [k for k, row in enumerate(dark[: int(len(dark) * 0.94)]) if row.any()]
        shares.append((rows[-1] - rows[0]) / len(dark) if rows else 0.0)
    return shares


def test_the_print_is_short_and_no_page_is_half_empty(built: Mapping[str, Path]) -> None:
    """Each step has its picture and four texts; what no step needs is an appendix."""
    folder = built["reading-nook"] / "book"
    book, more = read(folder / "book.pdf"), read(folder / "appendix.pdf")
    assert len(book.pages) <= 26
    assert len(more.pages) <= 13
    for chapter in APPENDIX:
        assert chapter not in book.text
        assert chapter in more.text
    assert clipped_appendix(more) == []
    empty = [k for k, share in enumerate(_filled(folder / "book.pdf")[:-1], 1) if share < 0.55]
    assert len(empty) <= 3, empty


def clipped_appendix(book: Read) -> list[str]:
    """Text beyond the appendix's margin of 11 mm."""
    return [
        run.text
        for run in book.runs
        if run.box[0] < 30 or run.box[2] > book.pages[run.page - 1][0] - 30
    ]


def test_the_print_is_tagged_in_reading_order(built: Mapping[str, Path]) -> None:
    """ISO 32000-1, 14.7: read with pypdf, which did not write it."""
    import pypdf

    reader = pypdf.PdfReader(str(built["reading-nook"] / "book" / "book.pdf"))
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"] is True or root["/MarkInfo"]["/Marked"].value
    assert root["/Lang"] == "en-GB"
    kinds: list[str] = []
    without: list[str] = []

    def walk(node: Any) -> None:
        node = node.get_object()
        if not isinstance(node, dict) or "/S" not in node:
            return  # a mark of the page
        kinds.append(str(node["/S"]))
        if node["/S"] == "/Figure" and not node.get("/Alt"):
            without.append("picture")
        for kid in node.get("/K", []):
            walk(kid)

    walk(root["/StructTreeRoot"]["/K"][0])
    assert kinds[:3] == ["/Document", "/H1", "/P"]
    assert kinds.count("/H2") == len(CHAPTERS)
    assert kinds.count("/Figure") > 25
    assert without == []
    assert kinds.count("/TR") > 150
    page = reader.pages[1].get_contents().get_data()
    assert page.count(b"BDC") + page.count(b"BMC") == page.count(b"EMC")
    outline = [item for item in reader.outline if not isinstance(item, list)]
    assert [item.title for item in outline] == list(CHAPTERS)
    assert any(isinstance(item, list) for item in reader.outline)  # headings below chapters


def test_the_demos_print(built: Mapping[str, Path]) -> None:
    path = built["reading-nook"] / "book" / "book.pdf"
    _sound(path, 18, 40)
    text = read(path).text
    for words in (
        "A branch of light over the reading corner",
        "opal-3",
        "hanger-D",
        "base-inlet-hanger-F",
        "sheet-01",
    ):
        assert words in text


def test_page_numbers_of_the_contents_are_where_the_chapters_begin(
    built: Mapping[str, Path],
) -> None:
    book = read(built["reading-nook"] / "book" / "book.pdf")
    for chapter in CHAPTERS[1:]:
        title = next(run for run in book.on(1) if run.text == chapter)
        beside = [
            run
            for run in book.on(1)
            if run.text.isdigit()
            and abs(run.box[1] - title.box[1]) < 3
            and run.box[0] > title.box[2]
        ]
        number = int(min(beside, key=lambda run: run.box[0]).text)
        assert any(run.text == chapter for run in book.on(number) if number > 1), chapter


def document(blocks: list[Block], count: int = 1) -> Document:
    chapters = tuple(Chapter(f"Chapter {k}", f"c{k}", tuple(blocks)) for k in range(count))
    return Document("A book of nothing", "for a test", chapters, "key", "the end")


LONG = "a-word-without-any-break-that-is-wider-than-its-column-" * 4
WIDE = Table(
    "Many columns",
    tuple(f"column {k}" for k in range(14)),
    tuple(tuple(f"{row} times {k}" for k in range(14)) for row in range(80)),
)


@pytest.mark.parametrize(
    "table",
    few(
        [
            WIDE,
            Table("One long word", ("a", "b", "c"), (("short", LONG, "1.5 mm"), (LONG, "x", LONG))),
            Table("One long cell", ("a", "b"), (("left", "many words " * 60), ("left", "few"))),
            Table(
                "Marked",
                ("check", "of", "says"),
                (("fit.lap", "panel", "says so " * 20),) * 40,
                marks=("warn",) * 40,
            ),
        ],
        0,
        3,
    ),
    ids=lambda table: table.caption,
)
def test_no_table_is_clipped_and_no_cell_runs_into_the_next(table: Table) -> None:
    book = read(document_pdf(document([table]), *A4))
    assert clipped(book) == []
    assert on_each_other([run for run in book.runs if run.box[1] > 40]) == []


@pytest.mark.slow
def test_a_heading_is_never_alone_at_a_foot() -> None:
    """Many heights of what stands before it, in steps of three lines."""
    square = Figure(
        Page(
            150,
            100,
            (ring(polygon([(1, 1), (149, 1), (149, 99), (1, 99)]), 0.3),),
            "Square",
            "a square",
        ),
        "A square.",
    )
    table = Table("Rows", ("a", "b"), (("1", "2"),) * 6)
    for filler in range(10, 44, 3):
        for after in (
            [Para("text")],
            [table],
            [square],
            [Heading("Inner"), table],
            [Facts((("a", "b"),))],
            [Step("A step", square.page, "Do it.", "a thing", "It is done.", "Do it again.")],
            [Caution("hot")],
        ):
            blocks: list[Block] = [
                *[Para(f"line {k}") for k in range(filler)],
                Heading("Lonely"),
                *after,
            ]
            book = read(document_pdf(document(blocks), *A4))
            assert alone_at_a_foot(book, {"Lonely", "Inner", "Rows"}) == [], (filler, after)


def test_small_pictures_stand_side_by_side() -> None:
    def small(k: int) -> Figure:
        return Figure(
            Page(60, 40, (ring(polygon([(1, 1), (59, 1), (59, 39), (1, 39)]), 0.3),), f"P{k}", "p"),
            f"picture {k}",
        )

    book = read(document_pdf(document([small(k) for k in range(4)]), *A4))
    boxes = {run.text: run.box for run in book.runs if run.text.startswith("picture")}
    assert boxes["picture 0"][1] == pytest.approx(boxes["picture 2"][1], abs=0.1)
    assert boxes["picture 0"][0] < boxes["picture 1"][0] < boxes["picture 2"][0]
    assert boxes["picture 3"][1] < boxes["picture 0"][1]
    assert boxes["picture 3"][0] == pytest.approx(boxes["picture 0"][0], abs=0.1)


@pytest.mark.slow
def test_the_same_document_gives_the_same_bytes() -> None:
    assert document_pdf(document([WIDE], 3), *A4) == document_pdf(document([WIDE], 3), *A4)
