"""Pictures for a page about a wall, from the same makers as the book's."""

from __future__ import annotations

from fab import workshop
from fab.book.drawings import exploded_of
from fab.book.pictures import shown_panel, wall_page
from fab.files.pagesvg import page_svg
from fab.params.read import Loaded

NAMES = ("wall.svg", "panel.svg")


def showcase(loaded: Loaded) -> dict[str, bytes]:
    """wall.svg and panel.svg."""
    store = workshop.open_store()
    design = workshop.design_of(loaded, store)
    made = workshop.parts_of(design, store).made
    first = shown_panel(design).design
    pages = (wall_page(design, 200.0, 120.0), exploded_of(design, made, store, first, 90.0))
    return {name: page_svg(page) for name, page in zip(NAMES, pages, strict=True)}
