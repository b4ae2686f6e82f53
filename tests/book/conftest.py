"""The demo's book in a real browser: one page for each size of window, loaded for each test."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.book.opened import WIDTHS, listened


@pytest.fixture(scope="session")
def windows(browser: Any) -> Iterator[dict[tuple[str, bool], Any]]:
    """Open pages by size and scripts: each costs a process of the browser."""
    opened: dict[tuple[str, bool], Any] = {}
    yield opened
    for page in opened.values():
        page.context.close()


@pytest.fixture
def page(
    browser: Any,
    windows: dict[tuple[str, bool], Any],
    built: dict[str, Path],
    request: pytest.FixtureRequest,
) -> Iterator[Any]:
    """The demo's book at a width, with a list of everything that went wrong."""
    width, scripts = request.param
    size = {"width": WIDTHS[width][0], "height": WIDTHS[width][1]}
    if request.param not in windows:
        context = browser.new_context(
            viewport=size, java_script_enabled=scripts, has_touch=width == "phone"
        )
        windows[request.param] = listened(context.new_page())
    opened = windows[request.param]
    opened.scripts = scripts
    opened.set_viewport_size(size)
    opened.emulate_media(media="null", color_scheme="null")
    opened.faults.clear()
    opened.goto((built["reading-nook"] / "book" / "index.html").as_uri())
    yield opened
    if scripts:
        opened.evaluate("localStorage.clear()")  # the ticks
    opened.goto("about:blank")
