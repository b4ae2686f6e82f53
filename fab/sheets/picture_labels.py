"""Names and numbers on the picture of a sheet: on the part where there is room, else beside it with
a leader, else the number alone and a list.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from fab.outlines.contour import Outline, Point, circle
from fab.outlines.figures import CAP_HEIGHT, size_to_fit_mm, text_width_mm
from fab.outlines.page import HAIR_MM, Fill, Item, Text, line
from fab.sheets.free_spots import SIZE_MM, FreeSpots, edge_of, text_box
from fab.sheets.label import seat
from fab.sheets.model import Layup, Piece
from fab.sheets.passes import SURFACE, CutPlan
from fab.units import fixed

INK, WAY_TEXT = "#222222", "#8A3D00"
_LEAST_MM = 1.5  # font size of a label on its part
_LEAST_NUMBER_MM = 1.2  # font size of a number alone; smaller print can't be read, from memory
_ON_DISC = 0.95  # of the disc's radius: how far a number's corners may reach
LIST_MM = 2.6  # font size of the list
_LIST_WIDE_MM = 156.0
_MOST_PLACES = 6  # more equal parts without a number are counted, not listed with their places
_MOST_LEADERS = 80  # with more small parts all get their number alone: leaders hide the sheet


def free_order(plan: CutPlan) -> dict[str, int]:
    """Each copy ("diffuser 3") to its place in the order in which parts come free."""
    last: dict[str, int] = {}
    for step in plan.passes:
        if step.operation in SURFACE or step.operation == "rest":
            continue
        for owner in step.owner.split(", "):
            last.pop(owner, None)
            last[owner] = 0
    return {owner: k + 1 for k, owner in enumerate(last)}


@dataclass(frozen=True)
class Labelled:
    """Items in the frame of the sheet on the page, and the parts that a list names."""

    items: tuple[Item, ...]
    # of small parts: the number on the part and whose it is
    numbered: tuple[tuple[int, str], ...] = ()
    # of parts too small for a number: whose it is and where it lies, in mm of the sheet
    bare: tuple[tuple[str, Point], ...] = ()

    @property
    def lines(self) -> list[str]:
        """The list under the sheet: what each number stands for."""
        found: list[str] = []
        if self.numbered:
            entries = _runs(sorted(self.numbered))
            found += _wrapped("Numbers on small parts: ", entries)
        if self.bare:
            many = Counter(_name(owner) for owner, _ in self.bare)
            entries = [f"{n} x {name}" for name, n in sorted(many.items()) if n > _MOST_PLACES]
            entries += [
                f"{owner} at ({fixed(x, 0)}, {fixed(y, 0)}) mm"
                for owner, (x, y) in self.bare
                if many[_name(owner)] <= _MOST_PLACES
            ]
            found += _wrapped("Without a number, for want of room: ", entries)
        return found


def labels(
    scale: float,
    plan: CutPlan,
    layup: Layup,
    pieces: Sequence[Piece],
    taken: Sequence[Text] = (),
) -> Labelled:
    """Name and copy of each part, and its place in the order in which parts come free.

    scale: page over sheet. taken: texts that stand on the sheet already. No label lies on another:
    a part without room gets a leader, else its number alone, which the list explains.
    """

    def drawn(point: Point) -> Point:
        return (point[0] * scale, point[1] * scale)

    rank = free_order(plan)
    by_name = {piece.name: piece for piece in pieces}
    places = [item.outline(by_name[item.piece].outline) for item in layup.placed]
    marks = [
        [item.point(at) for at in mark]
        for item in layup.placed
        for mark in (*by_name[item.piece].marks, *by_name[item.piece].engraved)
        if len(mark) > 1
    ]
    spots = FreeSpots(drawn, places, layup, [text_box(text) for text in taken], marks)
    items: list[Item] = []
    numbers: list[Item] = []
    small: list[_Small] = []
    for item, outline in zip(layup.placed, places, strict=True):
        owner = f"{item.piece} {item.copy}"
        x, y, reach = _seat(by_name[item.piece])
        at, reach = drawn(item.point((x, y))), reach * scale
        size = size_to_fit_mm(owner, 1.7 * reach, 3.0)
        number = str(rank.get(owner, ""))
        texts = (
            Text(at[0], at[1] + 0.25 * size, owner, size, "middle", colour=INK),
            Text(at[0], at[1] - 1.05 * size, number, size, "middle", 0.0, WAY_TEXT, True),
        )
        if size < _LEAST_MM or not spots.take([text_box(text) for text in texts]):
            small.append(_Small(owner, rank.get(owner, 0), at, reach, outline))
            continue
        items.append(texts[0])
        numbers.append(texts[1])
    numbered: list[tuple[int, str]] = []
    bare: list[tuple[str, Point]] = []
    keys = [spots.reserved(one.number_text()) for one in small]
    for one, key in zip(small, keys, strict=True):
        text = f"{one.owner} / {one.rank or ''}"
        middle = drawn(_middle(one.outline))
        box = (
            spots.beside(one.at, middle, text_width_mm(text, SIZE_MM), key)
            if len(small) <= _MOST_LEADERS
            else None
        )
        if box is not None:
            x, y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
            items += [
                line(one.at, edge_of(box, one.at), HAIR_MM, INK),
                Fill((circle(one.at, 0.3),), INK),
            ]
            items.append(Text(x, y - 0.35 * SIZE_MM, text, SIZE_MM, "middle", colour=INK))
        elif key is not None and (number_text := one.number_text()) is not None:
            numbers.append(number_text)
            numbered.append((one.rank, one.owner))
        else:
            bare.append((one.owner, _middle(one.outline)))
    return Labelled((*items, *numbers), tuple(numbered), tuple(bare))


@dataclass(frozen=True)
class _Small:
    """A part whose name does not fit on it; `at` and `reach` on the page."""

    owner: str
    rank: int
    at: Point
    reach: float
    outline: Outline

    def number_text(self) -> Text | None:
        """Its number, as large as its disc allows; None where that can't be read."""
        if not self.rank:
            return None
        number = str(self.rank)
        wide = text_width_mm(number, 1.0)
        size = min(2 * _ON_DISC * self.reach / math.hypot(wide, CAP_HEIGHT), SIZE_MM)
        if size < _LEAST_NUMBER_MM:
            return None
        y = self.at[1] - CAP_HEIGHT / 2 * size
        return Text(self.at[0], y, number, size, "middle", 0.0, WAY_TEXT, True)


