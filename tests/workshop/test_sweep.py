"""Sweeps: the grid, the journal, dead workers."""

from __future__ import annotations

import contextlib
import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from fab import sweep as sweeping
from fab.errors import InputError, OutputError
from fab.sweep import Variant, grid
from fab.sweeptable import plot_svg, table_bytes

ROOT = Path(__file__).parents[2]
LAMP = ROOT / "params" / "bedside-lamp.toml"


def test_the_grid_holds_every_combination_in_order() -> None:
    found = grid({"a": ["1", "2"], "b": ["x", "y"]})
    assert [variant.sets for variant in found] == [
        ("a=1", "b=x"),
        ("a=1", "b=y"),
        ("a=2", "b=x"),
        ("a=2", "b=y"),
    ]
    assert len({variant.key for variant in found}) == 4
    with pytest.raises(InputError, match="at least one"):
        grid({})


def test_a_row_tells_counts_figures_and_refusals(built: dict[str, Path]) -> None:
    assert built["one-panel"].is_dir()  # fills the cache
    one = str(Path(__file__).parents[1] / "one-panel.toml")
    good = sweeping.run_variant(one, ["power.brightness=0.2"])
    assert good["exit"] in (0, 1)
    assert good["panels"] == 1
    assert isinstance(good["light.dots"], float)
    bad = sweeping.run_variant(one, ["panel.sides=2"])
    assert bad["exit"] == 2
    assert "panel.sides" in bad["says"]


def fake(log: list[str], job: str, sets: Any, into: str = "") -> dict[str, Any]:
    log.append(sets[0])
    return {
        "a": sets[0].split("=")[1],
        "exit": 0,
        "says": "",
        "light.dots": float(sets[0].split("=")[1]),
    }


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
    log.clear()
    assert sweeping.sweep(LAMP, variants, journal) == rows
    assert log == []  # the half line ended no row that came after it


