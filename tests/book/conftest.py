"""A real headless browser for the book's tests; without one they are skipped, and CI asks for one."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from typing import Any

import pytest

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """A headless Chromium; PANEJIG_NEEDS_BROWSER turns the skip into a failure."""
    path = next((found for name in NAMES if (found := shutil.which(name))), None)
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
            args=["--no-sandbox", "--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader",
                  "--disable-background-networking", "--disable-component-update", "--disable-sync", "--no-first-run"],
        )  # fmt: skip
        yield opened
        opened.close()
