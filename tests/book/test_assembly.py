"""The steps of putting one panel together name the screws of its own design, and a board only where
it has one.
"""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from fab.book import assembly
from fab.outlines.page import Page
from fab.params.boardparams import BoardParams
from fab.params.panel import PanelParams
from fab.parts.planning import plan
from tests.checks.designs import SHOP


@pytest.mark.parametrize("size", [2.0, 3.0])
@pytest.mark.parametrize("bare", [False, True])
def test_a_panel_is_closed_with_its_own_screws(
    monkeypatch: pytest.MonkeyPatch, size: float, bare: bool
) -> None:
    monkeypatch.setattr(
        assembly, "step_page", lambda *words: Page(1.0, 1.0, (), words[3], words[4])
    )
    made = plan(PanelParams(across_flats=120.0, screw_d=size, board=BoardParams(none=bare)), SHOP)
    facts: Any = SimpleNamespace()
    step = assembly._close(facts, "panel", made)
    assert f"countersunk M{size:g} screws" in step.take
    assert f"countersunk M{size:g} screws" in step.do
    assert ("board" in f"{step.take} {step.do} {step.page.says}") is not bare
