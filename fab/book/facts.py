"""Facts that every chapter of the book reads: one design with all that was made of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fab.checks.model import Verdict
from fab.design import Design
from fab.files.table import Cell
from fab.outputs.handwork import Stage
from fab.outputs.line import PartsLine
from fab.outputs.nested import Nested
from fab.outputs.orders import Order
from fab.params.read import Loaded
from fab.prints.model import Plate
from fab.products import Figures, Made, PartSpec
from fab.wall.template import Template

Beside = Callable[..., Callable[[], bytes]]


@dataclass(frozen=True)
class BookFacts:
    """Inputs, choices, parts, verdicts and lists of one build."""

    loaded: Loaded
    design: Design
    made: Mapping[PartSpec, Figures]
    verdicts: Sequence[Verdict]
    allow: frozenset[str]
    nested: Nested
    plates: Sequence[Plate]
    lines: Sequence[PartsLine]
    addresses: Sequence[Mapping[str, Cell]]
    counts: Mapping[str, Any]
    template: Template
    # (what, of which part or design) to line drawing, page or picture
    pictures: Mapping[tuple[str, str], Any]
    meshes: Mapping[PartSpec, Made]  # what the view in three dimensions shows
    beside: Beside  # a call that other processes may make meanwhile
    wanted: Sequence[str]  # kinds of output of this build
    orders: Sequence[Order]
    stages: Sequence[Stage]
