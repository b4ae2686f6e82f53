"""Builds that several tests read: made once a run, in a cache of the run's own."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
JOBS = ("reading-nook", "mixed-wall", "bedside-lamp")


@pytest.fixture(scope="session", autouse=True)
def own_cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """No test reads or fills the cache of whoever runs it. PANEJIG_TEST_CACHE keeps one between runs."""
    before = os.environ.get("PANEJIG_CACHE")
    os.environ["PANEJIG_CACHE"] = os.environ.get("PANEJIG_TEST_CACHE") or str(tmp_path_factory.mktemp("cache"))
    yield
    if before is None:
        del os.environ["PANEJIG_CACHE"]
    else:
        os.environ["PANEJIG_CACHE"] = before


@pytest.fixture(scope="session")
def built(tmp_path_factory: pytest.TempPathFactory, own_cache: None) -> dict[str, Path]:
    """The shipped jobs, built whole: name to folder."""
    from fab import workshop
    from fab.params.read import load

    out = tmp_path_factory.mktemp("out")
    return {name: workshop.build(load(ROOT / "params" / f"{name}.toml"), out).folder for name in JOBS}
