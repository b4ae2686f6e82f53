"""How many cases the default run draws of a property test."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests import conftest


@pytest.mark.parametrize(("asked", "drawn"), [(600, 50), (30, 2), (1, 1)])
def test_a_test_with_parameters_draws_as_many_cases_for_each(
    monkeypatch: pytest.MonkeyPatch, asked: int, drawn: int
) -> None:
    @settings(max_examples=asked)
    @given(st.integers())
    def prop(number: int) -> None:
        pass

    one = SimpleNamespace(obj=prop, nodeid="tests/wall/x.py", add_marker=lambda _: None)
    items: list[Any] = [one, one, one]
    monkeypatch.setattr(conftest, "EXAMPLES", "few")
    conftest.pytest_collection_modifyitems(items)
    assert getattr(prop, conftest.OWN).max_examples == drawn
