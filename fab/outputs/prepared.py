"""Arrangements that checks, files and book alike read, made once: nest, plates, template."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fab.design import Design
from fab.outputs import cut, prints, wall
from fab.outputs.nested import Nested, Search
from fab.prints.layercount import LayerCount
from fab.prints.mass import PrintUse
from fab.prints.model import Plate
from fab.products import Figures, PartSpec
from fab.wall.template import Template


@dataclass(frozen=True)
class Prepared:
    """The places of everything: parts on sheets, prints on plates, the wall on pages."""

    nested: Nested
    plates: tuple[Plate, ...]
    least_plates: int  # no plan needs fewer
    template: Template
    uses: Mapping[PartSpec, PrintUse]  # what one copy of each printed part uses up


def prepare(
    design: Design,
    made: Mapping[PartSpec, Figures],
    layers: Mapping[PartSpec, LayerCount],
    search: Search | None = None,
) -> Prepared:
    """Nest, plates, template and uses of a design.

    Raises for a rack, bed or paper that is too small.
    """
    return Prepared(
        cut.nested(design, search),
        *prints.arrange(design, made),
        wall.made_template(design),
        prints.uses(design, made, layers),
    )
