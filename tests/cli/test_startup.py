"""The program as its users start it: in a process of its own."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
HEAVY = (
    "numpy",
    "scipy",
    "cadquery",
    "OCP",
    "ezdxf",
    "shapely",
    "reportlab",
    "highspy",
    "svgwrite",
    "pydantic",
    "tomlkit",
)


def _run(
    *words: str, cwd: Path, env: dict[str, str] | None = None
) -> subprocess.CompletedProcess[str]:
    whole = {**os.environ, "PYTHONPATH": str(ROOT), **(env or {})}
    return subprocess.run(
        [sys.executable, "-m", "fab", *words],
        cwd=cwd,
        env=whole,
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )


def test_nothing_heavy_is_loaded(tmp_path: Path) -> None:
    (tmp_path / "bad.toml").write_text("[panel]\nsides = 2\n")
    commands = ("--help", "--version", "check bad.toml", "params", "presets", "new den")
    script = (
        "import sys\nfrom fab.cli.main import main\n"
        f"codes = [main(words.split()) for words in {commands}]\n"
        f"print('LOADED', codes, sorted(name for name in {HEAVY!r} if name in sys.modules))"
    )
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    done = subprocess.run(
        [sys.executable, "-c", script],
        cwd=tmp_path,
        env=env,
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.splitlines()[-1] == "LOADED [0, 0, 2, 0, 0, 0] []"


def test_help_loads_no_room(tmp_path: Path) -> None:
    script = (
        "import sys\nfrom fab.cli.main import main\nmain(['--help'])\n"
        "print(sorted(name for name in sys.modules if name.startswith('fab.')))"
    )
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    done = subprocess.run(
        [sys.executable, "-c", script],
        cwd=tmp_path,
        env=env,
        capture_output=True,
        text=True,
        check=True,
    )
    assert (
        done.stdout.splitlines()[-1]
        == "['fab.cli', 'fab.cli.console', 'fab.cli.main', 'fab.errors', 'fab.leaving']"
    )


def test_a_refused_file(tmp_path: Path) -> None:
    (tmp_path / "bad.toml").write_text('panel.dpeth = 3\nshop = "metric-bench"\n')
    done = _run("build", "bad.toml", cwd=tmp_path)
    assert done.returncode == 2
    assert done.stdout == ""
    assert (
        done.stderr.splitlines()[0]
        == 'bad.toml:1: panel.dpeth: unknown key "dpeth". Did you mean panel.depth?'
    )
    assert [path.name for path in tmp_path.iterdir()] == ["bad.toml"]


def test_a_console_of_few_letters(tmp_path: Path) -> None:
    (tmp_path / "стена.toml").write_text('title = "стена"\njob = 3\n', encoding="utf-8")
    env = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "cp1252"}
    done = subprocess.run(
        [sys.executable, "-m", "fab", "check", "стена.toml"],
        cwd=tmp_path,
        env=env,
        capture_output=True,
        check=False,
    )
    assert done.returncode == 2
    assert b"?????.toml:2: job: 3 is not a text" in done.stderr


def test_a_reader_that_leaves_is_no_fault(tmp_path: Path) -> None:
    """As in `panejig params | head -1`; the page is larger than a pipe holds."""
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    with subprocess.Popen(
        [sys.executable, "-m", "fab", "params", "--json"],
        cwd=tmp_path,
        env=env,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.read(10)
        process.stdout.close()
        told = process.stderr.read()
    assert process.returncode == 0
    assert told == b""


@pytest.mark.skipif(os.name == "nt", reason="no pseudo terminals there")
def test_ctrl_c_at_a_question_ends_with_130_and_nothing_written(tmp_path: Path) -> None:
    import pty

    ours, theirs = pty.openpty()
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    command = [sys.executable, "-m", "fab", "new", "den"]
    with subprocess.Popen(
        command, cwd=tmp_path, env=env, stdin=theirs, stdout=theirs, stderr=theirs
    ) as process:
        os.close(theirs)
        told = b""
        while b"Shape" not in told:
            told += os.read(ours, 1000)
        # a signal just before the program begins to wait for keys is seen only with the next
        for _ in range(20):
            process.send_signal(signal.SIGINT)
            try:
                process.wait(3.0)  # a second one must not meet a slow end
                break
            except subprocess.TimeoutExpired:
                continue
        else:
            process.kill()
    # what it said last may come in pieces; the end of a terminal is an error on some systems
    while True:
        try:
            piece = os.read(ours, 10_000)
        except OSError:
            break
        if not piece:
            break
        told += piece
    os.close(ours)
    assert process.returncode == 130
    assert b"Stopped." in told
    assert b"Traceback" not in told
    assert list(tmp_path.iterdir()) == []


def test_pages_are_the_same_in_every_process(tmp_path: Path) -> None:
    pages = {
        _run("params", "--markdown", cwd=tmp_path, env={"PYTHONHASHSEED": seed}).stdout
        for seed in ("0", "1")
    }
    assert len(pages) == 1
    assert pages.pop().startswith("# Parameters")
