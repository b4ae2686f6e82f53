"""Cells of a new job inside a drawn outline: reading and refusing it, the search, its result."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fab.cli.words import length_word
from fab.errors import Fault, InputError, refused
from fab.params.files import read_bytes
from fab.params.new_job import MOST_PANELS, SIZES, design_of
from fab.params.quoting import clean, show
from fab.params.wallmap import At
from fab.units import fixed, some

MOST_BYTES = 20_000_000
MOST_MESHES = 4_000  # cells whose places are searched; more than can be built
_SIZED = re.compile(
    rb"""<(?:\w+:)?svg\b[^>]*?\b(?:width|height)\s*=\s*"""
    rb"""["']\s*[0-9.eE+-]+\s*(?:mm|cm|in|pt|pc|q)\s*["']""",
    re.I,
)
_SVG = re.compile(rb"<(?:\w+:)?svg\b", re.I)


@dataclass(frozen=True)
class Inside:
    """Cells inside an outline, and what the maker should know."""

    cells: tuple[At, ...]
    turn_deg: float
    notes: tuple[str, ...]
    told: dict[str, Any]  # the same figures for machines


def cells_within(
    path: Path, shape: str, size: str, folder: Path, *, margin: str, width: str, turn: str
) -> Inside:
    """The most cells wholly inside the outlines of a DXF or SVG, `margin` from its lines.

    `width`: how wide the outlines really are together, when the file does not say or says it wrong.
    `turn`: degrees of
    the lattice, or "best". Raises InputError when the outline can't be used, or no panel fits.
    """
    from fab.layout.within import fill, turns_to_try
    from fab.parts.plan import cell_of

    margin_mm = length_word("--margin", margin)
    if not 0 <= margin_mm <= 10_000:
        raise refused(
            f"{fixed(margin_mm)} mm is out of range.", "Allowed: 0 to 10000 mm.", key="--margin"
        )
    cell = cell_of(design_of(shape, size, folder))
    region, notes = _region(path, width)
    room = _shrunk(region, margin_mm)
    turns = turns_to_try(room, cell.sides) if turn == "best" else [_degrees(turn)]
    area = cell.sides * cell.apothem * cell.edge / 2
    if room.area > MOST_MESHES * area:
        left, low, right, high = region.bounds
        says = (
            f"the outline is {fixed(right - left, 0)} x {fixed(high - low, 0)} mm: room for "
            f"more than {MOST_PANELS:,} panels."
        )
        raise refused(
            says,
            "Is its unit right? Give its real width with --width, or a larger --size.",
            where=clean(str(path)),
        )
    found = fill(room, cell, turns)
    if not found.cells:
        raise InputError([_nothing(path, region, room, cell, turns, shape, margin_mm)])
    if len(found.cells) > MOST_PANELS:
        says = f"{some(len(found.cells), 'panel')} fit inside; the maximum is {MOST_PANELS:,}."
        raise refused(says, "Give a larger --size or --margin.", where=clean(str(path)))
    left, low, right, high = region.bounds
    rest = region.area - len(found.cells) * area
    origin = (left - found.offset[0], low - found.offset[1])
    told = {
        "panels": len(found.cells),
        "turn_deg": found.turn_deg,
        "groups": found.groups,
        "left_over_mm2": round(rest),
        "covered": round(1 - rest / region.area, 3),
        "outline_at": [round(value, 2) for value in origin],
    }
    notes += [
        f"Inside {clean(path.name)} ({fixed(right - left, 0)} x {fixed(high - low, 0)} mm): "
        f"{some(len(found.cells), shape)}"
        + (f" with the wall turned by {fixed(found.turn_deg)} degrees" if found.turn_deg else "")
        + f", {fixed(100 - 100 * rest / region.area, 0)} % of its area; left over: "
        f"{fixed(rest / 100, 0)} cm².",
        (
            f"The lower left corner of the outline's box lies at [{fixed(origin[0], 1)}, "
            f"{fixed(origin[1], 1)}] of the wall frame."
        ),
    ]
    if found.groups > 1:
        notes.append(
            f"They are in {found.groups} groups that do not touch: the job says groups = "
            f'"separate", and each group needs its own inlet.'
        )
    return Inside(found.cells, found.turn_deg, tuple(notes), told)


