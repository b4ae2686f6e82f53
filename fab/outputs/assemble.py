"""Counts and lists of a build, and its files that need no solid, kind by kind."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from fab.design import Design
from fab.files.table import Cell
from fab.outputs import art, board, brief, cut, handwork, lists, orders, pixels, sheetpictures, wall
from fab.outputs.line import PartsLine
from fab.outputs.model import OutFile
from fab.outputs.prepared import Prepared


@dataclass(frozen=True)
class Listed:
    """Counts and lists: what files and book tell alike."""

    counts: dict[str, Any]
    lines: tuple[PartsLine, ...]
    addresses: tuple[dict[str, Cell], ...]
    orders: tuple[orders.Order, ...]
    stages: tuple[handwork.Stage, ...]


def counted(design: Design, prepared: Prepared) -> dict[str, Any]:
    """All counts of the manifest."""
    return asdict(design.counts) | {
        "sheets": prepared.nested.sheets,
        "plates": len(prepared.plates),
        "plates_least": prepared.least_plates,
    }


def listed(design: Design, prepared: Prepared) -> Listed:
    """Everything that is counted and listed of a build; no file is made."""
    lines = lists.parts(design, prepared.uses, prepared.nested.sheets_of)
    return Listed(
        counted(design, prepared),
        tuple(lines),
        tuple(lists.addresses(design)),
        orders.orders(lines, design.job.shop),
        handwork.stages(design, prepared, lines),
    )


def drawn(kind: str, design: Design, prepared: Prepared, tables: Listed) -> list[OutFile]:
    """The files of a kind that is drawn or written from values alone, read back."""
    nested = prepared.nested
    if kind == "cut":
        return cut.files(design, nested) + sheetpictures.files(design.job.job, nested)
    if kind == "wall":
        return wall.files(design, prepared.template)
    if kind == "board":
        return board.files(design) + brief.files(design)
    assert kind == "lists"
    found = lists.files(design, tables.lines, tables.addresses) + cut.offcut_files(
        design.job.job, nested
    )
    found += orders.files(tables.orders, design.job.shop.currency)
    found += handwork.files(tables.stages)
    return found + art.files(design) + pixels.files(design, design.route)