def _name(owner: str) -> str:
    """The piece of a copy."""
    return owner.rpartition(" ")[0]


def _runs(numbered: Sequence[tuple[int, str]]) -> list[str]:
    """Numbers that follow each other, and their copies with them, as one entry."""
    found: list[list[tuple[int, str, int]]] = []
    for number, owner in numbered:
        entry = (number, name := _name(owner), copy := int(owner.rpartition(" ")[2]))
        if found and (number - 1, name, copy - 1) == found[-1][-1]:
            found[-1].append(entry)
        else:
            found.append([entry])
    return [
        f"{run[0][0]} = {run[0][1]} {run[0][2]}"
        if len(run) == 1
        else f"{run[0][0]} to {run[-1][0]} = {run[0][1]} {run[0][2]} to {run[-1][2]}"
        for run in found
    ]


def _wrapped(head: str, entries: Sequence[str]) -> list[str]:
    """The entries as lines of the list, a comma between two."""
    lines, text = [], head
    for k, entry in enumerate(entries):
        more = entry + (", " if k < len(entries) - 1 else ".")
        if text != head and text_width_mm(text + more, LIST_MM) > _LIST_WIDE_MM:
            lines.append(text.rstrip())
            text = ""
        text += more
    return [*lines, text]


@lru_cache(maxsize=256)
def _seat(piece: Piece) -> tuple[float, float, float]:
    """Place of a label in the piece's frame, off its marks."""
    return seat(piece.outline, (*piece.marks, *piece.engraved))


def _middle(outline: Outline) -> Point:
    left, low, right, top = outline.box
    return ((left + right) / 2, (low + top) / 2)
