"""Lengths with units. One inch is 25.4 mm: exact by definition (international inch, 1959)."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fab.params.lengths import LENGTH_PATTERN, NotALength, parse_length
from fab.params.one_value import inches_inside


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("3 mm", 3),
        ("3mm", 3),
        (" 3  mm ", 3),
        ("0.118 in", 2.9972),
        ("1/8 in", 3.175),
        ("1 1/2 in", 38.1),
        ("1-1/2 in", 38.1),
        ("2 cm", 20),
        ('0.118"', 2.9972),
        ('1/8"', 3.175),
        ("1.5 m", 1500),
        ("-0.002 in", -0.0508),
        ("+3 mm", 3),
        (".5 in", 12.7),
        ("5. mm", 5),
        ("1 inch", 25.4),
        ("2 inches", 50.8),
        ("3″", 76.2),
        ("0 mm", 0),
        ("007 mm", 7),
        ("3/4in", 19.05),
    ],
)
def test_a_length_is_read(text: str, mm: float) -> None:
    assert parse_length(text) == mm


@pytest.mark.parametrize(
    ("text", "says", "works"),
    [
        ("1,6 mm", "decimal comma", '"1.6 mm"'),
        ("0,118 in", "decimal comma", '"0.118 in"'),
        ("3", "no unit", '"3 mm", or "3 in"'),
        ("3 ft", "unknown unit: ft", "mm, cm, m and in"),
        ("3 MM", "unknown unit: MM", '"3 mm"'),
        ("3 IN", "unknown unit: IN", '"3 in"'),
        ("3'", "unknown unit: '", "mm, cm, m and in"),
        ("1/0 in", "divides by zero", "1/8 in"),
        ("twelve", "not a length", "1/8 in"),
        ("mm", "not a length", "3 mm"),
        ("", "not a length", "3 mm"),
        ("3 mm 4", "not a length", "3 mm"),
        ("1e3 mm", "not a length", "3 mm"),
        ("nan mm", "not a length", "3 mm"),
        ("inf in", "not a length", "3 mm"),
        ("1/2/3 in", "not a length", "3 mm"),
        ("٣ mm", "not a length", "3 mm"),
        ("3 mm" + " " * 60, "too long", "3 mm"),
    ],
)
def test_what_is_no_length_is_told(text: str, says: str, works: str) -> None:
    with pytest.raises(NotALength, match=re.escape(says)) as caught:
        parse_length(text)
    assert works in caught.value.works


@settings(deadline=None)
@given(st.integers(-9_999_999, 9_999_999))
def test_millimetres_survive_the_round_trip(thousandths: int) -> None:
    mm = thousandths / 1000
    assert parse_length(f"{mm:.3f} mm") == pytest.approx(mm, abs=1e-9)
    assert parse_length(f"{mm / 10:.4f} cm") == pytest.approx(mm, abs=1e-9)


@settings(deadline=None)
@given(st.integers(0, 400), st.integers(0, 63), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_a_fraction_of_an_inch_is_the_same_as_its_decimals(
    whole: int, over: int, under: int
) -> None:
    exact = (whole + over / under) * 25.4  # binary fractions: exact but for the factor
    assert parse_length(f"{whole} {over}/{under} in") == pytest.approx(exact, abs=1e-9)
    assert parse_length(f"{whole + over / under:.9f} in") == pytest.approx(exact, abs=1e-7)


@settings(deadline=None)
@given(
    st.one_of(
        st.text(max_size=30),
        st.from_regex(r"[-+]?[0-9 ./-]{1,9} ?(mm|cm|m|in|inch|\"|x)?", fullmatch=True),
    )
)
def test_the_schema_takes_the_same_words_as_the_door(text: str) -> None:
    try:
        parse_length(text)
        taken = True
    except NotALength:
        taken = False
    assert taken == (re.search(LENGTH_PATTERN, text) is not None and not text.endswith("\n\n"))


@settings(deadline=None)
@given(st.floats(0.01, 10_000))
def test_a_bound_in_inches_lies_on_the_allowed_side(bound_mm: float) -> None:
    assert float(inches_inside(bound_mm, upper=True)) * 25.4 <= bound_mm + 1e-6
    assert float(inches_inside(bound_mm, upper=False)) * 25.4 >= bound_mm - 1e-6
