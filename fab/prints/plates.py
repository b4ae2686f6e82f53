"""Plates: all copies of all objects on as few runs of the printer as boxes and rows allow.

Same items, same plates.

Large objects first. Each kind goes in blocks of rows (`rows.py`) into the free rectangles of the
plates that are begun, then onto new ones. Free rectangles are the largest empty ones and may
overlap (the "maximal rectangles" of the bin-packing literature: J. Jylanki, A Thousand Ways to Pack
the Bin, 2010).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from fab.errors import CheckFailed
from fab.outlines.contour import Box, Point
from fab.params.shop import Printer
from fab.prints.model import Item, Placement, Plate
from fab.prints.rows import LEAST_GAP, Block, Corners, best_block, hull
from fab.units import fixed

_EPS = 1e-9


def plates(items: Sequence[Item], printer: Printer) -> tuple[Plate, ...]:
    """Every copy of every item on numbered plates, margin and gap kept, each plate's objects
    centred on the bed.

    Raises CheckFailed for objects that the printer can't hold, each with the smallest bed that
    works.
    """
    wanted = [item for item in items if item.count]
    too_large = [says for item in wanted if (says := why_too_large(item, printer))]
    if too_large:
        raise CheckFailed("\n".join(too_large))
    begun: list[_Bed] = []
    for group in _alike(wanted):
        _place(group, printer, begun)
    return tuple(_plate(number, bed, printer) for number, bed in enumerate(begun, start=1))


def why_too_large(item: Item, printer: Printer) -> str:
    """One sentence when an item does not fit the printer in any quarter turn, "" when it does."""
    x, y, z = item.box
    room_x, room_y = (side - 2 * printer.bed_margin for side in printer.bed)
    flat = (x <= room_x + _EPS and y <= room_y + _EPS) or (
        y <= room_x + _EPS and x <= room_y + _EPS
    )
    if flat and z <= printer.height + _EPS:
        return ""
    needs = []
    if not flat:
        bed = smallest_bed(item, printer)
        needs.append(
            f"a bed of [{fixed(bed[0], 1)}, {fixed(bed[1], 1)}] mm (printer.bed is"
            f" [{fixed(printer.bed[0], 1)}, {fixed(printer.bed[1], 1)}] with"
            f" {fixed(printer.bed_margin, 1)} mm kept free along its edge)"
        )
    if z > printer.height + _EPS:
        needs.append(f"a height of {_up(z)} mm (printer.height is {fixed(printer.height, 1)})")
    size = " x ".join(fixed(side, 1) for side in item.box)
    return (
        f"{item.name} is {size} mm and does not fit the printer: it needs {' and '.join(needs)}. "
        "Make the panel smaller, or print on a larger machine"
    )


def smallest_bed(item: Item, printer: Printer) -> Point:
    """The smallest bed that holds the item with the printer's margin, turned as the bed lies,
    rounded up to 0.1 mm.
    """
    x, y = (float(_up(side + 2 * printer.bed_margin)) for side in item.box[:2])
    if (printer.bed[0] - printer.bed[1]) * (x - y) < 0:
        x, y = y, x
    return (x, y)


def _up(value: float) -> str:
    """Rounded up to 0.1: what we say works must work."""
    return fixed(-((-value * 10 + 1e-6) // 1) / 10, 1)


@dataclass
class _Bed:
    """A plate in the making.

    `free` rectangles are in the bed less its margin, one gap wider to the right and up.
    """

    free: list[Box]
    placed: list[Placement]


@dataclass(frozen=True)
class _Group:
    """Items of one shape, in order."""

    corners: Corners
    items: tuple[Item, ...]


def _alike(items: Iterable[Item]) -> list[_Group]:
    """Groups of one shape, the largest first."""
    groups: dict[tuple[float, float, Corners], list[Item]] = {}
    for item in items:
        corners = _convex(item)
        groups.setdefault((round(item.box[0], 6), round(item.box[1], 6), corners), []).append(item)
    ordered = sorted(
        groups.items(), key=lambda entry: (-entry[0][0] * entry[0][1], -max(entry[0][:2]), entry[0])
    )
    return [
        _Group(corners, tuple(sorted(alike, key=lambda item: (item.part, item.name))))
        for (_, _, corners), alike in ordered
    ]


def _convex(item: Item) -> Corners:
    """The hull of the footprint, anticlockwise, to 1e-6 mm; the box when there is none, or when it
    is not whole.
    """
    x, y = item.box[:2]
    box = ((0.0, 0.0), (x, 0.0), (x, y), (0.0, y))
    if item.footprint is None or len(item.footprint) < 3:
        return box
    around = hull((round(px, 6) + 0.0, round(py, 6) + 0.0) for px, py in item.footprint)
    xs, ys = [px for px, _ in around], [py for _, py in around]
    whole = (
        len(around) > 2 and abs(max(xs) - min(xs) - x) < 1e-3 and abs(max(ys) - min(ys) - y) < 1e-3
    )
    return around if whole else box


def _place(group: _Group, printer: Printer, begun: list[_Bed]) -> None:
    copies = [item for item in group.items for _ in range(item.count)]
    gap = _gap(printer)
    done, at = 0, 0
    while done < len(copies):
        if at == len(begun):
            begun.append(_empty(printer))
        bed = begun[at]
        spot = _best(bed, group.corners, gap, len(copies) - done)
        if spot is None:
            at += 1
            continue
        (left, low, _, _), block = spot
        margin = printer.bed_margin
        for x, y, turn in block.spots:
            item = copies[done]
            done += 1
            bed.placed.append(
                Placement(
                    item.name,
                    item.part,
                    margin + left + x,
                    margin + low + y,
                    turn,
                    item.box,
                    item.low,
                )
            )
        bed.free = _without(bed.free, (left, low, left + block.wide + gap, low + block.deep + gap))


def _gap(printer: Printer) -> float:
    return max(printer.part_gap, LEAST_GAP)


def _empty(printer: Printer) -> _Bed:
    wide, deep = (side - 2 * printer.bed_margin + _gap(printer) for side in printer.bed)
    return _Bed([(0.0, 0.0, wide, deep)], [])


def _best(bed: _Bed, corners: Corners, gap: float, most: int) -> tuple[Box, Block] | None:
    """The free rectangle that takes the most copies; of equals the tightest, then the lowest, then
    the leftmost.
    """
    found: tuple[tuple[float, ...], Box, Block] | None = None
    for room in bed.free:
        wide, deep = room[2] - room[0] - gap, room[3] - room[1] - gap
        block = best_block(corners, gap, wide, deep, most)
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


def _without(free: list[Box], taken: Box) -> list[Box]:
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


def _plate(number: int, bed: _Bed, printer: Printer) -> Plate:
    """The plate with its objects moved to the bed's middle, where it is levelled and warm."""
    left, low = min(p.x for p in bed.placed), min(p.y for p in bed.placed)
    right, top = max(p.x + p.size[0] for p in bed.placed), max(p.y + p.size[1] for p in bed.placed)
    dx, dy = (printer.bed[0] - left - right) / 2, (printer.bed[1] - low - top) / 2
    placed = tuple(
        Placement(p.name, p.part, round(p.x + dx, 6), round(p.y + dy, 6), p.turn_deg, p.box, p.low)
        for p in bed.placed
    )
    return Plate(number, printer.bed, placed)
