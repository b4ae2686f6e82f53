"""The wheel, used outside the checkout: presets come along, a new job starts and is laid out."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.mark.slow
def test_an_installed_wheel_starts_and_checks_a_job_in_an_empty_folder(tmp_path: Path) -> None:
    """Built and installed by pip into a folder of its own; run with nothing of the checkout on the
    path.
    """
    pip = [sys.executable, "-m", "pip", "-q", "--disable-pip-version-check"]
    subprocess.run(
        [*pip, "wheel", "--no-deps", "-w", str(tmp_path / "wheel"), str(ROOT)], check=True
    )
    (wheel,) = (tmp_path / "wheel").glob("panejig-*.whl")
    site, empty = tmp_path / "site", tmp_path / "empty"
    subprocess.run([*pip, "install", "--no-deps", "--target", str(site), str(wheel)], check=True)
    empty.mkdir()
    env = {key: value for key, value in os.environ.items() if key != "PYTHONPATH"} | {
        "PYTHONPATH": str(site)
    }

    def run(*words: str) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-P", "-m", "fab", *words]
        return subprocess.run(
            command, check=True, cwd=empty, env=env, capture_output=True, text=True
        )

    where = subprocess.run(
        [sys.executable, "-P", "-c", "import fab; print(fab.__file__)"],
        check=True,
        cwd=empty,
        env=env,
        capture_output=True,
        text=True,
    )
    assert Path(where.stdout.strip()).is_relative_to(site)
    run("new", "den", "--shape", "square", "--panels", "2", "--shop", "metric-bench")
    assert (empty / "den.toml").is_file()
    told = json.loads(
        run("build", "den.toml", "--only", "board", "--only", "lists", "--json").stdout
    )
    assert told["manifest"]["counts"]["panels"] == 2
    assert (empty / "out" / "den" / "lists" / "parts.csv").is_file()
