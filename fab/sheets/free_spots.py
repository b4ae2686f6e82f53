"""Free places for labels on the picture of a sheet."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from fab.outlines.contour import Box, Outline, Point
from fab.outlines.facets import facets
from fab.outlines.figures import CAP_HEIGHT, text_width_mm
from fab.outlines.page import Text
from fab.sheets.model import Layup

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

SIZE_MM = 1.9  # font size of a label beside its part
_PAD_MM = 0.3
_BELOW = 0.24  # of the font size: how far letters reach below the baseline (DejaVu Sans)
_REACHES = (3.0, 4.5, 6.5, 9.0, 12.0, 16.0, 21.0)
_WAYS = 16
_CROSSED = 8.0  # mm of leader that a label may be further off, to cross one outline less

Scaled = Callable[[Point], Point]


def text_box(text: Text) -> BaseGeometry:
    """The region that a line of text covers, letters below the baseline included."""
    import shapely
    import shapely.affinity

    wide = text_width_mm(text.text, text.size_mm)
    left = {"start": 0.0, "middle": -wide / 2, "end": -wide}[text.anchor]
    low, high = -_BELOW * text.size_mm, CAP_HEIGHT * text.size_mm
    box = shapely.box(text.x + left, text.y + low, text.x + left + wide, text.y + high)
    return shapely.affinity.rotate(box, text.turn_deg, origin=(text.x, text.y))


def edge_of(box: Box, at: Point) -> Point:
    """The point of the box that is nearest to `at`."""
    return (min(max(at[0], box[0]), box[2]), min(max(at[1], box[1]), box[3]))


class FreeSpots:
    """Free places for labels: on the sheet, on no other label and no leader, on as few outlines and
    marks as possible.
    """

    def __init__(
        self,
        drawn: Scaled,
        places: Sequence[Outline],
        layup: Layup,
        taken: list[BaseGeometry],
        marks: Sequence[Sequence[Point]] = (),
    ) -> None:
        import shapely

        lines = [
            shapely.LinearRing([drawn(point) for point in facets(loop, 0.2, outside=True)])
            for outline in places
            for loop in outline.contours
        ]
        lines += [shapely.LineString([drawn(point) for point in mark]) for mark in marks]
        self.tree = shapely.STRtree(lines)
        self.left, self.low = drawn((0.0, 0.0))
        self.right, self.top = drawn((layup.sheet.width, layup.sheet.height))
        self.taken: list[BaseGeometry] = list(taken)

    def take(self, boxes: Sequence[BaseGeometry]) -> bool:
        """Take the place and return True, unless a text stands there."""
        import shapely

        if len(shapely.STRtree(self.taken).query(boxes, predicate="intersects")[0]):
            return False
        self.taken += boxes
        return True

    def reserved(self, text: Text | None) -> int | None:
        """The number under which the place of a text is kept free; None where it is taken."""
        return len(self.taken) - 1 if text is not None and self.take([text_box(text)]) else None

    def beside(self, at: Point, middle: Point, wide: float, own: int | None) -> Box | None:
        """The box of a label for the part at `at`; None where everything is taken.

        own: the place that is reserved for the part's number, which a leader may cross.
        """
        import numpy as np
        import shapely

        half_w, half_h = wide / 2 + _PAD_MM, SIZE_MM / 2 + _PAD_MM
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
        leaders = np.array([shapely.LineString([at, edge_of(box, at)]) for box in found])
        taken = shapely.STRtree([box for k, box in enumerate(self.taken) if k != own])
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