def _region(path: Path, width: str) -> tuple[Any, list[str]]:
    """All closed outlines of a drawing with holes, as a shapely region in mm, and reading notes."""
    import shapely

    from fab.files.read_outline import read_outline
    from fab.outlines.facets import to_shapely
    from fab.outlines.loops import join

    name = clean(str(path))
    data = read_bytes(path, name, most=MOST_BYTES, suffixes=(".svg", ".dxf"))
    loose = read_outline(data, name)
    sized = not _SVG.search(data[:4096]) or _SIZED.search(data[:65536])
    if not sized and not width:
        works = "Give its real width: --width 900, or --width '3 ft'."
        raise refused(
            "the SVG states its size in pixels only, not in mm, cm or inches.", works, where=name
        )
    try:
        found = join(loose.segments)
    except InputError as error:
        raise InputError(
            [Fault(fault.key, fault.says, fault.works, where=name) for fault in error.faults]
        ) from None
    if not found.outlines or found.opens:
        says = "; ".join(str(run) for run in found.opens[:3]) or "there is no closed line in it"
        raise refused(
            f"the outline is not closed: {says}.", "Join the two ends in the drawing.", where=name
        )
    region = shapely.union_all([to_shapely(outline, outside=False) for outline in found.outlines])
    left, _, right, _ = region.bounds
    if width:
        wanted = length_word("--width", width)
        if not 1 <= wanted <= 100_000:
            raise refused(
                f"{fixed(wanted)} mm is out of range.", "Allowed: 1 to 100000 mm.", key="--width"
            )
        region = shapely.transform(region, lambda points: points * (wanted / (right - left)))
        return region, [note for note in loose.notes if "taken as" not in note]
    return region, list(loose.notes)


def _shrunk(region: Any, margin_mm: float) -> Any:
    from fab.outlines.buffers import buffered

    return buffered(region, -margin_mm) if margin_mm else region


def _degrees(word: str) -> float:
    try:
        value = float(word)
    except ValueError:
        value = math.nan
    if not abs(value) <= 360:
        raise refused(
            f"{show(word)} is not a turn.", "Write degrees (30), or the word best.", key="--turn"
        )
    return value


def _nothing(
    path: Path, region: Any, room: Any, cell: Any, turns: list[float], shape: str, margin_mm: float
) -> Fault:
    """No panel fits: the largest that would, tried, or how much larger the outline must be."""
    from fab.layout.model import Cell
    from fab.layout.within import fill, largest

    name = clean(str(path))
    left, low, right, high = region.bounds
    box = f"{fixed(right - left, 1)} x {fixed(high - low, 1)} mm"
    if room.is_empty:
        return Fault(
            "",
            f"with a margin of {fixed(margin_mm)} mm nothing is left of the outline of {box}.",
            "Give a smaller --margin.",
            where=name,
        )
    share = largest(room, cell, turns)
    usual = 2 * cell.apothem if SIZES[shape] == "across_flats" else cell.edge
    size = math.floor(usual * share)
    says = f"no {shape} of {fixed(usual)} mm lies inside the outline of {box}."
    times = math.ceil(100 / share) / 100 if share > 0 else 0.0
    larger = f"draw it {fixed(times, 2)} times as large" if times else "draw it larger"
    if size >= 5 and fill(room, Cell(cell.sides, cell.apothem * size / usual), turns).cells:
        return Fault("", says, f"The largest that fits: --size {size}; or {larger}.", where=name)
    return Fault("", says, f"{larger[0].upper()}{larger[1:]}.", where=name)
