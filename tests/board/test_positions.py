"""Tables of other people's: columns, words, units, signs of decimals, and every way to get them
wrong.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from fab.errors import InputError
from fab.files.table import csv_bytes
from fab.outputs.board import HEADER
from fab.outputs.board import positions as rows_of
from fab.params.boardparams import BoardColumns, BoardParams, BoardWords
from fab.params.positions import positions
from fab.parts.plan import Plan


def read(text: str | bytes, **board: Any) -> Any:
    return positions(
        text if isinstance(text, bytes) else text.encode(), BoardParams(**board), "parts.csv"
    )


def test_our_own_file_reads_back(design: Callable[..., Plan]) -> None:
    plan = design(sets=["panel.switch.on=true", "panel.shell.fixing=snap"])
    rows = rows_of(plan)
    parts = read(csv_bytes(HEADER, rows))
    assert [
        (p.kind, p.x, p.y, p.turn_deg % 360, p.width, p.depth, p.height, p.side) for p in parts
    ] == [(kind, x, y, turn % 360, *size, side) for _, x, y, side, turn, kind, _, *size, _ in rows]


def test_a_table_of_a_layout_program_with_a_column_map() -> None:
    """Designators, millimetres with their unit, top and bottom: the usual shape of a placement
    table.
    """
    table = (
        "Ref,Val,PosX,PosY,Rot,Side\nD1,white,12.7mm,-3,0,top\nD2,white,0.5in,3,90,top\n"
        "SW1,tact,20,0,0,top\nJ3,1x05,30,0,0,bottom\nH1,M3,5,5,0,top\nU7,mcu,1,2,0,bottom\n"
    )
    parts = read(
        table,
        columns=BoardColumns(kind="ref", x="posx", y="PosY", turn="Rot", side="Side"),
        words=BoardWords(led="D", switch="SW", socket="J", hole="H"),
    )
    assert [part.kind for part in parts] == ["led", "led", "switch", "socket", "hole", "part"]
    assert (parts[0].x, parts[1].x) == (12.7, 12.7)
    assert [part.side for part in parts] == ["front", "front", "front", "back", "front", "back"]
    assert parts[5].name == "U7"


def test_a_word_may_end_in_a_number_of_its_own() -> None:
    parts = read(
        "kind,x_mm,y_mm\nLED_5050,1,2\nSocket_1x05,3,4\nSocket_1x052,3,4\n",
        words=BoardWords(led="LED_5050", socket="Socket_1x05"),
    )
    assert [part.kind for part in parts] == ["led", "socket", "part"]


def test_semicolons_with_decimal_commas_and_a_mark_at_the_head() -> None:
    parts = read("\ufeffkind;x_mm;y_mm\nled;1,5;-2,25\nled;-1,5;2\n")
    assert [(part.x, part.y) for part in parts] == [(1.5, -2.25), (-1.5, 2.0)]


def test_inches_and_mils() -> None:
    assert (
        read("kind,x_mm,y_mm\nled,1,0\n", positions_units="in")[0].x == 25.4
    )  # exact: international inch
    assert read("kind,x_mm,y_mm\nled,1000,0\n", positions_units="mil")[0].x == 25.4
    assert read("kind,x_mm,y_mm\nled,500mil,0\n")[0].x == 12.7


def test_utf_16_and_old_spreadsheets() -> None:
    assert read("kind,x_mm,y_mm\nled,1,2\n".encode("utf-16"))[0].y == 2.0
    assert read("kind,x_mm,y_mm,note\nled,1,2,gr\xfcn\n".encode("cp1252"))[0].y == 2.0


def test_rows_without_anything_and_comments_are_left_out() -> None:
    assert len(read("# made by hand\nkind,x_mm,y_mm\n\nled,1,2\n,,\n# led,3,4\n")) == 1


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("kind,x_mm,y_mm\nled,abc,2\n", r'parts\.csv:2: x_mm: "abc" is not a number'),
        ("kind,x_mm,y_mm\nled,1,2\nled,,2\n", r"parts\.csv:3: x_mm: is empty"),
        ("kind,x_mm,y_mm\nled,nan,2\n", "is not a number"),
        ("kind,x_mm,y_mm\nled,1_0,2\n", "is not a number"),
        ("kind,x_mm,y_mm\nled,1e9,2\n", "out of range"),
        ("kind,x_mm,y_mm,side\nled,1,2,sideways\n", "not a face of a board"),
        ("type,x_mm,y_mm\nled,1,2\n", r'has no column "kind"'),
        ("", "the table is empty"),
        ("\x00\x01", "zero bytes"),
    ],
)
def test_faults_are_told_with_their_place(text: str, says: str) -> None:
    with pytest.raises(InputError, match=says):
        read(text)


def test_all_faults_of_a_table_at_once() -> None:
    with pytest.raises(InputError) as caught:
        read("kind,x_mm,y_mm\nled,a,2\nled,1,b\n")
    assert len(caught.value.faults) == 2


def test_a_table_without_end_is_refused_early() -> None:
    with pytest.raises(InputError, match="more than 20,000 rows"):
        read(b"kind,x_mm,y_mm\n" + b"led,1,2\n" * 30_000)


def test_a_cell_that_a_spreadsheet_would_run_is_text() -> None:
    part = read('kind,x_mm,y_mm\n"=cmd()",1,2\n')[0]
    assert (part.kind, part.name) == ("part", "=cmd()")
