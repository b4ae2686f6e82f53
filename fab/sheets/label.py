"""Place of a name on a part, on a disc of its material; as marks for the laser, when a shop wants
them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Any

from fab.files.glyphs import lacking, text_rings
from fab.outlines.contour import Outline, Point
from fab.outlines.facets import to_shapely
from fab.outlines.strokes import known, strokes, width_mm
from fab.sheets.model import Piece

# height of engraved capitals; smaller ones can't be read, common practice
MOST_MM, LEAST_MM = (
    4.0,
    1.5,
)
_ROOM = 1.7  # of the disc's radius: how wide a line in its middle may be
_CLEAR_MM = 1.0  # between a name and the marks that a part has already


def seat(outline: Outline, marks: Sequence[Sequence[Point]] = ()) -> tuple[float, float, float]:
    """Centre and radius of a disc of material in which a label may stand, off the marks; in the
    middle if it fits.
    """
    import shapely

    shape = to_shapely(outline, 0.1, outside=False)
    if marks:
        lines = shapely.union_all([shapely.LineString(mark) for mark in marks if len(mark) > 1])
        shape = _largest(shape.difference(shapely.buffer(lines, _CLEAR_MM)))
    if shape.is_empty:
        return (0.0, 0.0, 0.0)
    spoke = shapely.maximum_inscribed_circle(shape, tolerance=0.5)
    left, low, right, top = shape.bounds
    middle = shapely.Point((left + right) / 2, (low + top) / 2)
    if shape.contains(middle) and (reach := shape.boundary.distance(middle)) > 0.9 * spoke.length:
        return (middle.x, middle.y, reach)
    return (*spoke.coords[0][:2], spoke.length)


def _with_boxes(name: str) -> str:
    """The name as the shipped font can write it: a letter that it lacks becomes the replacement
    character.
    """
    without = lacking(name)
    return "".join("\ufffd" if char in without else char for char in name)


def _largest(shape: Any) -> Any:
    return max(getattr(shape, "geoms", [shape]), key=lambda part: part.area)


@lru_cache(maxsize=256)
def named(piece: Piece) -> Piece:
    """The piece with its name among its marks; as it was where no disc of it is large enough for
    the letters.
    """
    x, y, reach = seat(piece.outline, (*piece.marks, *piece.engraved))
    if reach <= 0 or not piece.name:
        return piece
    height = min(MOST_MM, reach)
    if known(piece.name):
        height *= min(1.0, _ROOM * reach / max(width_mm(piece.name, height), 1e-6))
        if height < LEAST_MM:
            return piece
        lines = strokes(piece.name, height, "middle", (x, y - height / 2))
    else:
        rings = text_rings(_with_boxes(piece.name), 1.0)
        far = max((px for ring in rings for px, _ in ring), default=0.0)
        height = min(height, _ROOM * reach / max(far, 1e-6))
        if height < LEAST_MM or not rings:
            return piece
        back = far * height / 2
        lines = tuple(
            tuple(
                (px * height + x - back, py * height + y - height / 2)
                for px, py in (*ring, ring[0])
            )
            for ring in rings
        )
    return replace(piece, marks=(*piece.marks, *lines))
