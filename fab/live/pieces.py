"""The page's pieces beside the wall, shown as they are made: section, sheets, light, 3D view."""

from __future__ import annotations

import base64
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from fab.book import glance
from fab.book.scene import scene, shown
from fab.book.viewthings import Wall
from fab.design import Design
from fab.files.document import Picture
from fab.files.pagesvg import page_fragment
from fab.outlines.page import Page
from fab.outputs import sheetpictures
from fab.recipe.pictures import sections, viewed

if TYPE_CHECKING:
    from fab.recipe.job import Recipe

SECTION, SHEETS, LIGHT, SOLID = "section", "sheets", "light", "solid"


@dataclass(frozen=True)
class PagePiece:
    """All pictures of one view."""

    view: str
    pictures: tuple[dict[str, Any], ...] = ()
    scene: str = ""  # JSON of the view in three dimensions


def counts(design: Design) -> dict[str, Any]:
    """Counts of all that is decided."""
    return asdict(design.counts)


def all_of(recipe: Recipe) -> Iterator[PagePiece]:
    """The views, the quick ones first."""
    design = recipe.design
    lit = design.lit_designs
    pages = sheetpictures.pages(design.job.job, recipe.prepared.nested)
    sheets = [_drawn(f"sheet-{k}", page, page.title) for k, (_, page) in enumerate(pages, 1)]
    yield PagePiece(SHEETS, tuple(sheets))
    run = recipe.run
    drawn = []
    for d, name in enumerate(lit, 1):
        cuts = run.value(sections(recipe.parts, design, name))
        of = "" if len(lit) == 1 else f"{name}: "
        drawn += [
            _drawn(f"section-{d}-{k}", cut, f"{of}{cut.title}") for k, cut in enumerate(cuts, 1)
        ]
    yield PagePiece(SECTION, tuple(drawn))
    bought = {name: run.value(viewed(recipe.parts, design, name)) for name in design.plans}
    wall = Wall(design, recipe.meshes(shown(design)), bought, recipe.listed.lines, ())
    yield PagePiece(SOLID, scene=scene(wall))
    products, pictures = recipe.shown, []
    for key in (("light", ""), *(("light", name) for name in lit)):
        if key in products:
            pictures += _light(key[1], run.value(products[key]))
    yield PagePiece(LIGHT, tuple(pictures))


def rows(recipe: Recipe) -> glance.Rows:
    """The figures of sheets, plates and prices."""
    listed = recipe.listed
    hours = sum(line.hours or 0.0 for line in listed.lines)
    cost = sum(line.cost or 0.0 for line in listed.lines)
    money = ("Sheets and filament", f"{cost:.2f} {recipe.design.job.shop.currency}")
    return (*glance.made(listed.counts, hours), money)


def _drawn(name: str, page: Page, title: str) -> dict[str, Any]:
    svg = page_fragment(page, f"{name}-")
    return {"name": name, "title": title, "svg": svg, "wide": page.width}


def _light(design: str, found: Any) -> list[dict[str, Any]]:
    """The lit wall, or face, heat map, cut and curve of a design."""
    if isinstance(found, Picture):
        return [_photo("light-wall", found)]
    face, pages = found
    named = [_drawn(f"light-{design}-{k}", page, page.title) for k, page in enumerate(pages, 1)]
    return [_photo(f"light-{design}-0", face), *named]


def _photo(name: str, picture: Picture) -> dict[str, Any]:
    return {
        "name": name,
        "title": picture.caption,
        "says": picture.says,
        "png": base64.b64encode(picture.png).decode(),
        "width": picture.width,
        "height": picture.height,
    }
