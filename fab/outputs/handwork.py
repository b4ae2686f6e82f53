"""Time of hands, stage by stage: counts of the job times minutes of the shop.

Machines run beside the hands: their hours are listed and not added.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields

from fab.design import Design
from fab.files.table import Cell, csv_bytes
from fab.outputs.line import PartsLine
from fab.outputs.model import OutFile
from fab.outputs.nested import total_seconds
from fab.outputs.prepared import Prepared
from fab.params.workparams import Minutes

# Stage to its works: key of the minutes, and its word for one and for several.
STAGES: Mapping[str, tuple[tuple[str, str, str], ...]] = {
    "Measure the machines": (("measure", "set of coupons", "sets of coupons"),),
    "Print": (("plate", "plate", "plates"), ("print_part", "printed part", "printed parts")),
    "Cut": (("sheet", "sheet", "sheets"), ("cut_part", "cut part", "cut parts")),
    "Boards": (
        ("board", "board", "boards"),
        ("led", "LED to solder", "LEDs to solder"),
        ("inlet", "inlet", "inlets"),
    ),
    "Put panels together": (
        ("panel", "panel", "panels"),
        ("screw", "screw or insert", "screws and inserts"),
    ),
    "Join": (
        ("joint", "joint", "joints"),
        ("clip", "clip or cap", "clips and caps"),
        ("jumper", "jumper", "jumpers"),
        ("wire", "data wire", "data wires"),
    ),
    "Hang": (
        ("page", "template page", "template pages"),
        ("hole", "hole", "holes"),
        ("lift", "wall to lift", "pieces to lift"),
        ("cable", "cable", "cables"),
    ),
    "Light": (("first_light", "zone", "zones"), ("address", "controller", "controllers")),
}
COLUMNS = ("stage", "work", "count", "minutes_each", "hands_minutes", "machine_minutes")


@dataclass(frozen=True)
class Work:
    """One kind of work of a stage."""

    word: str  # "9 panels"
    count: int
    minutes_each: float

    @property
    def minutes(self) -> float:
        """Minutes for all of it."""
        return self.count * self.minutes_each


@dataclass(frozen=True)
class Stage:
    """One stage of a build."""

    name: str
    works: tuple[Work, ...]  # only kinds of which there are any
    machine_min: float = 0.0  # that the printer or the laser runs meanwhile

    @property
    def minutes(self) -> float:
        """Of hands."""
        return math.fsum(work.minutes for work in self.works)


def stages(design: Design, prepared: Prepared, lines: Sequence[PartsLine]) -> tuple[Stage, ...]:
    """All stages in the order of the build; one without work is left out."""
    counts = _counts(design, prepared, lines)
    each = design.job.shop.minutes
    machine = {
        "Print": 60.0 * math.fsum(line.hours or 0.0 for line in lines),
        "Cut": total_seconds(prepared.nested) / 60.0,
    }
    found = []
    for name, works in STAGES.items():
        made = [
            Work(f"{counts[key]} {one if counts[key] == 1 else many}", counts[key], minutes)
            for key, one, many in works
            if counts[key] and (minutes := float(getattr(each, key))) > 0
        ]
        if made or machine.get(name):
            found.append(Stage(name, tuple(made), machine.get(name, 0.0)))
    return tuple(found)


def _counts(design: Design, prepared: Prepared, lines: Sequence[PartsLine]) -> dict[str, int]:
    """Number of times that each work is done, by the key of its minutes."""

    def of(*parts: str, sources: Sequence[str] = ("buy", "order", "print", "cut")) -> int:
        return sum(line.count for line in lines if line.part in parts and line.source in sources)

    counts = design.counts
    found = {
        "measure": 1,
        "plate": len(prepared.plates),
        "print_part": sum(line.count for line in lines if line.source == "print"),
        "sheet": prepared.nested.sheets,
        "cut_part": sum(line.count for line in lines if line.source == "cut"),
        "board": of("board"),
        "led": of("led"),
        "inlet": counts.inlets,
        "panel": counts.panels,
        "screw": of("screw", "insert", "clamp"),
        "joint": counts.joints,
        "clip": counts.clips + counts.caps,
        "jumper": counts.jumpers,
        "wire": len(design.route.wires),
        "page": prepared.template.page_count,
        "hole": counts.hangers,
        "lift": len(design.order.lifts),
        "cable": counts.inlets,
        "first_light": len(design.wired.zones),
        "address": of("controller"),
    }
    assert set(found) == {field.name for field in fields(Minutes)}
    return found


def total_minutes(some: Sequence[Stage]) -> float:
    """Of hands, for the whole build."""
    return math.fsum(stage.minutes for stage in some)


def clock(minutes: float) -> str:
    """A duration in words of a workshop: "45 min", "3 h 20 min"; to 5 minutes from an hour on."""
    whole = math.ceil(minutes - 1e-9)
    if whole < 60:
        return f"{whole} min"
    whole = 5 * math.ceil((minutes - 1e-9) / 5)
    hours, rest = divmod(whole, 60)
    return f"{hours} h {rest} min" if rest else f"{hours} h"


def files(some: Sequence[Stage]) -> list[OutFile]:
    """lists/hours.csv."""
    rows: list[tuple[Cell, ...]] = []
    for stage in some:
        for work in stage.works:
            rows.append(
                (
                    stage.name,
                    work.word.split(" ", 1)[1],
                    work.count,
                    work.minutes_each,
                    round(work.minutes, 2),
                    None,
                )
            )
        if stage.machine_min:
            word = "printer runs" if stage.name == "Print" else "laser runs"
            rows.append((stage.name, word, None, None, None, round(stage.machine_min, 1)))
    return [OutFile("lists/hours.csv", "list", csv_bytes(COLUMNS, rows), "hours")]
