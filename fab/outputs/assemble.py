"""All files of a build but the book, kind by kind, from one design and its parts."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from fab.decisions import Design
from fab.files.table import Cell
from fab.outputs import art, board, brief, cut, lists, models, pixels, prints, sheetpictures, wall
from fab.outputs.model import OutFile
from fab.outputs.prepared import Prepared
from fab.products import Made, PartSpec
from fab.store import Store


@dataclass(frozen=True)
class Listed:
    """Counts and lists: what files and book tell alike."""

    counts: dict[str, Any]
    lines: tuple[lists.Line, ...]
    addresses: tuple[dict[str, Cell], ...]


def counted(design: Design, prepared: Prepared) -> dict[str, Any]:
    """All counts of the manifest."""
    return asdict(design.counts) | {"sheets": len(prepared.nested.layups), "plates": len(prepared.plates)}


def listed(design: Design, made: Mapping[PartSpec, Made], prepared: Prepared) -> Listed:
    """Everything that is counted and listed of a build; no file is made."""
    lines = lists.parts(design, prepared.uses, prepared.nested.sheets_of)
    return Listed(counted(design, prepared), tuple(lines), tuple(lists.addresses(design)))


def assemble(
    design: Design, made: Mapping[PartSpec, Made], prepared: Prepared, tables: Listed, wanted: Sequence[str],
    store: Store, stage: Callable[[str, float], None],
) -> list[OutFile]:  # fmt: skip
    """Every file of the wanted kinds but the book, read back."""
    files: list[OutFile] = []
    nested = prepared.nested
    if "print" in wanted:
        stage("print", 0.7)
        files += prints.files(design, made, prepared.plates, store)
    if "model" in wanted:
        stage("model", 0.75)
        files += models.files(design, made, store)
    if "cut" in wanted:
        stage("cut", 0.8)
        files += cut.files(design, nested) + sheetpictures.files(design.job.job, nested)
    if "wall" in wanted:
        stage("wall", 0.83)
        files += wall.files(design, prepared.template)
    if "board" in wanted:
        stage("board", 0.86)
        files += board.files(design) + brief.files(design)
    if "lists" in wanted:
        stage("lists", 0.88)
        files += lists.files(design, tables.lines, tables.addresses) + cut.offcut_files(design.job.job, nested) + art.files(design)
        files += pixels.files(design, design.route)
    return files
