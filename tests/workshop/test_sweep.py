"""Sweeps: the grid, the journal, dead workers."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from fab import sweep as sweeping
from fab.errors import InputError
from fab.sweep import Variant, grid
from fab.sweeptable import plot_svg, table_bytes

ROOT = Path(__file__).parents[2]
LAMP = ROOT / "params" / "bedside-lamp.toml"


def test_the_grid_holds_every_combination_in_order() -> None:
    found = grid({"a": ["1", "2"], "b": ["x", "y"]})
    assert [variant.sets for variant in found] == [("a=1", "b=x"), ("a=1", "b=y"), ("a=2", "b=x"), ("a=2", "b=y")]
    assert len({variant.key for variant in found}) == 4
    with pytest.raises(InputError, match="at least one"):
        grid({})


def test_a_row_tells_counts_figures_and_refusals() -> None:
    good = sweeping.run_variant(str(LAMP), ["power.brightness=0.2"])
    assert good["exit"] in (0, 1)
    assert good["panels"] == 1
    assert isinstance(good["light.dots"], float)
    bad = sweeping.run_variant(str(LAMP), ["panel.sides=2"])
    assert bad["exit"] == 2
    assert "panel.sides" in bad["says"]


def fake(log: list[str], job: str, sets: Any, into: str = "") -> dict[str, Any]:
    log.append(sets[0])
    return {"a": sets[0].split("=")[1], "exit": 0, "light.dots": float(sets[0].split("=")[1])}


def test_a_sweep_goes_on_where_it_stopped(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    log: list[str] = []

    def run(job: str, todo: Any, into: str) -> Any:
        for variant in todo:
            if len(log) == 2:
                raise KeyboardInterrupt
            yield variant, fake(log, job, variant.sets)

    monkeypatch.setattr(sweeping, "_in_processes", lambda workers: run)
    variants = grid({"a": ["1", "2", "3"]})
    journal = tmp_path / "s.journal"
    with pytest.raises(KeyboardInterrupt):
        sweeping.sweep(LAMP, variants, journal)
    with journal.open("a") as file:
        file.write('{"half a li')  # a stop in the middle of a line
    log.clear()
    rows = sweeping.sweep(LAMP, variants, journal)
    assert log == ["a=3"]
    assert [row["a"] for row in rows] == ["1", "2", "3"]


def test_another_job_does_not_take_the_journals_rows(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    journal = tmp_path / "s.journal"
    variants = grid({"a": ["1"]})
    journal.write_text(json.dumps({"job": "another", "key": variants[0].key, "row": {"a": "wrong"}}) + "\n")
    monkeypatch.setattr(sweeping, "_in_processes", lambda workers: lambda job, todo, into: ((v, {"a": "right", "exit": 0}) for v in todo))
    assert sweeping.sweep(LAMP, variants, journal)[0]["a"] == "right"


@pytest.mark.slow
def test_a_killed_worker_costs_time_only(tmp_path: Path) -> None:
    """One of two workers is killed as soon as the first row is there; the table is that of an undisturbed run."""
    import multiprocessing

    variants = grid({"power.brightness": [f"0.{k}" for k in range(11, 23)]})
    whole = sweeping.sweep(LAMP, variants, tmp_path / "a.journal", workers=2)
    killed: list[int] = []

    def kill(done: int, _of: int) -> None:
        if done == 1 and not killed:
            worker = multiprocessing.active_children()[0]
            worker.kill()
            killed.append(worker.pid or 0)

    again = sweeping.sweep(LAMP, variants, tmp_path / "b.journal", workers=2, progress=kill)
    assert killed
    assert again == whole


@pytest.mark.slow
def test_a_cluster_gives_the_same_table_as_processes(tmp_path: Path) -> None:
    distributed = pytest.importorskip("distributed")
    variants = grid({"panel.depth": ["34", "36"], "layout.turn_deg": ["0", "15"]})
    here = sweeping.sweep(LAMP, variants, tmp_path / "a.journal", workers=2)
    with distributed.LocalCluster(n_workers=2, threads_per_worker=1, host="127.0.0.1", dashboard_address=None) as cluster:
        there = sweeping.sweep(LAMP, variants, tmp_path / "b.journal", address=cluster.scheduler_address)
    assert there == here


def test_tables_and_plots_of_rows() -> None:
    rows = [{"panel.depth": str(30 + k), "exit": k % 2, "light.dots": 0.1 / (k + 1), "says": "=1+1"} for k in range(4)]
    text = table_bytes(rows, ".csv").decode()
    assert text.splitlines()[0] == "panel.depth,exit,light.dots,says"
    assert "'=1+1" in text
    assert json.loads(table_bytes(rows, ".json"))[0]["panel.depth"] == "30"
    with pytest.raises(InputError, match="not '.xls'"):
        table_bytes(rows, ".xls")
    assert b"<svg" in plot_svg(rows, ["panel.depth"], "light.dots")
    with pytest.raises(InputError, match="no variant has a figure 'nothing'"):
        plot_svg(rows, ["panel.depth"], "nothing")
    with pytest.raises(InputError, match="must be numbers"):
        plot_svg([{"a": "x", "exit": 0, "light.dots": 1.0}], ["a"], "light.dots")


def test_the_cli_reads_ranges() -> None:
    from fab.cli.sweep import _axis

    assert _axis("panel.depth=30..34..2,40") == ("panel.depth", ["30", "32", "34", "40"])
    for bad in ("panel.depth", "panel.depth=", "panel.depth=1..2..0", "panel.depth=2..1..1", "a=1..x..2"):
        with pytest.raises(InputError):
            _axis(bad)


def test_variants_are_told_apart() -> None:
    assert Variant(("a=1",)).key != Variant(("a=2",)).key
