"""Faults of where panels are placed: in the drawing, and one by one."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from fab.params.designs import is_main
from fab.params.job import Job, PlacedParams
from fab.params.quoting import near, show

if TYPE_CHECKING:
    from fab.params.wallmap import DrawnPanel

Path = tuple[str | int, ...]
_Found = Iterator[tuple[Path, str, str]]


def map_faults(job: Job, sound: Callable[[Path], bool]) -> _Found:
    """Faults of a drawn wall, each with its row and column; the path ends with the row, from 0."""
    at, sides = ("layout", "map"), job.panel.sides
    if not job.layout.map or not all(
        sound(path) for path in (at, ("panel", "sides"), ("panel", "extends"))
    ):
        return
    from fab.params.wallmap import LATTICE_SIDES, read_map

    if job.layout.cells and sound(("layout", "cells")):
        yield (
            at,
            "the wall is given twice: drawn here, and listed in cells.",
            "Keep one of the two.",
        )
    if sides not in LATTICE_SIDES:
        works = "Place them one by one: [[layout.panel]] with `on` and `edge`."
        yield at, f"panels with {sides} sides cannot be drawn: they do not fill a lattice.", works
        return
    for fault in read_map(job.layout.map, sides).faults:
        says = f"row {fault.row + 1}, column {fault.column + 1}: {fault.says}"
        yield (*at, fault.row), says, fault.works


def panel_faults(job: Job, sound: Callable[[Path], bool]) -> _Found:
    """Faults of panels placed one by one: unknown design, no place, place or name twice."""
    layout = job.layout
    if not layout.map and not layout.cells and not layout.panel and sound(("layout",)):
        yield (
            ("layout",),
            "no panel is placed.",
            'Draw the wall, a letter a panel: layout.map = "A B".',
        )
    if not sound(("layout", "panel")):
        return
    on_map: tuple[DrawnPanel, ...] = ()
    if layout.map:
        from fab.params.wallmap import drawn

        on_map = drawn(layout.map, job.panel.sides)
    cells = {panel.cell for panel in on_map}
    names = {panel.name.casefold(): panel.name for panel in on_map if panel.name}
    designed: set[str] = set()
    for place, panel in enumerate(layout.panel):
        at = ("layout", "panel", place)
        yield from _design(job, at, panel, sound)
        if (
            panel.cell is None
            and not panel.on
            and panel.name in names.values()
            and panel.name not in designed
        ):
            designed.add(panel.name)
            if panel.design in job.designs and job.design(panel.design).sides != job.panel.sides:
                works = (
                    "Remove it from the map and place it with `on`: all panels of a map have"
                    f" {job.panel.sides} sides."
                )
                yield (
                    (*at, "design"),
                    f"panel {panel.name} is drawn in the map as a {job.panel.sides}-sided one.",
                    works,
                )
            continue
        if panel.cell is None and not panel.on:
            yield (
                at,
                "the panel has no position.",
                'Write cell = [0, 0], or on = "A" with edge = 2.',
            )
        elif panel.cell is not None and panel.on:
            yield (
                (*at, "on"),
                "a panel has either a cell or a panel that it sits on, not both.",
                "Take `cell` or `on` out.",
            )
        if panel.cell is not None and panel.cell in cells:
            works = "Give each panel its own cell."
            yield (*at, "cell"), f"{show(list(panel.cell))} is the cell of two panels.", works
        if panel.cell is not None:
            cells.add(panel.cell)
        if panel.name and panel.name.casefold() in names:
            other = names[panel.name.casefold()]
            twice = f"{show(panel.name)} is the name of two panels."
            alike = f"{show(panel.name)} and {show(other)} differ in capitals only."
            yield (
                (*at, "name"),
                twice if other == panel.name else alike,
                f"For example {show(panel.name + '2')}.",
            )
        if panel.name:
            names.setdefault(panel.name.casefold(), panel.name)


def _design(job: Job, at: Path, panel: PlacedParams, sound: Callable[[Path], bool]) -> _Found:
    """A design that is not there, or has fewer edges."""
    main = is_main(panel.design)
    if not main and panel.design not in job.designs:
        if sound(("designs",)):
            works = near(panel.design, job.designs, "designs")
            yield (*at, "design"), f"{show(panel.design)} is an unknown design.", works
        return
    sides = job.design(panel.design).sides
    if panel.own_edge >= sides and sound(
        (*(("panel",) if main else ("designs", panel.design)), "sides")
    ):
        says = f"a panel with {sides} sides has no edge {panel.own_edge}."
        yield (*at, "own_edge"), says, f"Edges are 0 to {sides - 1}."
