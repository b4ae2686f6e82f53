"""Document to one HTML page: self-contained, offline, no request, every text escaped.

`assets/page.html` is the page, `assets/blocks.html` its blocks; a template library fills them in.
"""

from __future__ import annotations

import base64
import itertools
import json
from collections.abc import Iterator
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

from fab.files.document import Block, Chapter, Document, runs, signalled, spans
from fab.files.pagesvg import page_fragment
from fab.outlines.page import Page

if TYPE_CHECKING:
    from jinja2 import Template
    from markupsafe import Markup


def html(document: Document) -> bytes:
    """The whole page as UTF-8."""
    return _template().render(document=document).encode()


@cache
def _template() -> Template:
    """The page's template: it escapes what it is given, and raises for a name that it has not."""
    import jinja2

    made = jinja2.Environment(
        loader=jinja2.PackageLoader("fab.files", "assets"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    made.globals |= {
        "asset": _asset,
        "drawn": _drawn,
        "kind": lambda block: type(block).__name__,
        "placed": _placed,
        "signalled": signalled,
        "spans": spans,
    }
    made.filters |= {"base64": _base64, "embedded": _embedded}
    return made.get_template("page.html")


def _asset(name: str) -> Markup:
    """A style sheet or script of the page."""
    from markupsafe import Markup

    return Markup((files("fab.files") / "assets" / name).read_text(encoding="utf-8"))


def _drawn(page: Page, prefix: str) -> Markup:
    """A picture; its writer escapes the texts in it."""
    from markupsafe import Markup

    return Markup(page_fragment(page, prefix))


def _base64(data: bytes) -> str:
    return base64.b64encode(data).decode()


def _embedded(data: str) -> Markup:
    """JSON as it may stand in a script: nothing in it ends the script."""
    from markupsafe import Markup

    packed = json.dumps(json.loads(data), separators=(",", ":"))
    return Markup(packed.replace("<", "\\u003c"))


def _placed(chapter: Chapter, place: str) -> Iterator[list[tuple[Block, str]]]:
    """The blocks of a chapter as they stand side by side, each with an id that none else has."""
    numbers = itertools.count(1)
    for run in runs(chapter.blocks):
        yield [(block, f"{place}b{next(numbers)}") for block in run]
