"""A sheet being filled: shapes are put at the lowest or leftmost place that the no-fit regions
leave free.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from fab.sheets.model import Sheet
from fab.sheets.nofit import NoFit, Shape

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

Way = Literal["right", "up"]  # the direction in which the sheet fills


@dataclass(frozen=True)
class Laid:
    """A shape at a place."""

    shape: Shape
    x: float
    y: float

    @property
    def right(self) -> float:
        """Greatest x on the sheet, mm."""
        return self.x + self.shape.box[2]

    @property
    def top(self) -> float:
        """Greatest y on the sheet, mm."""
        return self.y + self.shape.box[3]


class SheetFill:
    """One sheet, what lies on it, and where each shape could still go.

    hurry: asked between turns once something lies here: no-fit regions of fine outlines take long.
    """

    def __init__(
        self,
        sheet: Sheet,
        nofit: NoFit,
        laid: Iterable[Laid] = (),
        hurry: Callable[[], bool] | None = None,
    ) -> None:
        self.sheet, self.nofit, self._hurry = sheet, nofit, hurry
        self.laid: list[Laid] = list(laid)
        self._free: dict[tuple[str, float], tuple[BaseGeometry, int]] = {}

    def free(self, shape: Shape) -> BaseGeometry:
        """Region of the origins at which `shape` clears all that lies here."""
        import shapely

        region, seen = self._free.get(shape.key, (None, 0))
        if region is None:
            region = self.nofit.field(self.sheet, shape)
        if seen < len(self.laid) and not region.is_empty:
            left, low, right, top = region.bounds
            blocks = []
            for item in self.laid[seen:]:
                block = self.nofit.pair(item.shape, shape)
                a, b, c, d = block.bounds
                if (
                    a + item.x < right
                    and c + item.x > left
                    and b + item.y < top
                    and d + item.y > low
                ):
                    blocks.append(shapely.transform(block, _shift(item.x, item.y)))
            if blocks:
                region = region.difference(
                    blocks[0] if len(blocks) == 1 else shapely.union_all(blocks)
                )
        self._free[shape.key] = (region, len(self.laid))
        return region

    def best(self, shapes: Sequence[Shape], way: Way) -> Laid | None:
        """The place whose far edge is nearest to the start of the sheet; ties by the near edge,
        then crosswise.
        """
        import shapely

        found: tuple[tuple[float, float, float], Laid] | None = None
        for shape in shapes:
            if self._hurry is not None and self.laid and self._hurry():
                break
            region = self.free(shape)
            if region.is_empty:
                continue
            points = shapely.get_coordinates(region)
            along, across = (0, 1) if way == "right" else (1, 0)
            order = points[:, along].round(4)
            least = order.min()
            row = points[order == least]
            x, y = row[row[:, across].argmin()]
            far = (x + shape.box[2]) if way == "right" else (y + shape.box[3])
            score = (
                round(float(far), 3),
                round(float(least), 3),
                round(float(row[:, across].min()), 3),
            )
            if found is None or score < found[0]:
                found = (score, Laid(shape, float(x), float(y)))
        return found[1] if found else None

    def put(self, item: Laid) -> None:
        """Lay a shape; that its place is free is the caller's word."""
        self.laid.append(item)


def _shift(dx: float, dy: float) -> BaseGeometry:
    import numpy as np

    def moved(coords: BaseGeometry) -> BaseGeometry:
        return coords + np.array((dx, dy))

    return moved
