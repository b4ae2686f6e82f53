"""Names and numbers on the picture of a sheet: on the part where there is room, else beside it with
a leader.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import lru_cache
from typing import Any

from fab.outlines.contour import Box, Outline, Point, circle
from fab.outlines.facets import facets
from fab.outlines.figures import size_to_fit_mm, text_width_mm
from fab.outlines.page import HAIR_MM, Fill, Item, Text, line
from fab.sheets.label import seat
from fab.sheets.model import Layup, Piece
from fab.sheets.passes import SURFACE, CutPlan

INK, WAY_TEXT = "#222222", "#8A3D00"
_LEAST_MM = 1.5  # font size of a label on its part
_SIZE_MM, _PAD_MM = 1.9, 0.3  # of a label beside its part
_MOST_LEADERS = 80  # further parts get their number alone: more lines than that hide the sheet
_REACHES = (3.0, 4.5, 6.5, 9.0, 12.0, 16.0, 21.0)
_WAYS = 16
_CROSSED = 8.0  # mm of leader that a label may be further off, to cross one outline less

Scaled = Callable[[Point], Point]


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


def labels(
    drawn: Scaled, scale: float, plan: CutPlan, layup: Layup, pieces: Sequence[Piece]
) -> list[Item]:
    """Name and copy of each part, and its place in the order in which parts come free.

    `drawn` takes a point of the sheet to the page, `scale` is page over sheet.
    """
    rank = free_order(plan)
    by_name = {piece.name: piece for piece in pieces}
    places = [item.outline(by_name[item.piece].outline) for item in layup.placed]
    items: list[Item] = []
    numbers: list[Item] = []
    boxes: list[Box] = []
    beside: list[tuple[str, Point, float, Outline, int]] = []
    for item, outline in zip(layup.placed, places, strict=True):
        owner = f"{item.piece} {item.copy}"
        piece = by_name[item.piece]
        x, y, reach = _seat(piece)
        at, reach = drawn(item.point((x, y))), reach * scale
        size = size_to_fit_mm(owner, 1.7 * reach, 3.0)
        if size < _LEAST_MM:
            beside.append((owner, at, reach, outline, item.copy))
            continue
        number = str(rank.get(owner, ""))
        items.append(Text(at[0], at[1] + 0.25 * size, owner, size, "middle", colour=INK))
        numbers.append(
            Text(at[0], at[1] - 1.05 * size, number, size, "middle", 0.0, WAY_TEXT, True)
        )
        half = text_width_mm(owner, size) / 2
        boxes.append((at[0] - half, at[1] - 1.1 * size, at[0] + half, at[1] + size))
    if not beside:
        return [*items, *numbers]
    spots = _Spots(drawn, places, layup, boxes)
    for k, (owner, at, reach, outline, copy) in enumerate(beside):
        text = f"{owner} / {rank.get(owner, '')}"
        box = (
            spots.beside(at, drawn(_middle(outline)), text_width_mm(text, _SIZE_MM))
            if k < _MOST_LEADERS
            else None
        )
        if box is not None:
            middle = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
            items += [line(at, _edge_of(box, at), HAIR_MM, INK), Fill((circle(at, 0.3),), INK)]
            items.append(
                Text(middle[0], middle[1] - 0.35 * _SIZE_MM, text, _SIZE_MM, "middle", colour=INK)
            )
        elif reach > 0.5:
            size = min(size_to_fit_mm(str(copy), 1.5 * reach, 3.0), reach)
            items.append(Text(at[0], at[1] - 0.35 * size, str(copy), size, "middle", colour=INK))
    return [*items, *numbers]


@lru_cache(maxsize=256)
def _seat(piece: Piece) -> tuple[float, float, float]:
    """Where a label stands in the piece's frame, off its marks."""
    return seat(piece.outline, (*piece.marks, *piece.engraved))


def _middle(outline: Outline) -> Point:
    left, low, right, top = outline.box
    return ((left + right) / 2, (low + top) / 2)


def _edge_of(box: Box, at: Point) -> Point:
    """The point of the box that is nearest to `at`."""
    return (min(max(at[0], box[0]), box[2]), min(max(at[1], box[1]), box[3]))


class _Spots:
    """Where labels may stand: on the sheet, on no other label and no leader, on as few outlines as
    possible.
    """

    def __init__(
        self, drawn: Scaled, places: Sequence[Outline], layup: Layup, boxes: list[Box]
    ) -> None:
        import shapely

        lines = [
            shapely.LinearRing([drawn(point) for point in facets(loop, 0.2, outside=True)])
            for outline in places
            for loop in outline.contours
        ]
        self.tree = shapely.STRtree(lines)
        self.left, self.low = drawn((0.0, 0.0))
        self.right, self.top = drawn((layup.sheet.width, layup.sheet.height))
        self.taken: list[Any] = [shapely.box(*box) for box in boxes]

    def beside(self, at: Point, middle: Point, wide: float) -> Box | None:
        """The box of a label for the part at `at`; None where everything is taken."""
        import numpy as np
        import shapely

        half_w, half_h = wide / 2 + _PAD_MM, _SIZE_MM / 2 + _PAD_MM
        centres = [middle] if math.dist(middle, at) > half_h else []
        for reach in _REACHES:
            for k in range(_WAYS):
                way = 2 * math.pi * (k + 0.5) / _WAYS
                centres.append(
                    (at[0] + (reach + half_w) * math.cos(way), at[1] + reach * math.sin(way))
                )
        found = [
            (x - half_w, y - half_h, x + half_w, y + half_h)
            for x, y in centres
            if self.left < x - half_w
            and x + half_w < self.right
            and self.low < y - half_h
            and y + half_h < self.top
        ]
        if not found:
            return None
        shapes = np.array([shapely.box(*box) for box in found])
        leaders = np.array([shapely.LineString([at, _edge_of(box, at)]) for box in found])
        taken = shapely.STRtree(self.taken)
        free = np.ones(len(found), bool)
        free[taken.query(shapes, predicate="intersects")[0]] = False
        free[taken.query(leaders, predicate="intersects")[0]] = False
        if not free.any():
            return None
        crossed = np.bincount(
            self.tree.query(shapes, predicate="intersects")[0], minlength=len(found)
        )
        score = np.where(free, crossed * _CROSSED + shapely.length(leaders), np.inf)
        best = int(score.argmin())
        self.taken += [shapes[best], leaders[best]]
        return found[best]
