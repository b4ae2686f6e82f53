"""What is arranged once and read by checks, files and book alike: nest, plates, template."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fab.decisions import Design
from fab.outputs import cut, prints, wall
from fab.outputs.cut import Nested, Search
from fab.prints.model import Plate
from fab.products import Made, PartSpec
from fab.wall.template import Template


@dataclass(frozen=True)
class Prepared:
    """Where everything lies: parts on sheets, prints on plates, the wall on pages."""

    nested: Nested
    plates: tuple[Plate, ...]
    template: Template


def prepare(design: Design, made: Mapping[PartSpec, Made], search: Search | None = None) -> Prepared:
    """Nest, plates and template of a design. Raises for a rack, bed or paper that is too small."""
    return Prepared(cut.nested(design, search), prints.arrange(design, made), wall.made_template(design))
