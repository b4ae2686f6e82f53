"""Plates: all copies of all objects on as few runs of the printer as are found.

Same items, same plates. What fits the bed only turned is turned, by any angle. Where rows of each
kind take more plates than `bounds.least_plates` says, plates of large objects of several kinds are
tried (`mixed.py`), and the way with the fewest plates is taken.

Large objects first. Each kind goes in blocks of rows (`rows.py`) into the free rectangles of the
plates that are begun, then onto new ones.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice, permutations

from fab.errors import CheckFailed
from fab.outlines.contour import Point
from fab.outlines.hull import hull
from fab.params.shop import Printer
from fab.prints.bounds import least_plates
from fab.prints.free import Bed, best_spot, empty_bed, gap_of, room_of, without
from fab.prints.mixed import TrialBudget, fill
from fab.prints.model import Item, Placement, Plate
from fab.prints.rows import Corners, turned_to_zero
from fab.prints.turns import best_turn, left_over
from fab.units import fixed

MOST_MIXED = 400  # copies of which mixed plates are tried
MOST_ORDERS = 24  # of large kinds
MOST_WORK = 1_500  # about half a second
LARGE_SHARE = 0.06  # of the bed, from which an object counts as large
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
    groups = _alike(wanted, printer)
    begun = _in_rows(groups, printer, [])
    least, _ = bound(wanted, printer)
    if len(begun) > least and sum(item.count for item in wanted) <= MOST_MIXED:
        work = TrialBudget(MOST_WORK)
        for order in _orders(groups, printer):
            other = _mixed(order, groups, printer, len(begun), work)
            if other is not None:
                begun = other
            if len(begun) == least or work.left < 0:
                break
    return tuple(_plate(number, bed, printer) for number, bed in enumerate(begun, start=1))


def bound(items: Sequence[Item], printer: Printer) -> tuple[int, str]:
    """The least number of plates, and the argument that proves it, "area" or "pairs"."""
    wanted = Counter[Corners]()
    for item in items:
        wanted[_convex(item)] += item.count
    return least_plates(
        sorted((shape, count) for shape, count in wanted.items() if count),
        gap_of(printer),
        *room_of(printer),
    )


def why_too_large(item: Item, printer: Printer) -> str:
    """One sentence when an item does not fit the printer at any turn, "" when it does."""
    z, room = item.box[2], room_of(printer)
    flat = min(room) > 0 and best_turn(_convex(item), *room)[1] >= -_EPS
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
        f"{item.name} is {size} mm and does not fit the printer: it needs {' and '.join(needs)}."
        " Make the panel smaller, or use a larger printer"
    )


def smallest_bed(item: Item, printer: Printer) -> Point:
    """The smaller of two beds that hold the item with the printer's margin, rounded up to 0.1 mm:
    one as large as its box, turned as the bed lies, and the printer's own with what it lacks.
    """
    x, y = (float(_up(side + 2 * printer.bed_margin)) for side in item.box[:2])
    if (printer.bed[0] - printer.bed[1]) * (x - y) < 0:
        x, y = y, x
    lacks = max(-best_turn(_convex(item), *room_of(printer))[1], 0.0)
    wide, deep = (float(_up(side + lacks)) for side in printer.bed)
    return min((x, y), (wide, deep), key=lambda bed: (bed[0] * bed[1], bed))


def _up(value: float) -> str:
    """Rounded up to 0.1: what we say works must work."""
    return fixed(-((-value * 10 + 1e-6) // 1) / 10, 1)


@dataclass(frozen=True)
class _Group:
    """Items of one shape, in order; `turn_deg`: how it has to be turned to fit the bed, 0 where
    quarter turns do; `corners` are turned so.
    """

    corners: Corners
    items: tuple[Item, ...]
    turn_deg: float

    @property
    def copies(self) -> list[Item]:
        return [item for item in self.items for _ in range(item.count)]


def _alike(items: Iterable[Item], printer: Printer) -> list[_Group]:
    """Groups of one shape, the largest first."""
    groups: dict[tuple[float, float, Corners], list[Item]] = {}
    for item in items:
        corners = _convex(item)
        groups.setdefault((round(item.box[0], 6), round(item.box[1], 6), corners), []).append(item)
    ordered = sorted(
        groups.items(), key=lambda entry: (-entry[0][0] * entry[0][1], -max(entry[0][:2]), entry[0])
    )
    found = []
    for (_, _, corners), alike in ordered:
        quarter = max(left_over(corners, *room_of(printer), turn) for turn in (0.0, 90.0)) >= -_EPS
        turn = 0.0 if quarter else best_turn(corners, *room_of(printer))[0]
        same = tuple(sorted(alike, key=lambda item: (item.part, item.name)))
        found.append(_Group(turned_to_zero(corners, turn), same, turn))
    return found


def _in_rows(groups: Sequence[_Group], printer: Printer, begun: list[Bed]) -> list[Bed]:
    """Group after group in rows onto the plates that are begun, then onto new ones."""
    for group in groups:
        _place(group, group.copies, printer, begun)
    return begun


def _orders(groups: Sequence[_Group], printer: Printer) -> Iterator[tuple[int, ...]]:
    """Large groups, by number, in the orders in which plates are filled with them."""
    wide, deep = room_of(printer)
    large = [
        k
        for k, group in enumerate(groups)
        if max(x for x, _ in group.corners) * max(y for _, y in group.corners)
        > LARGE_SHARE * wide * deep
    ]
    for order in islice(permutations(large), MOST_ORDERS):
        if order:
            yield order


def _mixed(
    order: Sequence[int], groups: Sequence[_Group], printer: Printer, most: int, work: TrialBudget
) -> list[Bed] | None:
    """Plates of large objects, mixed, with the rest in rows beside them; None unless they are fewer
    than `most`.
    """
    gap, margin, room = gap_of(printer), printer.bed_margin, room_of(printer)
    left = {k: groups[k].copies[::-1] for k in order}
    begun: list[Bed] = []
    while any(left.values()):
        counts = [len(left[k]) for k in order]
        filled = fill([groups[k].corners for k in order], counts, gap, *room, work)
        if work.left < 0:
            return None
        used = Counter(order[one.kind] for one in filled)
        times = min(len(left[k]) // used[k] for k in used)
        if len(begun) + times >= most:
            return None
        for _ in range(times):
            bed = empty_bed(printer)
            for one in filled:
                group = groups[order[one.kind]]
                item = left[order[one.kind]].pop()
                turn = (group.turn_deg + one.turn_deg) % 360.0
                bed.placed.append(_placed(item, margin + one.x, margin + one.y, turn))
                wide, deep = max(x for x, _ in one.corners), max(y for _, y in one.corners)
                taken = (one.x, one.y, one.x + wide + gap, one.y + deep + gap)
                bed.free = without(bed.free, taken)
            begun.append(bed)
    rest = [group for k, group in enumerate(groups) if k not in order]
    begun = _in_rows(rest, printer, begun)
    return begun if len(begun) < most else None


def _placed(item: Item, x: float, y: float, turn_deg: float) -> Placement:
    corners = _convex(item) if turn_deg % 90.0 else None
    return Placement(item.name, item.part, x, y, turn_deg, item.box, item.low, corners)


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


def _place(group: _Group, copies: Sequence[Item], printer: Printer, begun: list[Bed]) -> None:
    gap, margin = gap_of(printer), printer.bed_margin
    done, at = 0, 0
    while done < len(copies):
        if at == len(begun):
            begun.append(empty_bed(printer))
        bed = begun[at]
        spot = best_spot(bed, group.corners, gap, len(copies) - done)
        if spot is None:
            at += 1
            continue
        (left, low, _, _), block = spot
        for x, y, turn in block.spots:
            way = (group.turn_deg + turn) % 360.0
            bed.placed.append(_placed(copies[done], margin + left + x, margin + low + y, way))
            done += 1
        bed.free = without(bed.free, (left, low, left + block.wide + gap, low + block.deep + gap))


def _plate(number: int, bed: Bed, printer: Printer) -> Plate:
    """The plate with its objects moved to the bed's middle, where it is levelled and warm."""
    left, low = min(p.x for p in bed.placed), min(p.y for p in bed.placed)
    right, top = max(p.x + p.size[0] for p in bed.placed), max(p.y + p.size[1] for p in bed.placed)
    dx, dy = (printer.bed[0] - left - right) / 2, (printer.bed[1] - low - top) / 2
    placed = tuple(replace(p, x=round(p.x + dx, 6), y=round(p.y + dy, 6)) for p in bed.placed)
    return Plate(number, printer.bed, placed)
