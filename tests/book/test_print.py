"""The print: fonts, text that can be searched, vectors, nothing cut off, nothing alone, at several
sizes of wall.

Outside check: pdfium and pypdf read what reportlab wrote.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

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
    Steps,
    Table,
)
from fab.outlines.contour import polygon
from fab.outlines.page import Page, ring
from tests.book.prints import alone_at_a_foot, clipped, fonts, images, on_each_other, read

A4 = (210.0, 297.0)
CHAPTERS = (
    "What you will build",
    "Checks at a glance",
    "Step zero: measure your machines",
    "Buy and order",
    "Print",
    "Cut",
    "Brief for the board",
    "Put it together",
    "Power and light",
    "Join the panels",
    "Hang it",
    "First light",
    "Address table",
    "Parameters and provenance",
    "Checks in full",
)
HEADINGS = {
    *CHAPTERS,
    "Caps",
    "Push by push",
    "Order of hanging",
    "How it will look",
    "Sheets",
    "Panels",
    "Parameters",
    "By concern",
}


def _sound(path: Path, least: int, most: int) -> None:
    """What holds for the print of every wall."""
    book = read(path)
    assert least <= len(book.pages) <= most
    assert clipped(book) == []
    assert alone_at_a_foot(book, HEADINGS) == []
    assert fonts(path)
    assert all(fonts(path).values())
    for chapter in CHAPTERS:
        assert book.text.count(chapter) >= 2  # in the contents, and where it begins
    assert 6 <= images(path) <= 60  # light and parts; all others are vectors


def test_the_lamps_print(built: Mapping[str, Path]) -> None:
    _sound(built["bedside-lamp"] / "book" / "book.pdf", 12, 40)


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
    ids=lambda table: table.caption,
)
def test_no_table_is_clipped_and_no_cell_runs_into_the_next(table: Table) -> None:
    book = read(document_pdf(document([table]), *A4))
    assert clipped(book) == []
    assert on_each_other([run for run in book.runs if run.box[1] > 40]) == []


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
            [Steps(("one", "two"))],
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


def test_the_same_document_gives_the_same_bytes() -> None:
    assert document_pdf(document([WIDE], 3), *A4) == document_pdf(document([WIDE], 3), *A4)
