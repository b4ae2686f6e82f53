"""Remembered answers: those of the function, asked for once, also for tables that have no hash."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fab.remembered import remembering

QUESTIONS = st.lists(st.tuples(st.integers(0, 4), st.dictionaries(st.text("ab"), st.integers())))


@given(QUESTIONS, st.integers(1, 3))
def test_answers_are_those_of_the_function(
    asked: list[tuple[int, dict[str, int]]], most: int
) -> None:
    """Whatever is asked in which order, and how few answers are kept."""
    calls: list[object] = []

    @remembering(most)
    def answer(number: int, *, table: dict[str, int]) -> tuple[int, int]:
        calls.append((number, table))
        return number, sum(table.values())

    for number, table in asked:
        before = len(calls)
        assert answer(number, table=dict(table)) == (number, sum(table.values()))
        assert answer(number, table=dict(table)) == (number, sum(table.values()))
        assert len(calls) <= before + 1  # the second time nothing is worked out
    assert len(calls) >= len({(number, tuple(sorted(table.items()))) for number, table in asked})


def test_the_oldest_answer_goes() -> None:
    calls: list[int] = []

    @remembering(2)
    def answer(number: int) -> int:
        calls.append(number)
        return number

    for number in (1, 2, 1, 3, 2, 1):
        answer(number)
    assert calls == [1, 2, 3, 1]


def test_a_refusal_is_not_remembered() -> None:
    calls: list[int] = []

    @remembering(2)
    def refuse(number: int) -> int:
        calls.append(number)
        raise ValueError(number)

    for _ in range(2):
        with pytest.raises(ValueError, match="7"):
            refuse(7)
    assert calls == [7, 7]
