"""All files of a build, kind by kind, from one design and its parts."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from fab.decisions import Design
from fab.files.table import Cell
from fab.outputs import board, cut, lists, models, prints, wall
from fab.outputs.model import OutFile
from fab.prints.model import Plate
from fab.products import Made, PartSpec
from fab.store import Store
from fab.wall.template import Template


@dataclass(frozen=True)
class Assembled:
    """Files and counts, and what the book is written from."""

    files: tuple[OutFile, ...]
    counts: dict[str, Any]
    nested: cut.Nested
    plates: tuple[Plate, ...]
    lines: tuple[lists.Line, ...]
    addresses: tuple[dict[str, Cell], ...]
    template: Template


def assemble(
    design: Design, made: Mapping[PartSpec, Made], wanted: Sequence[str], store: Store, stage: Callable[[str, float], None]
) -> Assembled:
    """Every file of the wanted kinds but the book, read back."""
    stage("nest", 0.55)
    nested = cut.nested(design)
    plates = prints.arrange(design, made)
    template = wall.made_template(design)
    files: list[OutFile] = []
    if "print" in wanted:
        stage("print", 0.6)
        files += prints.files(design, made, plates, store)
    if "model" in wanted:
        stage("model", 0.65)
        files += models.files(design, made, store)
    if "cut" in wanted:
        stage("cut", 0.72)
        files += cut.files(design, nested)
    if "wall" in wanted:
        stage("wall", 0.76)
        files += wall.files(design, template)
    if "board" in wanted:
        stage("board", 0.8)
        files += board.files(design)
    lines = lists.parts(design, made, nested.sheets_of)
    addresses = lists.addresses(design)
    if "lists" in wanted:
        stage("lists", 0.82)
        files += lists.files(design, lines, addresses) + cut.offcut_files(design, nested)
    counts = asdict(design.counts) | {"sheets": len(nested.layups), "plates": len(plates)}
    return Assembled(tuple(files), counts, nested, plates, tuple(lines), tuple(addresses), template)
