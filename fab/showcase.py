"""Pictures for a page about a wall, from the same makers as the book's."""

from __future__ import annotations

from fab import workshop
from fab.book.drawings import exploded_of
from fab.book.pictures import shown_panel, wall_page
from fab.files.pagesvg import page_svg
from fab.params.read import Loaded
from fab.recipe.pictures import exploded

NAMES = ("wall.svg", "panel.svg")


def showcase(loaded: Loaded) -> dict[str, bytes]:
    """wall.svg and panel.svg."""
    with workshop.run_of(workshop.open_store()) as run:
        recipe = workshop.recipe_of(loaded, run, ())
        art = run.value(exploded(recipe.parts, recipe.design, shown_panel(recipe.design).design))
    pages = (wall_page(recipe.design, 200.0, 120.0), exploded_of(art, 90.0))
    return {name: page_svg(page) for name, page in zip(NAMES, pages, strict=True)}
