"""One page of the demo's book at a time, in a real browser."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.book.opened import WIDTHS, listened


@pytest.fixture
def page(browser: Any, built: dict[str, Path], request: pytest.FixtureRequest) -> Any:
    """The demo's book at a width, with a list of everything that went wrong."""
    width, scripts = request.param
    context = browser.new_context(
        viewport={"width": WIDTHS[width][0], "height": WIDTHS[width][1]},
        java_script_enabled=scripts,
        has_touch=width == "phone",
    )
    opened = listened(context.new_page())
    opened.scripts = scripts
    opened.goto((built["reading-nook"] / "book" / "index.html").as_uri())
    yield opened
    context.close()
