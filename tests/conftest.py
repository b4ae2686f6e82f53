"""What several tests share: builds made once a run in a cache of the run's own, and one headless
browser.
"""

from __future__ import annotations

import os
import shutil
import signal
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings

settings.register_profile(
    "any machine", deadline=None, suppress_health_check=[HealthCheck.too_slow]
)  # no clock decides
settings.load_profile("any machine")

ROOT = Path(__file__).parents[1]
os.environ.setdefault("PANEJIG_PROCESSES", "1")  # the tests run side by side already
os.environ["COLUMNS"] = "100"  # whoever runs them may have a narrow window, ...
for leaked in ("PANEJIG_TRACE", "_PANEJIG_COMPLETE"):  # ... and may be looking for a fault
    os.environ.pop(leaked, None)


BROWSERS = ("chromium", "chromium-browser", "google-chrome", "chrome")
LONG_FIRST = (
    "test_build.py",
    "test_fit.py",
    "test_browser.py",
    "test_jumpers.py",
    "test_faults.py",
    "test_coupons.py",
    "test_promises.py",
    "test_compare.py",
    "test_robust.py",
    "test_verify.py",
)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Files that take long come first, so that two workers end at about the same time."""
    names = {name: place for place, name in enumerate(LONG_FIRST)}
    items.sort(key=lambda item: names.get(item.path.name, len(names)))


@pytest.fixture(scope="session", autouse=True)
def ctrl_c_is_heard() -> None:
    """A run that a shell started in the background has Ctrl-C ignored, and so would everything that
    it starts.
    """
    if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
        signal.signal(signal.SIGINT, signal.default_int_handler)


@pytest.fixture(scope="session")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One folder for all workers of a run."""
    base = tmp_path_factory.getbasetemp()
    return base.parent if os.environ.get("PYTEST_XDIST_WORKER") else base


@pytest.fixture(scope="session", autouse=True)
def own_cache(shared: Path) -> Iterator[None]:
    """No test reads or fills the cache of whoever runs it.

    PANEJIG_TEST_CACHE keeps one between runs.
    """
    before = os.environ.get("PANEJIG_CACHE")
    os.environ["PANEJIG_CACHE"] = os.environ.get("PANEJIG_TEST_CACHE") or str(shared / "cache")
    yield
    if before is None:
        del os.environ["PANEJIG_CACHE"]
    else:
        os.environ["PANEJIG_CACHE"] = before


class Built(dict[str, Path]):
    """Job to its folder, built when it is first asked for; once for all workers."""

    def __init__(self, shared: Path) -> None:
        super().__init__()
        self.shared = shared

    def __missing__(self, job: str) -> Path:
        from filelock import FileLock

        from fab import workshop
        from fab.params.read import load

        with FileLock(self.shared / f"{job}.lock"):
            self[job] = workshop.build(
                load(ROOT / "params" / f"{job}.toml"), self.shared / "built"
            ).folder
        return self[job]


@pytest.fixture(scope="session")
def built(shared: Path, own_cache: None) -> Built:
    """The shipped jobs, built whole."""
    return Built(shared)


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """A headless Chromium; PANEJIG_NEEDS_BROWSER turns the skip into a failure."""
    path = next((found for name in BROWSERS if (found := shutil.which(name))), None)
    reason = "needs a headless Chromium on the path (apt-get install chromium)"
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        path, reason = None, "needs playwright (pip install 'panejig[test]')"
    if path is None:
        if os.environ.get("PANEJIG_NEEDS_BROWSER"):
            pytest.fail(reason)
        pytest.skip(reason)
    with sync_playwright() as play:
        opened = play.chromium.launch(
            executable_path=path,
            args=[
                "--no-sandbox",
                "--disable-gpu-rasterization",
                "--use-gl=angle",
                "--use-angle=swiftshader",
                "--enable-unsafe-swiftshader",
                "--disable-background-networking",
                "--disable-component-update",
                "--disable-sync",
                "--no-first-run",
            ],
        )
        yield opened
        opened.close()