def test_rows_of_other_code_or_of_checks_alone_are_not_taken_for_builds(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    log: list[str] = []
    monkeypatch.setattr(
        sweeping,
        "_in_processes",
        lambda workers: lambda job, todo, into: ((v, fake(log, job, v.sets)) for v in todo),
    )
    variants, journal = grid({"a": ["1", "2"]}), tmp_path / "s.journal"
    for into in (None, None, tmp_path / "builds", tmp_path / "builds", tmp_path / "others"):
        sweeping.sweep(LAMP, variants, journal, builds_into=into)
    assert log == ["a=1", "a=2"] * 3
    monkeypatch.setattr("fab.sweep.program", lambda: "newer")
    sweeping.sweep(LAMP, variants, journal)
    assert log == ["a=1", "a=2"] * 4


def dies(job: str, sets: Any, into: str = "") -> dict[str, Any]:
    """A variant that takes its worker with it, and others that are at work beside it."""
    if sets[0] == "a=2":
        os.kill(os.getpid(), signal.SIGKILL)
    time.sleep(0.2)
    return {"a": sets[0].split("=")[1], "exit": 0, "says": ""}


@pytest.mark.slow
@pytest.mark.skipif(os.name != "posix", reason="needs a signal that cannot be caught")
def test_a_variant_that_kills_its_worker_takes_no_other_with_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is told as lost after three tries, not kept, and tried again by the next run."""
    monkeypatch.setattr(sweeping, "run_variant", dies)
    variants, journal = grid({"a": [str(k) for k in range(1, 6)]}), tmp_path / "s.journal"
    rows = sweeping.sweep(LAMP, variants, journal, workers=2)
    assert [row["exit"] for row in rows] == [0, 1, 0, 0, 0]
    assert rows[1]["says"] == "its worker process ended unexpectedly 3 times"
    assert len(journal.read_text().splitlines()) == 4
    monkeypatch.setattr(
        sweeping,
        "_in_processes",
        lambda workers: lambda job, todo, into: ((v, fake([], job, v.sets)) for v in todo),
    )
    assert [row["exit"] for row in sweeping.sweep(LAMP, variants, journal)] == [0] * 5


def test_a_fault_of_ours_is_a_row_and_the_others_go_on(monkeypatch: pytest.MonkeyPatch) -> None:
    def odd(*_: object) -> None:
        raise ValueError("odd")

    monkeypatch.setattr("fab.workshop.check_and_count", odd)
    row = sweeping.run_variant(str(LAMP), ["power.brightness=0.2"])
    assert (row["exit"], row["says"]) == (1, "an internal error in panejig (ValueError: odd)")


def test_a_journal_that_cannot_be_written_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(OutputError, match="cannot be written"):
        sweeping.sweep(LAMP, grid({"a": ["1"]}), tmp_path / "file" / "s.journal")

    def full(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(
        sweeping,
        "_in_processes",
        lambda workers: lambda job, todo, into: ((v, fake([], job, v.sets)) for v in todo),
    )
    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OutputError, match="No space left on device"):
        sweeping.sweep(LAMP, grid({"a": ["1"]}), tmp_path / "s.journal")


def test_a_grid_without_end_is_refused() -> None:
    with pytest.raises(InputError, match="more than 50000 variants"):
        grid({name: [str(k) for k in range(1000)] for name in "abcdef"})


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--over", "panel.depth=1", "--over", "panel.depth=2"], "is given as an axis twice"),
        (["--over", "panel.depth=36", "--workers", "-1"], "-1 is out of range; minimum 0"),
        (
            ["--over", "panel.depth=36", "--address", "127.0.0.1:9"],
            "no Dask scheduler answers at 127.0.0.1:9",
        ),
        (
            ["--over", "panel.depth=36", "--address", "nowhere"],
            "no Dask scheduler answers at nowhere",
        ),
        (
            ["--over", "panel.depth=36", "--address", "odd://x:1"],
            "no Dask scheduler answers at odd://x:1",
        ),
    ],
)
def test_sweeps_that_cannot_begin(
    words: list[str],
    says: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capfd: pytest.CaptureFixture[str],
) -> None:
    from fab.cli.main import main

    if "--address" in words:
        pytest.importorskip("distributed")
        monkeypatch.setattr(sweeping, "ANSWER_S", 0.5)
    monkeypatch.chdir(tmp_path)
    assert main(["sweep", str(LAMP), *words]) == 2
    told = capfd.readouterr().err
    assert says in told
    assert "Traceback" not in told


def test_another_job_does_not_take_the_journals_rows(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    journal = tmp_path / "s.journal"
    variants = grid({"a": ["1"]})
    journal.write_text(
        json.dumps({"job": "another", "key": variants[0].key, "row": {"a": "wrong"}}) + "\n"
    )
    monkeypatch.setattr(
        sweeping,
        "_in_processes",
        lambda workers: (
            lambda job, todo, into: ((v, {"a": "right", "exit": 0, "says": ""}) for v in todo)
        ),
    )
    assert sweeping.sweep(LAMP, variants, journal)[0]["a"] == "right"


@pytest.mark.slow
def test_a_killed_worker_costs_time_only(tmp_path: Path) -> None:
    """One of two workers is killed as soon as the first row is there; the table is that of an
    undisturbed run.
    """
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
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, host="127.0.0.1", dashboard_address=None
    ) as cluster:
        there = sweeping.sweep(
            LAMP, variants, tmp_path / "b.journal", address=cluster.scheduler_address
        )
    assert there == here


@pytest.mark.slow
@pytest.mark.skipif(os.name != "posix", reason="needs a signal that cannot be caught")
def test_a_scheduler_that_dies_in_the_middle_is_told_and_what_is_done_is_kept(
    tmp_path: Path,
) -> None:
    """The whole cluster is killed after the first row; the same command on this machine goes on."""
    pytest.importorskip("distributed")
    code = (
        "import time\nfrom distributed import LocalCluster\nif __name__ == '__main__':\n cluster ="
        " LocalCluster(n_workers=1, threads_per_worker=1, host='127.0.0.1',"
        " dashboard_address=None)\n print(cluster.scheduler_address, flush=True)\n"
        " time.sleep(600)\n"
    )
    cluster = subprocess.Popen(
        [sys.executable, "-c", code],
        stdout=subprocess.PIPE,
        text=True,
        start_new_session=True,
        cwd=ROOT,
    )
    assert cluster.stdout is not None
    variants, journal = (
        grid({"power.brightness": [f"0.{k}" for k in range(11, 17)]}),
        tmp_path / "s.journal",
    )
    killed: list[int] = []

    def kill(done: int, _of: int) -> None:
        if done == 1 and not killed:
            os.killpg(cluster.pid, signal.SIGKILL)
            killed.append(done)

    try:
        with pytest.raises(
            OutputError,
            match=r"the Dask scheduler at tcp://\S+ stopped answering\. Finished variants are kept",
        ):
            sweeping.sweep(
                LAMP, variants, journal, address=cluster.stdout.readline().strip(), progress=kill
            )
    finally:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(cluster.pid, signal.SIGKILL)
        cluster.wait()
        cluster.stdout.close()
    assert 1 <= len(journal.read_text().splitlines()) < len(variants)
    seen: list[int] = []
    rows = sweeping.sweep(
        LAMP, variants, journal, workers=1, progress=lambda done, _of: seen.append(done)
    )
    assert seen[0] >= 1
    assert [row["exit"] in (0, 1) for row in rows] == [True] * len(variants)


def test_tables_and_plots_of_rows() -> None:
    rows = [
        {"panel.depth": str(30 + k), "exit": k % 2, "light.dots": 0.1 / (k + 1), "says": "=1+1"}
        for k in range(4)
    ]
    text = table_bytes(rows, ".csv").decode()
    assert text.splitlines()[0] == "panel.depth,exit,light.dots,says"
    assert "'=1+1" in text
    assert json.loads(table_bytes(rows, ".json"))[0]["panel.depth"] == "30"
    with pytest.raises(InputError, match=r"not '.xls'"):
        table_bytes(rows, ".xls")
    assert b"<svg" in plot_svg(rows, ["panel.depth"], "light.dots")
    with pytest.raises(InputError, match="no variant has the figure 'nothing'"):
        plot_svg(rows, ["panel.depth"], "nothing")
    with pytest.raises(InputError, match="must be numbers"):
        plot_svg([{"a": "x", "exit": 0, "light.dots": 1.0}], ["a"], "light.dots")


def test_the_cli_reads_ranges() -> None:
    from fab.cli.sweep import _axis

    assert _axis("panel.depth=30..34..2,40") == ("panel.depth", ["30", "32", "34", "40"])
    for bad in (
        "panel.depth",
        "panel.depth=",
        "panel.depth=1..2..0",
        "panel.depth=2..1..1",
        "a=1..x..2",
    ):
        with pytest.raises(InputError):
            _axis(bad)


def test_variants_are_told_apart() -> None:
    assert Variant(("a=1",)).key != Variant(("a=2",)).key
