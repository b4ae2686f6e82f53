"""CSV and JSON: read back by the standard library, and safe in a spreadsheet."""

import csv
import io
import json
import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fab.files.table import csv_bytes, json_bytes

plain = st.text(st.characters(exclude_categories=("Cs", "Cc")), max_size=20)


@given(st.lists(st.lists(plain, min_size=2, max_size=2), max_size=5))
def test_text_comes_back_as_it_went_in_but_for_formulas(rows: Any) -> None:
    back = list(csv.reader(io.StringIO(csv_bytes(["a", "b"], rows).decode("utf-8"), newline="")))
    assert back[0] == ["a", "b"]
    assert [[cell.removeprefix("'") for cell in row] for row in back[1:]] == [
        [cell.removeprefix("'") for cell in row] for row in rows
    ]


@pytest.mark.parametrize("text", ["=1+1", "+cmd", "-x", "@sum", "\tx", "\rx", "=HYPERLINK(1)"])
def test_a_formula_gets_an_apostrophe(text: str) -> None:
    ((cell,),) = list(csv.reader(io.StringIO(csv_bytes(["a"], [[text]]).decode(), newline="")))[1:]
    assert cell == "'" + text


@pytest.mark.parametrize("text", ["-3", "+2.5", "-0.001"])
def test_a_number_written_as_text_stays_a_number(text: str) -> None:
    assert csv_bytes(["a"], [[text]]) == f"a\r\n{text}\r\n".encode()


def test_cells() -> None:
    assert (
        csv_bytes(["a", "b", "c", "d", "e"], [[-0.0, 1 / 3, True, None, 'x,"y"\nz']])
        == b'a,b,c,d,e\r\n0,0.333333,yes,,"x,""y""\nz"\r\n'
    )


@pytest.mark.parametrize(
    ("rows", "says"), [([["a"]], "does not fit 2 columns"), ([[math.nan, 1]], "not a number")]
)
def test_rows_that_cannot_be_written(rows: Any, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        csv_bytes(["a", "b"], rows)


def test_halves_of_characters_from_a_command_line_do_not_stop_a_table() -> None:
    assert csv_bytes(["a"], [["\udcff"]]) == "a\r\n\ufffd\r\n".encode()
    assert json.loads(json_bytes(["\udcff"])) == ["\ufffd"]


def test_json_keeps_order_rounds_and_ends_with_a_newline() -> None:
    data = json_bytes({"b": (1.0, 0.1 + 0.2, -0.0), "a": {"x": None, "y": "\u00e9", "z": True}})
    numbers = '{\n  "b": [\n    1,\n    0.3,\n    0\n  ],\n'
    words = '  "a": {\n    "x": null,\n    "y": "\u00e9",\n    "z": true\n  }\n}\n'
    assert data.decode("utf-8") == numbers + words
    assert list(json.loads(data)) == ["b", "a"]


@pytest.mark.parametrize(
    ("value", "error"),
    [
        ({"a": math.inf}, ValueError),
        ([math.nan], ValueError),
        ({1: 2}, TypeError),
        ({"a": {2}}, TypeError),
    ],
)
def test_json_refuses_what_it_has_no_form_for(value: Any, error: Any) -> None:
    with pytest.raises(error):
        json_bytes(value)


@given(st.floats(allow_nan=False, allow_infinity=False, min_value=-1e12, max_value=1e12))
def test_numbers_stay_within_their_rounding(number: float) -> None:
    assert json.loads(json_bytes([number]))[0] == pytest.approx(number, abs=1e-6)
    assert float(csv_bytes(["a"], [[number]]).split()[1]) == pytest.approx(number, abs=1e-6)
