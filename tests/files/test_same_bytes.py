"""The same values give the same bytes: made again, and by another process."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.files.samples import FILES, hashes

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def elsewhere() -> dict[str, str]:
    """Hashes of all files, made by a process with another hash seed and in another time zone."""
    env = {**os.environ, "PYTHONHASHSEED": "4711", "PYTHONPATH": str(ROOT), "TZ": "Asia/Tokyo"}
    done = subprocess.run(
        [sys.executable, "-m", "tests.files.samples"],
        cwd=ROOT,
        env=env,
        capture_output=True,
        check=True,
    )
    return dict(json.loads(done.stdout))


@pytest.fixture(scope="module")
def here() -> dict[str, str]:
    """Hashes of all files, made by this process."""
    return hashes()


@pytest.mark.parametrize("name", FILES)
def test_another_process_in_another_time_zone_makes_the_same_bytes(
    name: str, here: dict[str, str], elsewhere: dict[str, str]
) -> None:
    assert elsewhere[name] == here[name]


def test_the_same_values_give_the_same_bytes_again(here: dict[str, str]) -> None:
    assert hashes() == here
