"""A plate in the making: what lies on it, and the rectangles that are still free.

Free rectangles are the largest empty ones and may overlap (the "maximal rectangles" of the
bin-packing literature: J. Jylanki, A Thousand Ways to Pack the Bin, 2010).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from fab.outlines.contour import Box, Point
from fab.params.shop import Printer
from fab.prints.model import Placement
from fab.prints.rows import LEAST_GAP, Block, Corners, area, best_block

_EPS = 1e-9


@dataclass
class Bed:
    """A plate in the making.

    `free` rectangles are in the bed less its margin, one gap wider to the right and up.
    """

    free: list[Box]
    placed: list[Placement]


def room_of(printer: Printer) -> Point:
    """Width and depth of the bed inside its margin, mm."""
    return (printer.bed[0] - 2 * printer.bed_margin, printer.bed[1] - 2 * printer.bed_margin)


def gap_of(printer: Printer) -> float:
    """Gap between objects on a plate, mm: the printer's, but never less than LEAST_GAP."""
    return max(printer.part_gap, LEAST_GAP)


def empty_bed(printer: Printer) -> Bed:
    """A bed with nothing on it.

    One gap is added to width and depth, because each object takes its own gap at its right and top.
    """
    wide, deep = (side - 2 * printer.bed_margin + gap_of(printer) for side in printer.bed)
    return Bed([(0.0, 0.0, wide, deep)], [])


def best_spot(bed: Bed, corners: Corners, gap: float, most: int) -> tuple[Box, Block] | None:
    """The free rectangle that takes the most copies; of equals the tightest, then the lowest, then
    the leftmost.
    """
    found: tuple[tuple[float, ...], Box, Block] | None = None
    size = max(area(corners), 1e-6)
    for room in bed.free:
        wide, deep = room[2] - room[0] - gap, room[3] - room[1] - gap
        # no more copies than the room's area takes are asked for, so that equal rooms are equal
        # questions
        room_for = max(1, math.floor(wide * deep / size) + 1)
        block = best_block(corners, gap, wide, deep, min(most, room_for))
        if block is None:
            continue
        slack = min(wide - block.wide, deep - block.deep)
        score = (
            -len(block.spots),
            round(block.wide * block.deep, 6),
            round(slack, 6),
            room[1],
            room[0],
            *room[2:],
        )
        if found is None or score < found[0]:
            found = (score, room, block)
    return (found[1], found[2]) if found else None


def without(free: list[Box], taken: Box) -> list[Box]:
    """The largest rectangles that stay free."""
    cut: list[Box] = []
    for room in free:
        beside = taken[0] >= room[2] - _EPS or taken[2] <= room[0] + _EPS
        if beside or taken[1] >= room[3] - _EPS or taken[3] <= room[1] + _EPS:
            cut.append(room)
            continue
        if taken[0] > room[0] + _EPS:
            cut.append((room[0], room[1], taken[0], room[3]))
        if taken[2] < room[2] - _EPS:
            cut.append((taken[2], room[1], room[2], room[3]))
        if taken[1] > room[1] + _EPS:
            cut.append((room[0], room[1], room[2], taken[1]))
        if taken[3] < room[3] - _EPS:
            cut.append((room[0], taken[3], room[2], room[3]))
    cut = sorted(set(cut))
    return [one for one in cut if not any(one != other and _holds(other, one) for other in cut)]


def _holds(outer: Box, inner: Box) -> bool:
    return (
        outer[0] <= inner[0] + _EPS
        and outer[1] <= inner[1] + _EPS
        and outer[2] >= inner[2] - _EPS
        and outer[3] >= inner[3] - _EPS
    )
