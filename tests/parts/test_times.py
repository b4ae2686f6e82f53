"""Real hours of prints and minutes of cuts, turned into the factor of a machine."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fab.errors import InputError
from fab.parts.coupons.times import runs, time_factor

ONE_RUN = st.tuples(st.floats(0.5, 50.0), st.floats(0.8, 1.6))


def test_a_worked_example() -> None:
    """5 h 20 min real for 5 h calculated, 2 h 40 min for 3 h: 8 of 8 hours, the factor stays as it
    is.
    """
    found = time_factor("hours", runs("hours", ["5:20/5", "160min/3h"]), 1.25)
    assert found.key == ("printer", "time_factor")
    assert found.value == 1.25
    error = math.sqrt(((16 / 15 - 1) ** 2 + (8 / 9 - 1) ** 2) / 2)  # standard error of two readings
    assert found.plus_minus == pytest.approx(1.25 * error, rel=0.01)
    assert not found.doubts
    (one,) = runs("minutes", ["7:30/6.25"])
    assert (one.real, one.calculated) == (450.0, 375.0)
    assert time_factor("minutes", [one], 1.0).value == 1.2


@pytest.mark.parametrize(
    ("word", "seconds"),
    [
        ("1:02:03", 3723.0),
        ("90", 5400.0),
        ("1.5 h", 5400.0),
        ("90min", 5400.0),
        ("30 s", 30.0),
        ("0:30", 30.0),
    ],
)
def test_times_as_people_write_them(word: str, seconds: float) -> None:
    assert runs("minutes", [f"{word}/1"])[0].real == seconds


@pytest.mark.parametrize(
    "word",
    [
        "5",
        "5/",
        "/5",
        "0/5",
        "5/0",
        "-5/3",
        "nan/1",
        "inf/1",
        "1e9/1",
        "5/4/3",
        "5:99/4",
        "5 mm/4",
        "٣/1",
        "",
    ],
)
def test_what_is_no_reading_is_refused(word: str) -> None:
    with pytest.raises(InputError, match="not a pair of real and calculated time"):
        runs("hours", ["5/4", word])


@pytest.mark.parametrize("word", ["200/1", "1/200", "300min/4.9min"])
def test_a_factor_that_can_not_be_is_refused(word: str) -> None:
    with pytest.raises(InputError, match=r"allows 0.1 to 10"):
        time_factor("hours", runs("hours", [word]), 1.0)


def test_runs_far_apart_are_doubted() -> None:
    assert time_factor("hours", runs("hours", ["5/5", "8/5"]), 1.0).doubts


@given(st.lists(ONE_RUN, min_size=1, max_size=5), st.floats(0.5, 2.0))
def test_the_next_calculation_is_what_was_measured(
    prints: list[tuple[float, float]], present: float
) -> None:
    """Calculated again with the new factor, the hours of all prints together are the real ones."""
    words = [f"{hours * share * present:.6f}/{hours * present:.6f}" for hours, share in prints]
    found = time_factor("hours", runs("hours", words), present)
    real = math.fsum(hours * share * present for hours, share in prints)
    again = math.fsum(hours for hours, _ in prints) * found.value
    assert again == pytest.approx(real, rel=0.002)
