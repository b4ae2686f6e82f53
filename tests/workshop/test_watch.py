"""Watching: a round for every saved state, a bad file is told and the watch goes on."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from fab import watch as watching
from fab.watch import Round, watch


def test_a_round_for_every_saved_state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    job = tmp_path / "job.toml"
    job.write_text(
        '[layout]\ncells = [[0, 0]]\n[shop]\nextends = "metric-bench"\n[panel]\nextends ='
        ' "hexagon-120"\n'
    )
    built: list[Any] = []
    monkeypatch.setattr(
        watching.workshop,  # type: ignore[attr-defined]
        "build",
        lambda loaded, out, **_: built.append(loaded.job.layout.cells),
    )
    states = [
        "cells = [[0, 0], [1, 0]]",
        "cells = 7",
        "cells = [[0, 1]]",
    ]
    rounds: list[Round] = []

    def tell(one: Round) -> None:
        rounds.append(one)
        if states:
            job.write_text(
                f'[layout]\n{states.pop(0)}\n[shop]\nextends = "metric-bench"\n[panel]\nextends ='
                f' "hexagon-120"\n# {len(states)}\n'
            )

    watch(job, (), tmp_path / "out", tell, stop=lambda: len(rounds) >= 4)
    assert [one.number for one in rounds] == [1, 2, 3, 4]
    assert built == [((0, 0),), ((0, 0), (1, 0)), ((0, 1),)]
    assert rounds[2].error is not None
    assert "layout.cells" in str(rounds[2].error)


@pytest.mark.slow
def test_the_plan_is_told_before_anything_is_made(tmp_path: Path, built: dict[str, Path]) -> None:
    """Checks without solids and the counts first, then the build with the same verdicts in front of
    the others.
    """
    assert built["one-panel"].is_dir()  # fills the cache
    job = Path(__file__).parents[1] / "one-panel.toml"
    told: list[Any] = []
    watch(
        job,
        ("power.brightness=0.19",),
        tmp_path,
        told.append,
        stop=lambda: len(told) >= 2,
        look=told.append,
    )
    first, last = told
    assert (first.number, last.number) == (1, 1)
    assert first.counts["panels"] == 1
    assert last.built.verdicts[: len(first.verdicts)] == first.verdicts
    assert len(last.built.verdicts) > len(first.verdicts) > 20
    assert first.seconds <= last.seconds
