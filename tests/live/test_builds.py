"""Builds behind the page: their views and figures, and that a newer save stops an older build."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import pytest

from fab import workshop
from fab.live import maker
from fab.params.read import load
from tests.live.conftest import ROOT, ended, job_text, row, watching
from tests.shapes import Shapes


@pytest.mark.slow
def test_fifty_saves_in_five_seconds_with_builds(tmp_path: Path, built: dict[str, Path]) -> None:
    """Each begins a build that the next one stops; the last one is built whole."""
    assert built["reading-nook"].is_dir()  # fills the cache
    job = tmp_path / "job.toml"
    job.write_text(job_text())
    found = watching(job, tmp_path / "out")
    try:
        for k in range(50):
            found.save(job_text('map = "A B"', title=f"save {k}"))
            time.sleep(0.1)
        state = found.until(lambda one: one["title"] == "save 49" and not one["busy"], 600.0)
        assert state["faults"] == []
        assert [one for one in found.rounds if one.built is not None][-1].number == state["save"]
        assert load(tmp_path / "out" / "corner" / "lists" / "job.toml").job.title == "save 49"
        assert sorted(one.name for one in (tmp_path / "out").iterdir()) == [
            ".corner.lock",
            "corner",
        ]
    finally:
        ended(found)


def test_a_build_shows_its_views_and_its_figures(tmp_path: Path, built: dict[str, Path]) -> None:
    """Also where nothing has to be made: the demo, built before, watched again."""
    out = built["reading-nook"].parent
    found = watching(ROOT / "params" / "reading-nook.toml", out)
    try:
        state = found.until(lambda one: not one["busy"], 120.0)
        assert {"section", "sheets", "light", "solid"} == set(state["views"])
        assert row(state, "Sheets to cut")["text"] == "1"
        assert state["checks"]["counted"]["fail"] == 0
        views = found.fetched("pictures.json")
        shapes = Shapes.read("fab/live/assets/state.d.ts")
        assert shapes.faults(state, "State") == []
        assert shapes.faults(views, "Record<string, View | undefined>") == []
        assert {"View", "Picture"} <= {kind for kind, _ in shapes.seen}
        assert all(views[name]["pictures"] for name in ("section", "sheets", "light"))
        titles = " ".join(one["title"] for one in views["section"]["pictures"])
        assert all(part in titles for part in ("joint", "open edge", "corner"))
        assert found.fetched("scene.json")["items"]
    finally:
        ended(found)


def test_a_newer_save_stops_an_older_build(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The work on the first state ends at its next product, and is never told as done."""
    seen: list[str] = []

    def build(loaded: Any, out: Path, *, progress: Any, look: Any, **_: Any) -> Any:
        seen.append(loaded.job.title)
        while loaded.job.title == "one":
            progress("a long part", 0.5)
            time.sleep(0.01)
        return type("Done", (), {"verdicts": (), "made": ()})()

    monkeypatch.setattr(workshop, "build", build)
    monkeypatch.setattr(maker.Maker, "_pieces", lambda *_: None)
    monkeypatch.setattr(workshop, "recipe_of", lambda *_: None)
    job = tmp_path / "job.toml"
    job.write_text(job_text(title="one"))
    found = watching(job, tmp_path / "out")
    try:
        found.until(lambda _: seen == ["one"])
        found.save(job_text(title="two"))
        found.until(lambda one: one["title"] == "two" and not one["busy"])
        assert [one.number for one in found.rounds] == [2]
    finally:
        ended(found)
